"""Page, API and terminal give the same numbers on every demo and scenario."""

from __future__ import annotations

import html
import json
import re

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from server.cli import app
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from tests.planner import one_planner, planner

FILES = {path.stem: path for path in sorted(DEMOS.glob("*.json"))}
CASES = [
    (name, scenario.id)
    for name, path in FILES.items()
    for scenario in read_site_file(path.read_bytes()).scenarios
]

__all__ = ["one_planner", "planner"]


@pytest.fixture
def browser(planner: FastAPI) -> TestClient:
    return TestClient(planner, base_url="http://127.0.0.1:8400")


@pytest.mark.parametrize(("name", "scenario_id"), CASES, ids=lambda v: v)
def test_page_api_and_terminal_agree(browser: TestClient, name: str, scenario_id: str):
    path = FILES[name]
    site_id = browser.app.state.store.create(read_site_file(path.read_bytes())).id
    answer = browser.get(f"/api/v1/sites/{site_id}/scenarios/{scenario_id}/run")
    served = answer.json()["summary"]
    printed = CliRunner().invoke(app, ["simulate", str(path), "--scenario", scenario_id, "--json"])
    assert printed.exit_code == (0 if served["verdict"]["fits"] else 3)
    assert json.loads(printed.output) == served

    page = html.unescape(browser.get(f"/sites/{site_id}", params={"scenario": scenario_id}).text)
    head, stop, said = served["verdict"]["sentence"].partition(". ")
    words = page.replace("\N{NO-BREAK SPACE}", " ")
    assert said in words
    # The answer too, in the same words: no place says less of what goes without. The page adds what
    # stands against a run that holds: the code, findings that block.
    shown = re.search(r"<h1>.*?(Holds in this run, but [^.]+\.|" + re.escape(head) + r"\.)", words)
    assert shown, head
    assert shown[1].endswith(head.removeprefix("Holds, but ").removeprefix("Holds") + stop.rstrip())
    shared = [r for r in served["limits"] if not r["id"].startswith("circuit_breaker:")]
    assert len(shared) > 5
    for result in shared:
        row = page[page.index(f'id="limit-{result["id"]}"') :]
        row = row[: row.index("</tr>")]
        legs = result["legs"][:1] if "feeder_neutral" in result["id"] else result["legs"]
        for leg in legs:
            assert f">{leg['peak_a']:.1f}<" in row, (result["id"], leg["peak_a"])
