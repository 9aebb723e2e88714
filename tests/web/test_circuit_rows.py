from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import appliance, circuit, double_throw_site, with_parts
from tests.web.conftest import form_in

PARTS = {"Accept": "application/json"}


def rows_of(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/circuit-rows"


def entry(browser: TestClient, stored: StoredSite) -> dict[str, str]:
    page = browser.get(f"/sites/{stored.id}/circuits").text
    return form_in(page, rows_of(stored))


def added(sites: SiteStore, stored: StoredSite) -> Circuit:
    return sites.get(stored.id).site.circuits[-1]


def problem_in(strip: str, name: str) -> str:
    found = re.search(rf'id="p-[\w-]+-{name}">.*?<span>(.*?)</span>', strip, re.S)
    assert found is None or re.search(rf'name="{name}"\s+aria-invalid="true"', strip)
    return found[1] if found else ""


def test_plain_form_adds_a_circuit_with_what_is_usual_for_its_kind(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = entry(browser, stored) | {"name": "Laundry", "feeds": "clothes dr"}
    answer = browser.post(rows_of(stored), data=fields)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/sites/{stored.id}/circuits#entry"
    made, kind = added(sites, stored), KINDS["dryer"]
    assert (made.name, made.poles, made.breaker_a) == ("Laundry", 2, kind.breaker_a)
    assert (made.load_class, made.wire_size) == (kind.load_class, None)
    assert made.appliances == (kind.appliance(made.appliances[0].id),)
    page = browser.get(f"/sites/{stored.id}/circuits").text
    assert "Added Laundry: Panel main, spaces" in page


def test_row_without_kind_or_watts_is_an_empty_20_a_circuit(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    browser.post(rows_of(stored), data=entry(browser, stored) | {"name": "Attic"})
    made = added(sites, stored)
    assert (made.poles, made.breaker_a, made.outage_role) == (1, 20, "on")
    assert made.appliances == ()


def test_kind_alone_names_the_circuit(browser: TestClient, sites: SiteStore, stored: StoredSite):
    browser.post(rows_of(stored), data=entry(browser, stored) | {"feeds": "microw"})
    assert added(sites, stored).name == KINDS["microwave"].name


@pytest.mark.parametrize(
    ("poles", "volts", "watts"), [("1", 120, "1,500"), ("2", 240, "1500 W"), ("", 120, "1500")]
)
def test_watts_alone_make_one_appliance_of_no_told_kind(
    browser: TestClient,
    sites: SiteStore,
    stored: StoredSite,
    poles: str,
    volts: int,
    watts: str,
):
    fields = entry(browser, stored) | {"name": "Kiln", "load_w": watts, "poles": poles}
    browser.post(rows_of(stored), data=fields)
    (load,) = added(sites, stored).appliances
    assert (load.name, load.kind, load.volts, load.load_w) == ("Kiln", "other", volts, 1500)
    assert load.figure_source == "guess"


def test_watts_overrule_those_of_the_kind(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    browser.post(rows_of(stored), data=entry(browser, stored) | {"feeds": "dryer", "load_w": "200"})
    (load,) = added(sites, stored).appliances
    assert load.load_w == 200
    assert load.part_120_w <= 200 < KINDS["dryer"].part_120_w


@pytest.mark.parametrize(
    ("space", "poles", "spaces", "half"),
    [
        ("9", "1", (9,), None),
        ("9", "2", (9, 11), None),
        ("9, 11", "2", (9, 11), None),
        ("9/11", "2", (9, 11), None),
        ("9b", "1", (9,), "b"),
    ],
)
def test_space_is_read_as_a_panel_schedule_writes_it(
    browser: TestClient, sites: SiteStore, space: str, poles: str, spaces: tuple, half: str
):
    made = sites.create(with_parts(double_throw_site(), circuits=()))
    fields = entry(browser, made) | {"name": "Hall", "panel_id": "main"}
    browser.post(rows_of(made), data=fields | {"space": space, "poles": poles})
    got = added(sites, made)
    assert (got.spaces, got.half) == (spaces, half)
    assert got.breaker_type == ("tandem" if half else "standard")
    assert got.poles == len(got.spaces)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("feeds", "zzz", "Write a few letters of one"),
        ("load_w", "lots", "Write the watts as a number"),
        ("load_w", "inf", "Write the watts as a number"),
        ("space", "x", "whole number"),
        ("space", "1", "both in space 1"),
        ("space", "9, 13", "under each other"),
        ("breaker_a", "big", "Write a number"),
        ("name", "n" * 200, "characters"),
    ],
)
def test_what_is_wrong_is_told_beside_its_cell_and_everything_typed_stays(
    browser: TestClient, sites: SiteStore, stored: StoredSite, field: str, value: str, words: str
):
    typed = entry(browser, stored) | {"name": "Hall", "note": "by the stair"} | {field: value}
    answer = browser.post(rows_of(stored), data=typed)
    assert answer.status_code == 422
    assert words in problem_in(answer.text, field)
    again = form_in(answer.text, rows_of(stored))
    assert {name: again[name] for name in typed} == typed
    assert sites.get(stored.id).revision == stored.revision


def test_240_v_kind_on_one_pole_is_told(browser: TestClient, stored: StoredSite):
    fields = entry(browser, stored) | {"feeds": "dryer", "poles": "1"}
    answer = browser.post(rows_of(stored), data=fields)
    assert answer.status_code == 422
    assert "needs 240 V" in answer.text


def test_script_gets_the_saved_row_and_what_changed_around_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = entry(browser, stored) | {"name": "Hall <b>"}
    answer = browser.post(rows_of(stored), data=fields, headers=PARTS)
    assert answer.status_code == 200
    parts = answer.json()
    made = added(sites, stored)
    assert parts["circuit"] == made.id
    assert parts["revision"] == stored.revision + 1
    assert "Hall &lt;b&gt;" in parts["rows"][made.id]
    assert f'id="head-{made.panel_id}"' in parts["heads"][made.panel_id]
    assert made.spaces[0] not in parts["free"][made.panel_id]
    assert "Undo: Add Hall" in parts["undo"]
    assert parts["counted"].startswith("7 in")


def test_script_gets_a_refused_row_open_under_the_name_it_gave(
    browser: TestClient, stored: StoredSite
):
    fields = entry(browser, stored) | {"name": "Hall", "space": "x", "key": "again-3"}
    answer = browser.post(rows_of(stored), data=fields, headers=PARTS)
    assert 'id="f-again-3-space"' in answer.json()["strip"]
    answer = browser.post(rows_of(stored), data=fields | {"key": '"><script>'}, headers=PARTS)
    assert 'id="f-again-space"' in answer.json()["strip"]
    assert "<script>" not in answer.json()["strip"]


def test_row_on_an_older_revision_is_refused_with_the_newer_one(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = entry(browser, stored) | {"name": "Hall"}
    browser.post(rows_of(stored), data=fields)
    other = fields | {"name": "Stairs"}
    answer = browser.post(rows_of(stored), data=other, headers=PARTS)
    assert sites.get(stored.id).revision == stored.revision + 1
    assert answer.json()["revision"] == str(stored.revision + 1)
    assert "Somebody saved first" in answer.json()["strip"]


def test_row_changes_only_what_it_shows(browser: TestClient, sites: SiteStore):
    loads = (appliance("lamp", 60),)
    old = circuit("a", "main", 9, appliances=loads).model_copy(
        update={"area": "attic", "allowed_gap_min": 5.0, "load_class": "must_serve"}
    )
    made = sites.create(with_parts(double_throw_site(), circuits=(old,)))
    page = browser.get(f"/sites/{made.id}/circuits").text
    fields = {"revision": str(made.revision), "name": "Attic lamps", "load_w": "75"}
    fields |= {"panel_id": "backed", "space": "9", "poles": "1", "breaker_a": "15"}
    assert 'data-loads="1"' in page
    answer = browser.post(f"{rows_of(made)}/a", data=fields, headers=PARTS)
    assert answer.status_code == 200
    (now,) = sites.get(made.id).site.circuits
    lamp = loads[0].model_copy(update={"load_w": 75.0})
    wanted = {"name": "Attic lamps", "panel_id": "backed", "breaker_a": 15.0}
    assert now == old.model_copy(update=wanted | {"appliances": (lamp,)})
    assert set(answer.json()["heads"]) == {"main", "backed"}


def test_watts_of_several_appliances_are_changed_on_their_own_page(
    browser: TestClient, sites: SiteStore
):
    old = circuit("a", "main", 9, appliances=(appliance("x", 60), appliance("y", 40)))
    made = sites.create(with_parts(double_throw_site(), circuits=(old,)))
    fields = {"revision": str(made.revision), "name": "Lamps", "load_w": "90"}
    answer = browser.post(f"{rows_of(made)}/a", data=fields, headers=PARTS)
    assert "own page" in problem_in(answer.json()["strip"], "load_w")
    browser.post(f"{rows_of(made)}/a", data=fields | {"load_w": "100"}, headers=PARTS)
    assert sites.get(made.id).site.circuit("a").name == "Lamps"


@pytest.mark.parametrize(
    ("sort", "order"),
    [("name", "abc"), ("-name", "cba"), ("watts", "cab"), ("-breaker", "bac"), ("nonsense", "abc")],
)
def test_rows_come_in_the_order_asked_for_across_panels(
    browser: TestClient, sites: SiteStore, sort: str, order: str
):
    made = sites.create(
        with_parts(
            double_throw_site(),
            circuits=(
                circuit("b", "backed", 1, load_w=900, breaker_a=60),
                circuit("a", "main", 9, load_w=50, breaker_a=30),
                circuit("c", "backed", 9, load_w=10, breaker_a=15),
            ),
        )
    )
    page = browser.get(f"/sites/{made.id}/circuits", params={"sort": sort}).text
    assert re.findall(r'<tr id="c-(\w)"', page) == list(order)


def test_head_of_the_ordered_column_says_so_and_turns_the_order(
    browser: TestClient, stored: StoredSite
):
    page = browser.get(f"/sites/{stored.id}/circuits", params={"sort": "watts", "find": "b"}).text
    head = re.search(r'aria-sort="ascending"><a href="([^"]+)"', page)
    assert head is not None
    assert head[1].endswith("?find=b&amp;sort=-watts")
    assert page.count('aria-sort="ascending"') == 1


def test_next_row_goes_to_a_panel_with_room(browser: TestClient, sites: SiteStore):
    empty = with_parts(double_throw_site(), circuits=())
    assert entry(browser, sites.create(empty))["panel_id"] == "main"
    spaces = free_spaces(empty, empty.panel("main"))
    full = tuple(circuit(f"c{n}", "main", n) for n in spaces)
    made = sites.create(with_parts(empty, circuits=full))
    assert entry(browser, made)["panel_id"] == "backed"
    page = browser.get(f"/sites/{made.id}/circuits").text
    assert 'value="main" data-free=""' in page
