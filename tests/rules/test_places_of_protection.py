"""Places of a house by their other names, for arc- and ground-fault protection.

A powder room has a basin and a toilet, and is a bathroom (Article 100, 210.8(A)(1)); a balcony or a
terrace is outdoors (210.8(A)(3)) and none of the rooms of 210.12. By an indoor pool outlets within
20 ft ask for it (680.22(A)(4), from memory), which is not outdoors.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.editions import EDITIONS
from tests.rules.check_sites import of_kind, plain

CODES = ("new-circuit-arc-fault", "new-circuit-ground-fault")


def told(area: str, edition: str, place: str = "dwelling"):
    plugs = of_kind("p", "main", (9,), "plugs")
    plugs = plugs.model_copy(update={"area": area, "is_new": True, "place": place})
    found = check_site(plain(plugs), edition=edition, recheck=False).findings
    return [(f.code, f.section) for f in found if f.code in CODES and f.element_id == "p"]


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("area", "section"),
    [
        ("Powder room", "210.8(A)(1)"),
        ("Lavatory", "210.8(A)(1)"),
        ("Balcony", "210.8(A)(3)"),
        ("Terrace", "210.8(A)(3)"),
        ("Veranda", "210.8(A)(3)"),
        ("Pool deck", "210.8(A)(3)"),
        ("Indoor pool", "680.22(A)(4)"),
        ("WC", "210.8(A)(1)"),
        ("Ensuite", "210.8(A)(1)"),
        ("En suite", "210.8(A)(1)"),
        ("Washroom", "210.8(A)(1)"),
        ("Dock", "210.8(A)(3)"),
        ("Pier", "210.8(A)(3)"),
        ("Stoop", "210.8(A)(3)"),
        ("Front lawn", "210.8(A)(3)"),
        ("Breezeway", "210.8(A)(3)"),
    ],
)
def test_plugs_ask_for_ground_fault_protection_and_not_for_arcs(area, section, edition):
    assert told(area, edition) == [(CODES[1], section)]


@pytest.mark.parametrize("area", ["Pool room", "Living room", "Closet", "Sewing room", "Office"])
def test_rooms_ask_for_arc_fault_protection_alone(area):
    assert [code for code, _ in told(area, "2023")] == [CODES[0]]


@pytest.mark.parametrize(
    ("area", "section"), [("Powder room", "210.8(B)"), ("Indoor pool", "680.22(A)(4)")]
)
def test_what_several_dwellings_share_asks_too(area, section):
    assert told(area, "2023", "common_area") == [(CODES[1], section)]


@pytest.mark.parametrize("area", ["Mechanical room", "Tack room", "Furnace room"])
def test_what_is_no_room_of_a_dwelling_asks_for_nothing_by_its_place(area):
    assert told(area, "2023") == []


def test_a_place_that_is_not_known_is_asked_about():
    plugs = of_kind("p", "main", (9,), "plugs")
    plugs = plugs.model_copy(update={"area": "Snug", "is_new": True})
    found = check_site(plain(plugs), recheck=False).findings
    (one,) = [f for f in found if f.code in CODES and f.element_id == "p"]
    assert (one.code, one.severity) == (CODES[0], "note")
    assert "Snug, which is no place known here" in one.text
    assert "ground-fault" in one.text
    untold = plugs.model_copy(update={"area": ""})
    found = check_site(plain(untold), recheck=False).findings
    assert "warning" in {f.severity for f in found if f.code == CODES[0]}
