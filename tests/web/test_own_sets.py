"""What differs for one of several sets, typed in rows of the scenario's form and compared."""

from __future__ import annotations

from fastapi.testclient import TestClient

from server.domain.scenario import OwnSet
from server.simulate.run import simulate
from server.store.sites import SiteStore
from server.web.compare import comparison
from tests.simulate.test_own_sets import two
from tests.web.conftest import form_in


def test_rows_are_asked_for_where_there_is_more_than_one_set(
    browser: TestClient, sites: SiteStore, stored: object
) -> None:
    site, _ = two()
    root = f"/sites/{sites.create(site).id}/scenarios/out/edit"
    assert "own_sets.0.set_id" in form_in(browser.get(root).text, root)
    alone = f"/sites/{stored.id}/scenarios/out/edit"
    assert "own_sets.0.set_id" not in form_in(browser.get(alone).text, alone)


def test_a_row_is_saved_and_shown_in_per_cent(browser: TestClient, sites: SiteStore) -> None:
    site, _ = two()
    stored = sites.create(site)
    root = f"/sites/{stored.id}/scenarios/out/edit"
    fields = form_in(browser.get(root).text, root)
    typed = {
        "own_sets.0.set_id": "other",
        "own_sets.0.state": "fails",
        "own_sets.0.tries": "",
        "own_sets.0.fuel_share": "50",
    }
    assert browser.post(root, data=fields | typed).status_code == 303
    (own,) = sites.get(stored.id).site.scenario("out").own_sets
    assert own == OwnSet(set_id="other", state="fails", fuel_share=0.5)
    again = form_in(browser.get(root).text, root)
    assert again["own_sets.0.fuel_share"] == "50"
    emptied = {name: "" for name in again if name.startswith("own_sets.0.")}
    assert browser.post(root, data=again | emptied).status_code == 303
    assert sites.get(stored.id).site.scenario("out").own_sets == ()


def test_two_runs_that_differ_in_one_set_name_it() -> None:
    site, day = two()
    one = simulate(site, day)
    own = (OwnSet(set_id="other", state="fails", fuel_share=0.5),)
    other = simulate(site, day.model_copy(update={"own_sets": own}))
    rows = {row.name: (row.first, row.second) for row in comparison(one, other, "").inputs}
    assert rows["The set"] == (
        "starts and runs",
        "House set: starts and runs; Barn set: does not start",
    )
    assert rows["Fuel at the start"] == ("100 %", "House set: 100 %; Barn set: 50 %")


def test_a_stop_and_a_delivery_name_their_set(browser, sites):
    site, day = two()
    stored = sites.create(site)
    root = f"/sites/{stored.id}/scenarios/out/edit"
    form = form_in(browser.get(root).text, root)
    start = f"{day.start:%Y-%m-%d}T"
    rows = {
        "generator_stops.0.start": f"{start}14:00",
        "generator_stops.0.end": f"{start}14:30",
        "generator_stops.0.set_id": "other",
        "deliveries.0.at": f"{start}14:00",
        "deliveries.0.gallons": "5",
        "deliveries.0.set_id": "",
    }
    assert rows.keys() <= form.keys()
    browser.post(root, data=form | rows)
    saved = sites.get(stored.id).site.scenario("out")
    assert [s.set_id for s in saved.generator_stops] == ["other"]
    assert [d.set_id for d in saved.deliveries] == [None]


def test_a_row_for_one_set_without_its_name_is_refused_in_words(browser, sites):
    site, _ = two()
    stored = sites.create(site)
    root = f"/sites/{stored.id}/scenarios/out/edit"
    form = form_in(browser.get(root).text, root) | {"own_sets.0.state": "fails"}
    page = browser.post(root, data=form)
    assert page.status_code == 422
    assert 'href="#f-own_sets.0.set_id"' in page.text
    assert "Input should be" not in page.text
