"""Figures of the supply form are read as people write them, and nothing else is taken for one."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.web.conftest import form_in, problem_at


@pytest.mark.parametrize(
    ("part", "name", "text"),
    [
        ("set", "rated_kw", "1_000"),
        ("set", "tank.capacity_gal", "1_000"),
        ("set", "tank.capacity_gal", "1e-300"),
        ("set", "tank.other_btu_h", "5e-324"),
        ("set", "gas_meter_btu_h", "200_000"),
        ("ats", "poles", "\N{ARABIC-INDIC DIGIT TWO}"),
        ("main", "tandem_spaces", "\N{ARABIC-INDIC DIGIT ONE}\N{ARABIC-INDIC DIGIT THREE}"),
    ],
)
def test_what_only_a_program_reads_as_a_figure_is_told_beside_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite, part: str, name: str, text: str
):
    path = f"/sites/{stored.id}/supply/{part}"
    fields = form_in(browser.get(path).text, path) | {"tank.capacity_gal": "500", name: text}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert problem_at(answer.text, name)
    assert f'value="{text}"' in answer.text or name == "poles"
    assert sites.get(stored.id).revision == stored.revision


@pytest.mark.parametrize(("text", "gallons"), [("1,000", 1000), ("2.5e2", 250), ("0.5", 0.5)])
def test_figures_as_people_write_them_are_taken(
    browser: TestClient, sites: SiteStore, stored: StoredSite, text: str, gallons: float
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path) | {"tank.capacity_gal": text}
    assert browser.post(path, data=fields).status_code == 303
    tank = sites.get(stored.id).site.generators[0].tank
    assert tank is not None
    assert tank.capacity_gal == gallons
