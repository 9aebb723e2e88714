from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.domain.site import Site
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.drawing.panel_spaces import connected_legs, panel_faces
from tests.builders import appliance, circuit, double_throw_site, with_parts
from tests.web.conftest import form_in, problem_at


def path(stored: StoredSite) -> str:
    return f"/sites/{stored.id}/spaces"


def house(*circuits: object) -> Site:
    return with_parts(double_throw_site(), circuits=circuits)


def test_panel_is_drawn_odd_left_even_right_with_the_leg_of_each_row():
    rows = panel_faces(house(circuit("a", "main", 9, 11), circuit("b", "main", 10)))[0].rows
    assert [(r.left.space, r.right and r.right.space) for r in rows[:3]] == [(1, 2), (3, 4), (5, 6)]
    assert [r.leg for r in rows[:4]] == ["L1", "L2", "L1", "L2"]
    assert (rows[4].left.rows, rows[5].left.rows) == (2, 0)
    assert [c.id for c in rows[4].left.circuits] == ["a"]
    assert [c.id for c in rows[4].right.circuits] == ["b"]


def test_odd_number_of_spaces_ends_on_the_left():
    site = house()
    panels = tuple(p.model_copy(update={"spaces": 21}) for p in site.panels)
    last = panel_faces(with_parts(site, panels=panels))[0].rows[-1]
    assert (last.left.space, last.right) == (21, None)


def test_halves_share_a_slot_and_feeders_are_named():
    site = house(
        circuit("y", "main", 9, half="b", breaker_type="tandem"),
        circuit("x", "main", 9, half="a", breaker_type="tandem"),
    )
    faces = {f.panel.id: f for f in panel_faces(site)}
    slots = [s for r in faces["main"].rows for s in (r.left, r.right) if s]
    assert [c.id for s in slots if s.space == 9 for c in s.circuits] == ["x", "y"]
    backed = [s for r in faces["backed"].rows for s in (r.left, r.right) if s]
    assert any("backed-throw" in id_ for s in backed for id_, _ in s.others)
    assert faces["main"].free == sum(1 for s in slots if s.rows and not s.circuits and not s.others)


@pytest.mark.parametrize(
    ("circuits", "amps"),
    [
        ([circuit("a", "main", 9, load_w=1200)], (10.0, 0.0)),
        ([circuit("a", "main", 11, load_w=1200)], (0.0, 10.0)),
        ([circuit("a", "main", 9, 11, appliances=(appliance("x", 2400, volts=240),))], (10, 10)),
        (
            [
                circuit("a", "main", 9, load_w=600),
                circuit("b", "main", 10, 12, appliances=(appliance("x", 2400, volts=240),)),
            ],
            (15.0, 10.0),
        ),
        (
            [
                circuit(
                    "a",
                    "main",
                    9,
                    11,
                    appliances=(appliance("x", 3000, volts=240, part_120_w=600, on_pole=2),),
                )
            ],
            (10.0, 15.0),
        ),
    ],
)
def test_connected_amps_of_each_leg_by_hand(circuits: list, amps: tuple[float, float]):
    site = house(*circuits)
    legs = connected_legs(site, site.panel("main"))
    assert tuple(w.value for w in legs) == pytest.approx(amps)


def test_plain_form_moves_a_breaker_and_tells_its_leg(browser: TestClient, sites: SiteStore):
    made = sites.create(house(circuit("a", "main", 9), circuit("b", "main", 11)))
    fields = form_in(browser.get(path(made)).text, path(made))
    fields |= {"circuit": "a", "panel_id": "main", "space": "11"}
    answer = browser.post(path(made), data=fields)
    assert answer.headers["location"] == f"{path(made)}?moved=a"
    site = sites.get(made.id).site
    assert (site.circuit("a").spaces, site.circuit("b").spaces) == ((11,), (9,))
    page = browser.get(answer.headers["location"]).text
    assert "Circuit a is in space 11 of Panel main, on L2." in page
    assert "Circuit b is in space 9 of Panel main, on L1 instead." in page
    assert re.search(r'id="b-a"[^>]*data-moved', page)
    assert sites.undo(made.id).site == made.site


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("circuit", "", "Choose the breaker"),
        ("panel_id", "gone", "Choose the panel"),
        ("space", "x", "whole number"),
        ("space", "99", "has spaces 1 to"),
    ],
)
def test_what_cannot_be_moved_is_told_at_its_field(
    browser: TestClient, sites: SiteStore, field: str, value: str, words: str
):
    made = sites.create(house(circuit("a", "main", 9)))
    fields = form_in(browser.get(path(made)).text, path(made))
    fields |= {"circuit": "a", "panel_id": "main", "space": "11", field: value}
    answer = browser.post(path(made), data=fields)
    assert answer.status_code == 422
    assert words in problem_at(answer.text, field)
    assert sites.get(made.id).revision == made.revision


def test_partner_on_the_same_leg_is_told(browser: TestClient, sites: SiteStore):
    pair = (
        circuit("a", "main", 9, multiwire_partner_id="b"),
        circuit("b", "main", 11, multiwire_partner_id="a"),
    )
    made = sites.create(house(*pair))
    fields = form_in(browser.get(path(made)).text, path(made))
    fields |= {"circuit": "a", "panel_id": "main", "space": "12"}
    browser.post(path(made), data=fields)
    assert "same leg as Circuit b, which shares its neutral" in browser.get(path(made)).text


def test_what_a_move_does_to_the_legs_is_told(browser: TestClient, sites: SiteStore):
    loads = (circuit("a", "main", 9, load_w=1200), circuit("b", "main", 10, load_w=600))
    made = sites.create(house(*loads))
    fields = form_in(browser.get(path(made)).text, path(made))
    fields |= {"circuit": "a", "panel_id": "main", "space": "12"}
    browser.post(path(made), data=fields)
    said = "Connected on Panel main: L1 15.0 to 5.0 A, L2 0.0 to 10.0 A."
    assert said in browser.get(path(made)).text


def test_move_on_the_same_leg_tells_no_change_of_the_legs(browser: TestClient, sites: SiteStore):
    made = sites.create(house(circuit("a", "main", 9, load_w=1200)))
    fields = form_in(browser.get(path(made)).text, path(made))
    fields |= {"circuit": "a", "panel_id": "main", "space": "10"}
    browser.post(path(made), data=fields)
    page = browser.get(path(made)).text
    assert "Circuit a is in space 10" in page
    assert "Connected on" not in page


def preview(browser: TestClient, stored: StoredSite, circuit_id: str, space: str) -> str:
    asked = {"circuit": circuit_id, "panel_id": "main", "space": space}
    answer = browser.get(f"{path(stored)}/preview", params=asked)
    assert answer.status_code == 200
    return answer.text


def test_a_move_not_yet_made_shows_the_legs_it_would_leave_and_saves_nothing(
    browser: TestClient, sites: SiteStore
):
    loads = (circuit("a", "main", 9, load_w=1200), circuit("b", "main", 10, load_w=600))
    made = sites.create(house(*loads))
    shown = preview(browser, made, "a", "12")
    assert "Connected on Panel main: L1 15.0 to 5.0 A, L2 0.0 to 10.0 A." in shown
    assert 'data-legs="main"' in shown
    assert "then L1 5.0 A, L2 10.0 A" in shown
    assert "The legs stay as they are." in preview(browser, made, "a", "14")
    assert "has spaces 1 to" in preview(browser, made, "a", "99")
    assert "data-legs" not in preview(browser, made, "gone", "12")
    assert sites.get(made.id).revision == made.revision
