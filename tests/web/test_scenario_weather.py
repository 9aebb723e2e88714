"""A scenario's weather out of a table, and back to the daily wave."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.drawing.weather_curve import HEIGHT, WIDTH, weather_curve
from tests.builders import double_throw_site

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


def test_the_curve_follows_what_stands_in_the_form(browser: TestClient, stored: StoredSite) -> None:
    root = f"/sites/{stored.id}/scenarios/out"
    page = browser.get(f"{root}/edit").text
    assert 'id="weathercurve"' in page
    typed = {
        "start": "2026-01-10T00:00", "span_h": "24", "weather.low_f": "10",
        "weather.high_f": "30", "weather.hottest_hour": "15",
    }  # fmt: skip
    shown = browser.get(f"{root}/weather-curve", params=typed).text
    assert "Coldest 10 °F at Sat 03:00, warmest 30 °F at Sat 15:00." in shown
    flat = typed | {"weather.high_f": "10"}
    assert "10 °F throughout." in browser.get(f"{root}/weather-curve", params=flat).text
    wrong = browser.get(f"{root}/weather-curve", params=typed | {"weather.low_f": "90"})
    assert wrong.status_code == 204


def test_the_curve_is_the_temperature_of_the_run() -> None:
    scenario = double_throw_site().scenario("out")
    weather = scenario.weather.model_copy(update={"hourly_f": (20.0, 40.0, 30.0)})
    short = scenario.model_copy(update={"weather": weather, "span_h": 2.0})
    curve = weather_curve(short)
    points = [tuple(map(float, p.split())) for p in curve.path.removeprefix("M").split("L")]
    assert points[0] == (0.0, HEIGHT - 4)
    assert min(y for _, y in points) == 4.0
    assert points[-1] == (WIDTH, HEIGHT / 2)
