"""Page, API and terminal give the same demand, wiring and findings on every demo and edition."""

from __future__ import annotations

import html
import json

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from server.app import create_app
from server.cli import app
from server.domain.site import Site
from server.exchange.sitefile import read_site_file, write_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import known_edition
from server.rules.wiring.feeder import governing
from server.settings import Settings
from tests.builders import appliance, backed_up_site, circuit, with_parts

FILES = {path.stem: path for path in sorted(DEMOS.glob("*.json"))}
OWN = {name: read_site_file(path.read_bytes()).code_edition for name, path in FILES.items()}
CASES = [*OWN.items(), ("bungalow", "2026")]


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory):
    url = f"sqlite:///{tmp_path_factory.mktemp('same') / 'same.db'}"
    planner = create_app(Settings(url, load_demos=False, warm_up=False))
    with TestClient(planner, base_url="http://127.0.0.1:8400") as client:
        yield client


def row_of(page: str, mark: str) -> str:
    row = page[page.index(mark) :]
    return row[: row.index("</tr>")]


@pytest.mark.parametrize(("name", "edition"), CASES)
def test_page_api_and_terminal_agree(browser: TestClient, name: str, edition: str):
    path = FILES[name]
    site: Site = read_site_file(path.read_bytes())
    site_id = browser.app.state.store.create(site).id
    asked = {"edition": edition}
    served = browser.get(f"/api/v1/sites/{site_id}/check", params=asked).json()
    as_json = CliRunner().invoke(app, ["check", str(path), "--json", "--edition", edition])
    assert json.loads(as_json.output) == served
    faults = [f for f in served["findings"] if f["severity"] != "note"]
    assert as_json.exit_code == (3 if faults else 0)

    # The document is what the public function gives.
    report = check_site(site, edition=known_edition(edition), recheck=True)
    assert [f["text"] for f in served["findings"]] == [f.text for f in report.findings]

    text = CliRunner().invoke(app, ["check", str(path), "--edition", edition]).output
    # The terminal breaks lines at spaces and hyphens alike.
    words = "".join(text.split())
    demand = html.unescape(browser.get(f"/sites/{site_id}/demand", params=asked).text)
    for element in report.demand:
        sheet = governing(element)
        (given,) = (d for d in served["demand"] if d["element_id"] == element.element_id)
        assert any(s["total_va"] == sheet.total_va for s in given["sheets"])
        row = row_of(demand, f'href="#el-{element.element_id}"')
        assert f">{sheet.total_va:,.0f}<" in row
        assert f">{sheet.leg_a:.1f}<" in row
        (line,) = (
            part
            for part in text.splitlines()
            if part.split("  ")[0] == element.name and f"{sheet.leg_a:.1f}" in part
        )
        assert f"{sheet.total_va:,.0f}" in line

    wiring = html.unescape(browser.get(f"/sites/{site_id}/wiring", params=asked).text)
    for wired, given in zip(report.wiring, served["wiring"], strict=True):
        row = row_of(wiring, f'id="w-{wired.feeder_id}"')
        assert given["design_a"] == wired.design_a
        assert f">{wired.design_a:.1f}<" in row
        if wired.drop:
            assert f"{given['drop']['dc_v'] / given['drop']['volts'] * 100:.2f}" in row

    findings = html.unescape(
        browser.get(f"/sites/{site_id}/findings", params=asked | {"tried": "yes"}).text
    )
    for given in served["findings"]:
        assert given["text"] in findings
        assert "".join(given["text"].split()) in words
        if given["recheck"]:
            assert given["recheck"]["said"] in findings
            assert "".join(given["recheck"]["said"].split()) in words


def pump_on_one_breaker() -> Site:
    """A heat pump whose halves are both entered as always on, which a run can only note."""
    parts = tuple(
        appliance(kind, 3000, volts=240, kind=kind, name=f"Half {i}")
        for i, kind in enumerate(("heat-pump", "heat-pump-cooling"))
    )
    pump = circuit("pump", "main", 1, 3, appliances=parts, breaker_a=40)
    return with_parts(backed_up_site(), circuits=(pump,))


@pytest.mark.parametrize("name", [*FILES, "pump"])
def test_page_api_and_terminal_tell_the_same_of_a_run(browser: TestClient, name: str, tmp_path):
    site = read_site_file(FILES[name].read_bytes()) if name in FILES else pump_on_one_breaker()
    path = tmp_path / "site.json"
    path.write_bytes(write_site_file(site))
    site_id = browser.app.state.store.create(site).id
    for scenario in site.scenarios:
        answer = browser.get(f"/api/v1/sites/{site_id}/scenarios/{scenario.id}/run")
        told = answer.json()["summary"]
        overview = html.unescape(browser.get(f"/sites/{site_id}?scenario={scenario.id}").text)
        sheet = browser.get(f"/sites/{site_id}/scenarios/{scenario.id}")
        run_page = html.unescape(sheet.text)
        for given in told["findings"]:
            assert given["text"] in run_page
        asked = ["simulate", str(path), "--scenario", scenario.id]
        words = "".join(CliRunner().invoke(app, asked).output.split())
        for given in (*told["findings"], *told["hazards"]):
            assert given["text"] in overview
            assert "".join(f"{given['text']}{given['mend']}".split()) in words
        codes = {given["code"] for given in told["findings"]}
        assert ("halves-run-together" in codes) is (name == "pump")
