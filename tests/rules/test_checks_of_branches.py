from __future__ import annotations

from typing import Any

import pytest

from server.domain.catalogue import KINDS
from server.domain.finding import Finding
from server.rules.check import check_site
from tests.builders import appliance, circuit, normal_only_site, with_parts
from tests.rules.check_sites import plain


def findings(code: str, *circuits: Any) -> list[Finding]:
    site = with_parts(normal_only_site(), circuits=circuits)
    return [f for f in check_site(site).findings if f.code == code]


@pytest.mark.parametrize("kind", ["other", "plugs", "lighting", "microwave"])
def test_one_thing_that_draws_more_than_its_breaker_warns_whatever_it_is(kind: str) -> None:
    """5,000 W at 120 V is 41.7 A."""
    thing = appliance("thing", 5000, kind=kind)
    (found,) = findings(
        "device-below-load", circuit("x", "main", 1, breaker_a=15, appliances=(thing,))
    )
    assert (found.severity, found.limit) == ("warning", 15)
    assert found.value == pytest.approx(41.67, abs=0.01)
    assert "210.23" in found.section


def test_several_small_things_on_plugs_are_not_added_up() -> None:
    things = tuple(appliance(f"t{n}", 1200) for n in range(4))
    assert findings("device-below-load", circuit("x", "main", 1, appliances=things)) == []


@pytest.mark.parametrize(
    ("load_w", "continuous", "full_rated", "warned"),
    [(2000, True, False, True), (2000, False, False, False), (2000, True, True, False),
     (1900, True, False, False)],
)  # fmt: skip
def test_a_load_held_on_takes_125_percent_whatever_it_is(
    load_w: float, continuous: bool, full_rated: bool, warned: bool
) -> None:
    """2,000 W at 120 V is 16.7 A; x 1.25 is 20.8 A on 20 A."""
    things = (appliance("one", load_w / 2), appliance("two", load_w / 2))
    held = circuit("x", "main", 1, appliances=things, continuous=continuous, full_rated=full_rated)
    found = findings("device-below-load", held)
    assert [f.severity for f in found] == (["warning"] if warned else [])
    assert all(f.value == pytest.approx(20.83, abs=0.01) for f in found)


def test_loads_of_two_legs_are_not_added_on_one_pole() -> None:
    things = (appliance("one", 1800), appliance("two", 1800, on_pole=2))
    held = circuit("x", "main", 1, 3, appliances=things, continuous=True)
    assert findings("device-below-load", held) == []


@pytest.mark.parametrize(
    ("kind", "breaker_a", "told"),
    [
        ("plugs", 20, []),
        ("plugs", 30, ["note"]),
        ("plugs", 40, ["warning"]),
        ("lighting", 50, ["warning"]),
        ("well-pump", 40, []),
    ],
)
def test_lights_and_plugs_on_a_large_breaker_warn(
    kind: str, breaker_a: float, told: list[str]
) -> None:
    thing = KINDS[kind].appliance("thing", volts=120)
    found = findings(
        "plug-breaker-large",
        circuit("x", "main", 1, breaker_a=breaker_a, appliances=(thing,)),
    )
    assert [f.severity for f in found] == told


@pytest.mark.parametrize("count", [0, 1, 3])
def test_unknown_branch_wire_is_told_once_for_a_site(count: int) -> None:
    circuits = [circuit(f"c{n}", "main", 2 * n + 1, load_w=100) for n in range(count)]
    found = findings("branch-wire-unknown", *circuits)
    assert [f.severity for f in found] == ["note"] * min(count, 1)


