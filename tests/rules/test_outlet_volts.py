"""Lights and small plugged loads of a dwelling are at 120 V (210.6(A), from memory)."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.editions import EDITIONS
from tests.rules.check_sites import of_kind, plain

CODE = "small-load-between-legs"


def told(kind, load_w, *, volts=240, place="dwelling", edition="2023", **changes):
    spaces = (9, 11) if volts == 240 else (9,)
    changes = {"load_type": "electronic", "power_factor": 1.0} | changes
    one = of_kind("c", "main", spaces, kind, load_w=load_w, volts=volts, **changes)
    site = plain(one.model_copy(update={"place": place}))
    found = check_site(site, edition=edition, recheck=False).findings
    return [(f.element_id, f.section, f.severity) for f in found if f.code == CODE]


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("kind", "load_w", "asked"),
    [
        ("lighting", 800, True),
        ("outdoor-lights", 2000, True),
        ("grow-lights", 4000, True),
        ("television", 200, True),
        ("television", 1440, True),
        ("television", 1441, False),
        ("water-heater", 1000, False),
    ],
)
def test_what_is_light_or_small_is_not_between_the_legs(kind, load_w, asked, edition):
    answer = [("c", "210.6(A)", "warning")] if asked else []
    assert told(kind, load_w, edition=edition) == answer


def test_at_120_v_nothing_is_said():
    assert told("lighting", 800, volts=120) == []


@pytest.mark.parametrize("place", ["outbuilding", "common_area"])
def test_outside_a_dwelling_it_is_let_be(place):
    assert told("lighting", 800, place=place) == []


def test_a_motor_goes_by_its_horsepower():
    assert told("room-air", 1000, load_type="motor") == []


@pytest.mark.parametrize(("power_factor", "asked"), [(1.0, True), (0.85, False)])
def test_it_goes_by_volt_amperes(power_factor, asked):
    """1,300 W / 0.85 = 1,529 VA, above 1,440."""
    assert bool(told("television", 1300, power_factor=power_factor)) is asked
