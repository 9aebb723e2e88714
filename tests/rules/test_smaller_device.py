"""The smaller device that is named beside larger wire: the wire as it lies carries the load too."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind, plain

FED = "main-sub"


def fed(load_w, breaker_a, **segment):
    """A house with a panel of fixed heat behind wire that goes by 75 °C, or by its kind."""
    wire = Segment(**{"run_ft": 50, "terminal_c": 75} | segment)
    heat = of_kind("heat", "sub", (1, 3), "wall-heater", load_w=load_w, breaker_a=100)
    tank = of_kind("tank", "main", (1, 3), "water-heater", breaker_a=30)
    base = plain(tank)
    (main,) = base.panels
    return with_parts(
        base,
        panels=(
            main.model_copy(update={"rating_a": 400, "main_a": 400}),
            builders.panel("sub", rating_a=225),
        ),
        feeders=(
            *base.feeders,
            builders.feeder("main", "sub", breaker_a=breaker_a, spaces=(2, 4), segments=(wire,)),
        ),
        circuits=(heat, tank),
    )


def small_wire(site, element_id=FED):
    findings = check_site(site).findings
    found = (f for f in findings if (f.code, f.element_id) == ("wire-too-small", element_id))
    return next(found, None)


def behind(site, breaker_a):
    feeders = tuple(
        f.model_copy(update={"breaker_a": float(breaker_a)}) if f.id == FED else f
        for f in site.feeders
    )
    return with_parts(site, feeders=feeders)


LENGTHS = [
    ({"size": "2/0", "metal": "aluminum"}, 148.5, 200, "4/0 aluminum", 135, 150),
    ({"size": "6", "insulation": "NM-B"}, 58.0, 70, "4 copper", 55, 60),
    ({"size": "4", "metal": "aluminum", "terminal_c": 60}, 57.0, 70, "3 aluminum", 55, 60),
]
"""Table 310.16, from memory: 2/0 aluminum is of 135 A at 75 °C; 6 copper and 4
aluminum are of 55 A at 60 °C, where NM-B goes (334.80). 240.4(B) has 135 A stand behind 150 A and
55 A behind 60 A; a load of 148.5, 58 or 57 A is above what the wire carries (215.2(A)(1))."""


@pytest.mark.parametrize(
    ("wire", "load_a", "device_a", "larger", "carried_a", "smaller_a"), LENGTHS
)
def test_a_smaller_breaker_alone_is_not_named_where_the_wire_is_short_of_the_load(
    wire, load_a, device_a, larger, carried_a, smaller_a
):
    site = fed(load_a * 240, device_a, **wire)
    down = f"bring the load down to {carried_a} A and use a breaker of {smaller_a} A"
    assert small_wire(site).mend == f"Use {larger}, or {down}."
    assert small_wire(behind(site, smaller_a)) is not None


@pytest.mark.parametrize(
    ("wire", "load_a", "device_a", "larger", "carried_a", "smaller_a"), LENGTHS
)
def test_it_is_named_where_the_wire_carries_the_load(
    wire, load_a, device_a, larger, carried_a, smaller_a
):
    site = fed(carried_a * 240, device_a, **wire)
    assert small_wire(site).mend.endswith(f", or a breaker of {smaller_a} A.")
    assert small_wire(behind(site, smaller_a)) is None


def served(size, metal, main_a):
    """A house of its own on one service, whose main stands at the far end of its conductors."""
    base = builders.normal_only_site(scenarios=(), floor_area_ft2=1400, zones=HOUSE)
    wire = Segment(run_ft=30, size=size, metal=metal, terminal_c=75)
    return with_parts(
        base,
        services=tuple(s.model_copy(update={"main_a": float(main_a)}) for s in base.services),
        panels=tuple(p.model_copy(update={"main_a": float(main_a)}) for p in base.panels),
        feeders=tuple(f.model_copy(update={"segments": (wire,)}) for f in base.feeders),
    )


@pytest.mark.parametrize(
    ("size", "metal", "main_a", "mend", "smaller_a"),
    [
        ("4", "copper", 125, "Use 2 copper, or a main of 100 A.", 100),
        ("2", "aluminum", 125, "Use 1/0 aluminum, or a main of 100 A.", 100),
        ("1/0", "copper", 200, "Use 2/0 copper, or a main of 175 A.", 175),
        ("2/0", "aluminum", 200, "Use 4/0 aluminum, or a main of 150 A.", 150),
        ("4", "aluminum", 100, "Use 2 aluminum.", None),
        ("6", "copper", 100, "Use 4 copper.", None),
    ],
)
def test_a_smaller_main_of_a_dwelling_is_the_largest_by_its_share_and_never_under_100_a(
    size, metal, main_a, mend, smaller_a
):
    """310.12 and Table 310.16, from memory: 85 A and 90 A are no less than 0.83 × 100 A = 83 A;
    150 A no less than 0.83 × 175 A = 145.3 A, under 0.83 × 200 A = 166 A; 135 A no less than
    0.83 × 150 A = 124.5 A. A main of 70 A, behind which 65 A may stand, is under the 100 A of a
    one-family dwelling (230.79(C)).
    """
    site = served(size, metal, main_a)
    (start,) = (f.id for f in site.feeders if f.from_id == "grid")
    assert small_wire(site, start).mend == mend
    if smaller_a is not None:
        codes = {f.code for f in check_site(served(size, metal, smaller_a)).findings}
        assert not {"wire-too-small", "service-under-100"} & codes