@pytest.mark.parametrize(
    ("kinds", "load_w", "breaker_a", "enough"),
    [
        (("range-oven", "range-burners"), (3_000, 5_700), 35, True),
        (("range-oven",), (8_500,), 35, True),
        (("range-oven", "range-burners"), (3_000, 5_700), 30, False),
        (("cooktop", "wall-oven"), (5_000, 3_700), 35, True),
        (("wall-oven",), (8_700,), 35, False),
        (("wall-oven",), (8_700,), 40, True),
        (("range-oven",), (6_000,), 25, True),
        (("cooktop", "wall-oven", "wall-oven"), (6_600, 4_500, 4_500), 40, True),
        (("cooktop", "wall-oven", "wall-oven", "wall-oven"), (6_600, *(4_500,) * 3), 80, False),
        (("cooktop", "cooktop", "wall-oven"), (6_000, 6_000, 4_500), 60, False),
        (("range-oven", "wall-oven"), (12_000, 4_500), 50, False),
        (("range-oven", "wall-oven"), (12_000, 4_500), 60, True),
    ],
)
def test_one_range_goes_by_the_table_and_one_oven_by_its_plate(kinds, load_w, breaker_a, enough):
    """Note 4 of Table 220.55: 8 kW at most, 33.3 A, up to 12 kW; one oven at its nameplate.

    A cooktop with one or two ovens counts as one range, and nothing else does: 15.6 kW is 9.6 kW,
    20.1 kW by nameplate 83.8 A, a range with an oven 12.5 kW, 52.1 A.
    """
    things = tuple(
        KINDS[kind].appliance(f"a{n}", load_w=watts)
        for n, (kind, watts) in enumerate(zip(kinds, load_w, strict=True))
    )
    stove = circuit("x", "main", 1, 3, breaker_a=breaker_a, appliances=things)
    assert (not findings("device-below-load", stove)) is enough


@pytest.mark.parametrize(
    ("kinds", "load_w", "said"),
    [
        (("range-oven", "range-burners"), (3_000, 5_700), "column B stand, 6.96 kW"),
        (("cooktop", "wall-oven"), (4_000, 4_000), "column B stand, 6.40 kW"),
        (("range-oven",), (3_400,), "column A stand, 2.72 kW"),
        (("range-oven",), (9_000,), ""),
        (("wall-oven",), (8_700,), ""),
    ],
)
def test_a_small_range_says_what_columns_a_and_b_would_give(kinds, load_w, said):
    """Table 220.55, columns A and B, 80 % of one; columns A and B end at 8-3/4 kW (Note 3)."""
    things = tuple(
        KINDS[kind].appliance(f"a{n}", load_w=watts)
        for n, (kind, watts) in enumerate(zip(kinds, load_w, strict=True))
    )
    made = circuit("c", "main", 1, 3, appliances=things, breaker_a=10)
    (finding,) = findings("device-below-load", made)
    assert ("Note 3" in finding.text) == bool(said)
    assert said in finding.text


@pytest.mark.parametrize(
    ("kinds", "breaker_a", "warned"),
    [
        (("baseboard", "baseboard"), 40, True),
        (("baseboard", "wall-heater"), 30, False),
        (("radiant-floor", "heated-floor"), 40, True),
        (("radiant-floor", "radiant-floor"), 40, True),
        (("baseboard",), 40, False),
        (("baseboard", "water-heater"), 40, False),
    ],
)
def test_several_heaters_stand_behind_30_a_at_most(kinds, breaker_a, warned) -> None:
    """424.4(A): two or more outlets of fixed heat; one alone behind any device."""
    things = tuple(KINDS[k].appliance(f"a{n}", load_w=3_500) for n, k in enumerate(kinds))
    heat = circuit("x", "main", 1, 3, breaker_a=breaker_a, appliances=things)
    found = [f for f in check_site(plain(heat)).findings if f.code == "breaker-above-appliance"]
    assert [f.limit for f in found] == ([30] if warned else [])
    assert all("424.4(A)" in f.section and f.advised is None for f in found)


@pytest.mark.parametrize(
    ("load_w", "severity"), [(8000, "note"), (8700, "note"), (9500, "warning")]
)
def test_a_small_range_that_note_3_permits_is_no_fault_of_breaker_or_wire(load_w, severity):
    """8 kW at 80 % are 26.7 A, within 30 A and 10 copper; 8.7 kW 29 A (Table 220.55, Note 3)."""
    stove = KINDS["range-burners"].appliance("stove", load_w=load_w)
    made = circuit("c", "main", 1, 3, breaker_a=30, wire_size="10", appliances=(stove,))
    for code in ("device-below-load", "branch-wire-small"):
        (one,) = findings(code, made)
        assert one.severity == severity
        assert ("Note 3" in one.text) == (severity == "note")
