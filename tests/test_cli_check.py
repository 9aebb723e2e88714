from __future__ import annotations

import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from server.app import create_app
from server.cli import BAD_INPUT, FITS, OVER, app
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.settings import Settings

FARM = DEMOS / "flower-farm.json"


def run(*arguments: str):
    return CliRunner().invoke(app, ["check", *arguments])


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_exit_code_follows_the_findings_and_text_fits_80_columns(path):
    report = check_site(read_site_file(path.read_bytes()))
    answer = run(str(path))
    assert answer.exit_code == (OVER if report.fails else FITS)
    assert max(map(len, answer.output.splitlines())) <= 80
    assert "Planning aid only." in answer.output


def test_json_is_the_answer_of_the_api(database_url: str):
    site = read_site_file(FARM.read_bytes())
    planner = create_app(Settings(database_url, load_demos=False, warm_up=False))
    stored = planner.state.store.create(site)
    browser = TestClient(planner, base_url="http://127.0.0.1:8400")
    served = browser.get(f"/api/v1/sites/{stored.id}/check", params={"edition": "2020"})
    planner.state.engine.dispose()
    assert served.status_code == 200
    assert served.json() == json.loads(run(str(FARM), "--json", "--edition", "2020").output)


def test_edition_that_is_not_here_is_refused_with_those_that_are():
    answer = run(str(FARM), "--edition", "1999")
    assert answer.exit_code == BAD_INPUT
    assert "2017, 2020, 2023, 2026" in answer.output


def test_missing_file_is_named(tmp_path):
    answer = run(str(tmp_path / "none.json"))
    assert answer.exit_code == BAD_INPUT
    assert "none.json" in answer.output


def test_the_rating_of_the_table_may_be_that_of_the_device_ahead():
    assert "or that of the device ahead where it is less" in " ".join(run(str(FARM)).output.split())
