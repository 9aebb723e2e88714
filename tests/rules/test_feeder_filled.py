"""A feeder whose load runs for hours and fills its breaker to the last ampere: 215.2(A)(1).

A charger of 48 A asks for 60 A, of 40 A for 50 A, of 32 A for 40 A (625.41). Table 310.16: 4 copper
carries 70 A and 6 copper 55 A at 60 °C, which NM-B keeps to (334.80); 6 copper 65 A at 75 °C.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.checks.wires import wiring_checks
from tests import builders
from tests.rules.check_sites import RULES, of_kind, plain


def to_a_charger(kind, breaker_a, *, run_ft=60.0, ground_size="10", **segment):
    wire = Segment(run_ft=run_ft, ground_size=ground_size, metal="copper", **segment)
    car = of_kind("car", "sub", (1, 3), kind, breaker_a=breaker_a)
    house = [
        of_kind(kind, "main", (at,), kind, breaker_a=20)
        for at, kind in ((1, "lighting"), (3, "kitchen-plugs"), (5, "washer"))
    ]
    return plain(
        car,
        *house,
        panels=(
            builders.panel("main", main_a=200, neutral_bonded=True),
            builders.panel("sub", rating_a=125),
        ),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "sub", breaker_a=breaker_a, spaces=(2, 4), segments=(wire,)),
        ),
    )


def wired(site):
    report = check_site(site, recheck=True)
    return next(w for w in report.wiring if w.feeder_id == "main-sub"), {
        f.code: f for f in report.about("main-sub")
    }


@pytest.mark.parametrize(
    ("kind", "breaker_a", "size", "advised", "less"),
    [
        ("car-charger-48", 60, "6", "4", ""),
        ("car-charger-40", 50, "8", "6", " to 40 A and use a breaker of 40 A"),
        ("car-charger-32", 40, "10", "8", " to 30 A and use a breaker of 30 A"),
    ],
)
def test_cable_to_a_charger_that_fills_it_is_sized(kind, breaker_a, size, advised, less):
    """NM-B goes by 60 °C (334.80): 6 is of 55 A and may stand behind 60 A; 8 of 40 and 10 of 30 A
    may stand behind no more than that (240.4(B), (D)(7)).
    """
    one, found = wired(to_a_charger(kind, breaker_a, size=size, insulation="NM-B"))
    assert one.advice.size == advised
    assert one.advice.run.noncontinuous_a == 0.0
    small = found["wire-too-small"]
    assert small.mend == f"Use {advised} copper, or bring the load down{less}."
    assert small.recheck.clears


def test_wire_in_pipe_to_it_is_named_and_is_no_wire_in_parallel():
    """Below 1/0 no wires lie in parallel (310.10(G)(1))."""
    site = to_a_charger(
        "car-charger-48", 60, size="8", terminal_c=75, raceway="pvc40", raceway_trade_size="1"
    )
    small = wired(site)[1]["wire-too-small"]
    assert small.severity == "blocking"
    less = "bring the load down to 50 A and use a breaker of 50 A"
    assert small.mend == f"Use 6 copper, or {less}."


def test_a_long_one_is_told_what_holds_its_drop():
    site = to_a_charger("car-charger-48", 60, run_ft=300.0, size="6", terminal_c=75)
    one, found = wired(site)
    assert (one.advice.ampacity_size, one.advice.size) == ("6", "3")
    assert "3 copper" in found["drop-above-advice"].mend


def test_where_no_wire_is_known_to_do_none_in_parallel_is_told():
    site = to_a_charger("car-charger-48", 60, size="8", terminal_c=75)
    one = next(w for w in check_site(site).wiring if w.feeder_id == "main-sub")
    (small, *_) = wiring_checks([replace(one, advice=None)], RULES)
    less = "bring the load down to 50 A and use a breaker of 50 A"
    assert small.mend == f"Use wire that lies cooler, or {less}."


def test_a_feeder_without_load_is_sized_too():
    site = to_a_charger("car-charger-48", 60, size="6", terminal_c=75)
    spare = of_kind("car", "sub", (1, 3), "heat-strip", load_w=0.0)
    house = tuple(c for c in site.circuits if c.id != "car")
    empty = builders.with_parts(site, circuits=(*house, spare))
    one = next(w for w in check_site(empty).wiring if w.feeder_id == "main-sub")
    assert one.advice.run.load_a == pytest.approx(0.001)
    assert one.advice.size == "6"


@pytest.mark.parametrize(
    ("neutral", "severity", "words"),
    [
        ("6", "note", "Behind a device of 90 A, which its wire may stand behind too, the same "),
        ("8", "note", "neutral is large enough"),
        ("10", "warning", "(10 but that it may be no smaller than its ground, which grows as "),
        ("4", None, ""),
    ],
)
def test_a_neutral_that_grows_with_its_ground_is_judged_as_the_ground_is(neutral, severity, words):
    """50 A ask for 8 copper; 4 is laid. Its ground: 10,380 x 41,740 / 16,510 = 26,242 cmil, and 6
    copper is 26,240 (250.122(B), 215.2(A)(2)). Behind 90 A, which 4 copper bears, it is 8.
    """
    site = to_a_charger(
        "car-charger-40", 50, size="4", terminal_c=75, neutral_size=neutral, ground_size="4"
    )
    found = wired(site)[1]
    small = found.get("neutral-too-small")
    assert (small.severity if small else None) == severity
    if small is not None:
        assert words in small.text
        assert "ask for 4 (10 but that" in small.text
        assert "6 copper falls short of that by 0.01 %" in small.text


def test_a_neutral_of_another_metal_than_its_ground_has_no_hair_of_it():
    site = to_a_charger(
        "car-charger-40", 50, size="4", terminal_c=75, neutral_size="8", ground_metal="aluminum"
    )
    assert "falls short" not in wired(site)[1]["neutral-too-small"].text


def test_a_neutral_that_is_too_small_for_its_load_is_a_warning_whatever_the_device():
    """The 120 V part of a dryer lies on it, 70 % of 5,000 VA, 14.6 A (220.61(B)); 14 is no size."""
    dryer = of_kind("dry", "sub", (5, 7), "dryer", breaker_a=30)
    site = to_a_charger(
        "car-charger-40", 50, size="6", terminal_c=75, neutral_size="14", ground_size="8"
    )
    site = builders.with_parts(site, circuits=(*site.circuits, dryer))
    small = wired(site)[1]["neutral-too-small"]
    assert small.severity == "warning"
    assert "Behind a device" not in small.text


def test_a_neutral_that_just_carries_its_load_is_right_behind_the_larger_device():
    """4,600 VA on one leg are 38.3 A: 10 copper carries 35 A, 8 carries 50 A, no less than 8 is the
    ground of 90 A.
    """
    site = to_a_charger(
        "car-charger-24", 50, size="4", terminal_c=75, neutral_size="8", ground_size="4"
    )
    oven = builders.circuit("oven", "sub", 5, load_w=4600, breaker_a=50)
    house = tuple(c for c in site.circuits if c.id != "car")
    site = builders.with_parts(site, circuits=(*house, oven))
    small = wired(site)[1]["neutral-too-small"]
    assert small.severity == "note"
    assert "neutral load of 38 A" in small.text
    assert "(8 but that it may be no smaller" in small.text


def test_a_ground_that_grows_says_by_what():
    """10,380 cmil times 41,740 / 16,510, 2.53."""
    site = to_a_charger("car-charger-40", 50, size="4", terminal_c=75, ground_size="8")
    small = wired(site)[1]["ground-too-small"]
    assert (
        "(26,242 circular mils: the table's size times 2.53, as its wire is larger than its device "
        "of 50 A asks for)" in small.text
    )


def test_what_is_too_small_without_growth_says_nothing_of_it():
    site = to_a_charger(
        "car-charger-40", 50, size="8", terminal_c=75, neutral_size="14", ground_size="14"
    )
    found = wired(site)[1]
    assert "circular mils" not in found["ground-too-small"].text
    assert "but that" not in found["neutral-too-small"].text
    assert "falls short" not in found["neutral-too-small"].text
