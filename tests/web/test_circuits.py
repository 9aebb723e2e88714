from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.domain.behaviour import Timed
from server.domain.catalogue import KINDS
from server.domain.scenario import ApplianceEvent
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import START, appliance, circuit, double_throw_site, scenario, with_parts
from tests.web.conftest import form_in, problem_at


def paths(stored: StoredSite) -> tuple[str, str]:
    root = f"/sites/{stored.id}"
    return f"{root}/circuits", f"{root}/new-circuit"


def test_table_groups_circuits_by_panel_in_the_order_of_their_spaces(
    browser: TestClient, sites: SiteStore
):
    made = sites.create(
        with_parts(
            double_throw_site(),
            circuits=(circuit("late", "main", 13, load_w=10), circuit("early", "main", 9, 11)),
        )
    )
    page = browser.get(f"/sites/{made.id}/circuits").text
    assert page.index("Circuit early") < page.index("Circuit late") < page.index("Panel backed")
    assert "9, 11" in page
    assert "L1 L2" in page
    assert "nothing on it" in page


def test_figures_carry_the_tag_of_their_source(browser: TestClient, sites: SiteStore):
    loads = tuple(
        appliance(source, 1500, figure_source=source)
        for source in ("guess", "measured", "nameplate")
    )
    made = sites.create(
        with_parts(double_throw_site(), circuits=(circuit("a", "main", 1, appliances=loads),))
    )
    page = browser.get(f"/sites/{made.id}/circuits").text
    assert 'class="nw guess" title="a guess">1,500<' in page
    assert 'class="nw" title="nameplate">1,500<' in page
    assert 'title="measured">1,500</span>&nbsp;<small class="two">measured</small>' in page


def test_filter_keeps_what_matches_any_name(browser: TestClient, stored: StoredSite):
    table, _ = paths(stored)
    page = browser.get(table, params={"find": "CIRCUIT b"}).text
    assert "1 of 6 shown" in page
    assert f'href="{table}/b"' in page
    assert f'href="{table}/a"' not in page
    part = browser.get(
        table,
        params={"load_class": "must_serve"},
        headers={"HX-Request": "true", "HX-Request-Type": "partial"},
    ).text
    assert part.lstrip().startswith('<div id="circuit-table">')
    assert "No circuit here matches." in part


def test_new_circuit_of_a_kind_arrives_filled_in(browser: TestClient, stored: StoredSite):
    _, new = paths(stored)
    fields = form_in(browser.get(new, params={"kind": "dryer", "panel": "swing"}).text, new)
    kind = KINDS["dryer"]
    assert (fields["name"], fields["panel_id"], fields["poles"]) == (kind.name, "swing", "2")
    assert (float(fields["breaker_a"]), fields["load_class"]) == (kind.breaker_a, kind.load_class)


