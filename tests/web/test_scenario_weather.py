"""A scenario's weather out of a table, and back to the daily wave."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore

ROWS = "\n".join(str(20 + h) for h in range(12))


def test_a_file_is_followed_and_taken_back(
    browser: TestClient, stored: StoredSite, sites: SiteStore
) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    assert "Weather hour by hour" in browser.get(f"{root}/edit").text
    sent = {"weather_file": ("cold.csv", f"temp °F\n{ROWS}\n".encode(), "text/csv")}
    answer = browser.post(f"{root}/weather", data={"revision": "1"}, files=sent)
    assert answer.status_code == 303
    weather = sites.get(stored.id).site.scenario("out").weather
    assert weather.hourly_f == tuple(20.0 + h for h in range(7))
    page = browser.get(f"{root}/edit").text
    assert "a table of 7 hours: 20.0 to 26.0 °F" in page
    assert "20 to 26 °F" in browser.get(root).text
    back = browser.post(f"{root}/weather", data={"revision": "2", "act": "wave"})
    assert back.status_code == 303
    assert sites.get(stored.id).site.scenario("out").weather.hourly_f == ()


def test_pasted_rows_do_as_well(browser: TestClient, stored: StoredSite, sites: SiteStore) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    answer = browser.post(f"{root}/weather", data={"revision": "1", "weather_text": ROWS})
    assert answer.status_code == 303
    assert sites.get(stored.id).site.scenario("out").weather.hourly_f[0] == 20.0


def test_what_cannot_be_read_is_said_beside_the_field_and_kept(
    browser: TestClient, stored: StoredSite
) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    sent = {"revision": "1", "weather_text": "20\nmild\n"}
    answer = browser.post(f"{root}/weather", data=sent)
    assert answer.status_code == 422
    assert "Row 2: “mild” is no temperature." in answer.text
    assert "20\nmild" in answer.text
    empty = browser.post(f"{root}/weather", data={"revision": "1"})
    assert "Choose a file or paste its rows." in empty.text


def test_a_stale_table_is_refused(browser: TestClient, stored: StoredSite) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    assert (
        browser.post(f"{root}/weather", data={"revision": "0", "weather_text": ROWS}).status_code
        == 409
    )


def test_editing_the_scenario_keeps_its_table_and_its_pits(
    browser: TestClient, stored: StoredSite, sites: SiteStore
) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    browser.post(f"{root}/weather", data={"revision": "1", "weather_text": ROWS})
    form = {"revision": "2", "name": "Out", "pit_inflow_gpm": "2", "weather.low_f": "30"}
    assert browser.post(f"{root}/edit", data=form).status_code == 303
    kept = sites.get(stored.id).site.scenario("out")
    assert kept.pit_inflow_gpm == 2.0
    assert kept.weather.hourly_f[0] == 20.0
    form = {"revision": "3", "pit_inflow_gpm": ""}
    assert browser.post(f"{root}/edit", data=form).status_code == 303
    assert sites.get(stored.id).site.scenario("out").pit_inflow_gpm is None