def test_new_circuit_takes_the_first_free_place_and_its_appliance(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    _, new = paths(stored)
    fields = form_in(browser.get(new, params={"kind": "dryer", "panel": "swing"}).text, new)
    answer = browser.post(new, data=fields)
    assert answer.status_code == 303
    site = sites.get(stored.id).site
    added = site.circuits[-1]
    assert answer.headers["location"] == f"/sites/{stored.id}/circuits/{added.id}"
    assert (added.panel_id, added.spaces) == ("swing", (2, 4))
    assert [a.kind for a in added.appliances] == ["dryer"]
    assert added.appliances[0].figure_source == "guess"


def test_add_and_another_returns_to_an_empty_form_of_the_same_panel(
    browser: TestClient, stored: StoredSite
):
    _, new = paths(stored)
    fields = form_in(browser.get(new, params={"panel": "backed"}).text, new)
    answer = browser.post(new, data=fields | {"name": "Hall", "act": "another"})
    assert answer.headers["location"] == f"{new}?panel=backed"
    page = browser.get(answer.headers["location"]).text
    assert "Added Hall to Panel backed" in page
    assert form_in(page, new)["name"] == ""


def test_every_problem_of_a_circuit_stands_at_its_field_and_what_was_typed_stays(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    _, new = paths(stored)
    fields = form_in(browser.get(new).text, new)
    wrong = {"name": "", "breaker_a": "twenty", "space": "x", "own_battery_h": "-1"}
    answer = browser.post(new, data=fields | wrong | {"area": "attic, hall"})
    assert answer.status_code == 422
    assert problem_at(answer.text, "name") == "This cannot be empty."
    assert problem_at(answer.text, "breaker_a") == "Write a number, such as 12.5."
    assert problem_at(answer.text, "space") == "Write one whole number, such as 12."
    assert problem_at(answer.text, "own_battery_h")
    again = form_in(answer.text, new)
    assert {name: again[name] for name in wrong} == wrong
    assert again["area"] == "attic, hall"
    assert sites.get(stored.id).revision == stored.revision


@pytest.mark.parametrize(
    ("space", "words"),
    [
        ("1", "both in space 1"),
        ("99", "20 spaces: give 1 to 20."),
        ("30", "20 spaces"),
        ("19", "give 1 to 18, the upper one of its two"),
    ],
)
def test_taken_or_missing_space_is_told_at_the_space(
    browser: TestClient, stored: StoredSite, space: str, words: str
):
    _, new = paths(stored)
    fields = form_in(browser.get(new, params={"panel": "main"}).text, new)
    poles = "2" if space == "19" else "1"
    answer = browser.post(new, data=fields | {"name": "Hall", "space": space, "poles": poles})
    assert answer.status_code == 422
    assert words in problem_at(answer.text, "space")


def test_full_panel_is_told(browser: TestClient, sites: SiteStore):
    full = tuple(circuit(f"c{n}", "backed", n) for n in range(1, 21) if n not in {2, 4})
    made = sites.create(with_parts(double_throw_site(), circuits=full))
    _, new = paths(made)
    fields = form_in(browser.get(new, params={"panel": "backed"}).text, new)
    answer = browser.post(new, data=fields | {"name": "Hall"})
    assert answer.status_code == 422
    assert "does not have a free space" in problem_at(answer.text, "space")


def test_every_circuit_saved_unchanged_changes_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, _ = paths(stored)
    for each in stored.site.circuits:
        fields = form_in(browser.get(f"{table}/{each.id}").text, f"{table}/{each.id}")
        assert browser.post(f"{table}/{each.id}", data=fields).status_code == 303
    assert sites.get(stored.id).site == stored.site


def test_circuit_is_changed(browser: TestClient, sites: SiteStore, stored: StoredSite):
    table, _ = paths(stored)
    fields = form_in(browser.get(f"{table}/b").text, f"{table}/b")
    fields |= {"name": "Cold room", "breaker_a": "15", "load_class": "must_serve"}
    fields |= {"outage_role": "managed", "shed_order": "3", "continuous": "on", "space": "9"}
    assert browser.post(f"{table}/b", data=fields).status_code == 303
    changed = sites.get(stored.id).site.circuit("b")
    assert (changed.name, changed.breaker_a, changed.spaces) == ("Cold room", 15, (9,))
    assert (changed.load_class, changed.outage_role) == ("must_serve", "managed")
    assert (changed.shed_order, changed.continuous) == (3, True)
    assert changed.appliances == stored.site.circuit("b").appliances


def test_shared_neutral_is_entered_on_both_and_let_go_on_both(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, _ = paths(stored)

    def pair(circuit_id: str, partner: str) -> None:
        path = f"{table}/{circuit_id}"
        fields = form_in(browser.get(path).text, path) | {"multiwire_partner_id": partner}
        assert browser.post(path, data=fields).status_code == 303

    def partners() -> dict[str, str]:
        site = sites.get(stored.id).site
        return {c.id: c.multiwire_partner_id for c in site.circuits if c.multiwire_partner_id}

    pair("b", "c")
    assert partners() == {"b": "c", "c": "b"}
    page = browser.get(table).text
    assert "These two share a neutral." in page
    pair("b", "a")
    assert partners() == {"b": "a", "a": "b"}
    pair("a", "")
    assert partners() == {}


def test_circuit_saved_by_somebody_else_first_shows_both_and_can_be_saved_again(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, _ = paths(stored)
    path = f"{table}/b"
    mine = form_in(browser.get(path).text, path) | {"breaker_a": "15"}
    theirs = form_in(browser.get(path).text, path) | {"breaker_a": "30"}
    browser.post(path, data=theirs)
    answer = browser.post(path, data=mine)
    assert answer.status_code == 409
    assert "Somebody saved first" in answer.text
    assert "saved meanwhile: <b>30</b>" in answer.text
    assert sites.get(stored.id).site.circuit("b").breaker_a == 30
    again = form_in(answer.text, path)
    assert again["breaker_a"] == "15"
    assert browser.post(path, data=again).status_code == 303
    assert sites.get(stored.id).site.circuit("b").breaker_a == 15


def test_circuit_deleted_meanwhile_stands_as_a_new_one(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, new = paths(stored)
    path = f"{table}/b"
    mine = form_in(browser.get(path).text, path) | {"name": "Scullery"}
    browser.post(f"{path}/delete", data={"revision": str(stored.revision)})
    answer = browser.post(path, data=mine)
    assert answer.status_code == 409
    assert "Scullery was deleted meanwhile." in answer.text
    again = form_in(answer.text, new)
    assert again["name"] == "Scullery"
    assert browser.post(new, data=again).status_code == 303
    assert any(c.name == "Scullery" for c in sites.get(stored.id).site.circuits)


def test_deleted_circuit_comes_back_by_undo(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, _ = paths(stored)
    browser.post(f"{table}/b/delete", data={"revision": str(stored.revision)})
    assert "b" not in sites.get(stored.id).site.circuit_by_id
    page = browser.get(table).text
    assert "Deleted Circuit b. Undo brings it back." in page
    path = f"/sites/{stored.id}/undo"
    assert browser.post(path, data=form_in(page, path)).headers["location"] == table
    assert sites.get(stored.id).site == stored.site


def test_stale_delete_asks_again(browser: TestClient, sites: SiteStore, stored: StoredSite):
    table, _ = paths(stored)
    answer = browser.post(f"{table}/b/delete", data={"revision": "0"})
    assert answer.status_code == 409
    assert "b" in sites.get(stored.id).site.circuit_by_id


def test_appliance_of_every_kind_is_added_as_the_catalogue_has_it(
    browser: TestClient, sites: SiteStore
):
    wired = circuit("x", "main", 1, 3)
    made = sites.create(with_parts(double_throw_site(), circuits=(wired,)))
    root = f"/sites/{made.id}/circuits/x"
    new = f"{root}/new-appliance"
    for kind_id, kind in KINDS.items():
        answer = browser.post(
            new, data=form_in(browser.get(new, params={"kind": kind_id}).text, new)
        )
        assert answer.status_code == 303, kind_id
        stored = sites.get(made.id)
        added = stored.site.circuit("x").appliances[-1]
        assert added == kind.appliance(added.id)
        path = f"{root}/appliances/{added.id}"
        browser.post(path, data=form_in(browser.get(path).text, path))
        assert sites.get(made.id).site == stored.site, kind_id
        browser.post(f"{path}/delete", data={"revision": str(stored.revision)})


def test_choosing_a_kind_fills_its_figures_and_keeps_a_name_given_by_hand(
    browser: TestClient, stored: StoredSite
):
    path = f"/sites/{stored.id}/circuits/f/new-appliance"
    fields = form_in(browser.get(path).text, path)
    fields |= {"name": "Barn heater", "kind": "water-heater", "note": "old"}
    answer = browser.post(path, data=fields | {"act": "fill"})
    assert answer.status_code == 200
    again = form_in(answer.text, path)
    assert (again["name"], again["note"]) == ("Barn heater", "old")
    assert (again["load_w"], again["behaviour.model"]) == ("4500", "tank")
    assert "Power a water heater only when full." in answer.text
    part = browser.post(
        path,
        data=fields | {"act": "fill"},
        headers={"HX-Request": "true", "HX-Request-Type": "partial"},
    ).text
    assert part.lstrip().startswith('<div id="appliance-form">')


@pytest.mark.parametrize(
    "model", ["constant", "hourly", "lighting", "cycle", "timed", "charger", "tank", "room"]
)
def test_every_behaviour_can_be_chosen_and_saved(
    browser: TestClient, sites: SiteStore, stored: StoredSite, model: str
):
    path = f"/sites/{stored.id}/circuits/f/appliances/f-load"
    fields = form_in(browser.get(path).text, path) | {"behaviour.model": model, "load_w": "777"}
    answer = browser.post(path, data=fields | {"act": "model"})
    assert answer.status_code == 200
    again = form_in(answer.text, path)
    assert again["load_w"] == "777"
    answer = browser.post(path, data=again)
    assert answer.status_code == 303, answer.text
    saved = sites.get(stored.id).site.circuit("f").appliances[0]
    assert (saved.behaviour.model, saved.load_w) == (model, 777)
    parameters = set(type(saved.behaviour).model_fields)
    assert parameters <= {name.split(".")[1] for name in again if name.startswith("behaviour.")}


def test_stages_left_empty_are_not_kept_and_rows_can_be_added(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/circuits/f/appliances/f-load"
    fields = form_in(browser.get(path).text, path) | {"behaviour.model": "timed"}
    fields = form_in(browser.post(path, data=fields | {"act": "model"}).text, path)
    more = form_in(browser.post(path, data=fields | {"act": "rows"}).text, path)
    count = sum(name.endswith(".minutes") for name in more)
    assert count > sum(name.endswith(".minutes") for name in fields)
    stages = {name: "" for name in more if name.startswith("behaviour.stages.")}
    last = f"behaviour.stages.{count - 1}."
    stages |= {f"{last}minutes": "45", f"{last}share": "0.5"}
    stages |= {f"{last}cycle_on_s": "0", f"{last}cycle_off_s": "0"}
    assert browser.post(path, data=more | stages).status_code == 303
    behaviour = sites.get(stored.id).site.circuit("f").appliances[0].behaviour
    assert isinstance(behaviour, Timed)
    assert [(s.minutes, s.share) for s in behaviour.stages] == [(45, 0.5)]
    assert browser.post(path, data=more | dict.fromkeys(stages, "")).status_code == 422


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("load_w", "much"),
        ("load_w", "nan"),
        ("power_factor", "0"),
        ("name", ""),
        ("code_letter", "I"),
        ("behaviour.share", "2"),
        ("figure_source", "rumour"),
    ],
)
def test_wrong_figure_of_an_appliance_is_told_at_its_field(
    browser: TestClient, sites: SiteStore, stored: StoredSite, field: str, value: str
):
    path = f"/sites/{stored.id}/circuits/b/appliances/b-load"
    fields = form_in(browser.get(path).text, path) | {field: value}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert problem_at(answer.text, field)
    assert sites.get(stored.id).revision == stored.revision


def test_240_volts_on_one_pole_is_refused_with_the_mend(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/circuits/b/appliances/b-load"
    fields = form_in(browser.get(path).text, path) | {"volts": "240"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert "Make the circuit 2-pole or set the appliance to 120 V." in answer.text


def test_appliance_is_deleted_with_the_events_that_start_it(browser: TestClient, sites: SiteStore):
    event = ApplianceEvent(appliance_id="b-load", at=START)
    made = sites.create(with_parts(double_throw_site(), scenarios=(scenario(events=(event,)),)))
    path = f"/sites/{made.id}/circuits/b"
    browser.post(f"{path}/appliances/b-load/delete", data={"revision": str(made.revision)})
    site = sites.get(made.id).site
    assert site.circuit("b").appliances == ()
    assert site.scenarios[0].events == ()
    assert "Deleted b-load. Undo brings it back." in browser.get(path).text


def test_every_field_of_circuit_and_appliance_is_on_its_form(
    browser: TestClient, stored: StoredSite
):
    from server.domain.appliance import Appliance
    from server.domain.circuit import Circuit

    table, _ = paths(stored)
    on_form = set(form_in(browser.get(f"{table}/b").text, f"{table}/b"))
    asked = set(Circuit.model_fields) - {"id", "spaces", "appliances", "photo", "own_battery_min"}
    assert asked | {"own_battery_h"} <= on_form
    path = f"{table}/b/appliances/b-load"
    on_form = set(form_in(browser.get(path).text, path))
    assert set(Appliance.model_fields) - {"id", "behaviour"} <= on_form


def test_nonsense_in_every_field_is_told_and_never_fails(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    table, _ = paths(stored)
    for path in (f"{table}/b", f"{table}/b/appliances/b-load"):
        fields = form_in(browser.get(path).text, path)
        for name in fields:
            for value in ("", "x" * 5000, "-1e999", "½", "\x00", "1,2,3"):
                now = {"revision": str(sites.get(stored.id).revision)}
                answer = browser.post(path, data=fields | now | {name: value})
                expected = {303, 409} if name == "revision" else {303, 422}
                assert answer.status_code in expected, (name, value)
    assert "\x00" not in sites.get(stored.id).site.model_dump_json()
