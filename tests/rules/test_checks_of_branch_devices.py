"""The most and the least a branch breaker may be for what is on it."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.check import check_site
from tests.rules.check_sites import codes, found, of_kind, plain


def ranged(breaker_a, **wire):
    oven = of_kind("range", "main", (1, 3), "range-oven", breaker_a=breaker_a, load_w=3600)
    (burners,) = of_kind("b", "main", (1, 3), "range-burners", load_w=6400).appliances
    both = (*oven.appliances, burners)
    return plain(oven.model_copy(update={"appliances": both, **wire}))


@pytest.mark.parametrize(
    ("kind", "breaker_a", "most_a", "section"),
    [
        ("water-heater", 60, 30, "422.11(E)(3)"),
        ("water-heater", 30, None, ""),
        ("dryer", 50, 30, "110.3(B), 422.11(A)"),
        ("dryer", 30, None, ""),
        ("wall-oven", 90, 60, "422.11(B)"),
        ("wall-oven", 50, None, ""),
    ],
)
def test_an_appliance_has_a_largest_breaker(kind, breaker_a, most_a, section):
    """422.11(E)(3): 150 % of 18.75 A is 28.1 A, so 30 A; 422.11(B): ranges to 60 A."""
    site = plain(of_kind("x", "main", (1, 3), kind, breaker_a=breaker_a))
    if most_a is None:
        assert "breaker-above-appliance" not in codes(site)
        return
    finding = found(site, "breaker-above-appliance")
    assert (finding.severity, finding.limit, finding.section) == ("warning", most_a, section)


@pytest.mark.parametrize(
    ("breaker_a", "near"), [(33, "30 A and 35 A"), (55, "50 A and 60 A"), (40, "")]
)
def test_a_breaker_that_is_not_made_is_asked_about(breaker_a, near):
    """240.6(A)."""
    site = plain(of_kind("x", "main", (1, 3), "baseboard", breaker_a=breaker_a))
    if not near:
        assert "breaker-not-standard" not in codes(site)
        return
    finding = found(site, "breaker-not-standard")
    assert finding.section == "240.6(A)"
    assert near in finding.text


@pytest.mark.parametrize(("edition", "section"), [("2020", "210.19(A)(3)"), ("2023", "210.19(C)")])
def test_a_range_of_8_3_4_kw_has_40_a_or_more(edition, section):
    """210.19(A)(3), moved to 210.19(C): 10 kW is 33.3 A by demand, and 40 A all the same."""
    report = check_site(ranged(35), edition=edition)
    (finding,) = [f for f in report.findings if f.code == "device-below-load"]
    assert (finding.value, finding.limit, finding.section) == (40, 35, section)
    assert finding.mend == "Use a 40 A breaker with wire for it."
    assert "device-below-load" not in codes(ranged(40))


def test_10_copper_is_never_enough_for_a_range():
    """240.4(D)(7): 10 copper stands behind 30 A at most, whatever its terminals."""
    site = ranged(40, wire_size="10")
    wire = found(site, "branch-wire-small")
    assert (wire.severity, wire.value, wire.limit) == ("warning", 30, 40)
    assert "75" not in wire.mend
    breaker = found(site, "breaker-above-wire")
    assert "30 A is the most that protects it." in breaker.text
    assert breaker.mend == "Run 8 copper wire: its load asks for 40 A."


def test_the_words_and_the_mend_of_a_small_wire_agree():
    """240.4(B), 110.14(C)(1)(a): 8 copper is 40 A at 60 °C and 50 A at 75 °C."""
    charger = of_kind("car", "main", (1, 3), "car-charger-48", breaker_a=60)
    site = plain(charger.model_copy(update={"wire_size": "8"}))
    finding = found(site, "breaker-above-wire")
    assert "40 A is the most that protects it, 50 A where cable and terminals" in finding.text
    assert finding.mend == "Run 4 copper wire: its load asks for 60 A."
    heat = of_kind("heat", "main", (1, 3), "heat-strip", breaker_a=60, load_w=5000)
    lighter = found(plain(heat.model_copy(update={"wire_size": "8"})), "breaker-above-wire")
    assert lighter.limit == 40
    assert lighter.mend.startswith("Use a breaker of 40 A, 50 A where cable and terminals")


def kitchen(disposer_w):
    washer = of_kind("x", "main", (1,), "dishwasher", breaker_a=20, load_w=1200)
    (disposer,) = of_kind(
        "d", "main", (1,), "disposer", load_w=disposer_w, horsepower=0.5, power_factor=0.6
    ).appliances
    (dishes,) = washer.appliances
    dishes = dishes.model_copy(update={"power_factor": 0.98})
    return plain(washer.model_copy(update={"appliances": (dishes, disposer)}))


def test_the_largest_motor_beside_other_loads_counts_at_125_percent():
    """220.18(A), 220.11(A) from 2023: 10.2 A + 1.25 x 9.72 A = 22.4 A on 20 A."""
    finding = found(kitchen(700), "device-below-load")
    assert finding.value == pytest.approx(22.36, abs=0.01)
    assert finding.section == "220.11(A)"
    assert "circuit of its own" in finding.mend
    assert "25 A" not in finding.mend
    assert "device-below-load" not in codes(kitchen(500))


def test_no_larger_breaker_than_20_a_is_named_for_plugs():
    """210.21(B): outlets of 15 A and 20 A."""
    things = of_kind("x", "main", (1,), "plugs", breaker_a=20, load_w=2600)
    report = check_site(plain(things), recheck=True)
    (finding,) = [f for f in report.findings if f.code == "device-below-load"]
    assert "A breaker" not in finding.mend
    assert finding.recheck is None


def test_what_draws_most_is_tried_on_a_circuit_of_its_own():
    """220.18(A), 220.11(A): with the dishwasher gone the disposer is left alone."""
    (finding,) = [
        f for f in check_site(kitchen(700), recheck=True).findings if f.code == "device-below-load"
    ]
    assert finding.recheck.clears
    assert "on a new circuit of its own in space" in finding.recheck.change


@pytest.mark.parametrize("kind", KINDS)
def test_the_usual_breaker_of_a_kind_is_one_that_its_own_check_takes(kind):
    """What is drawn where nobody has looked is no larger than the code allows without a plate."""
    spaces = (1, 3) if KINDS[kind].appliance("x").volts == 240 else (1,)
    told = {f.code for f in check_site(plain(of_kind("c", "main", spaces, kind))).findings}
    assert not told & {
        "breaker-above-appliance",
        "breaker-not-standard",
        "cooling-device-large",
        "device-below-load",
        "motor-device-large",
        "plug-breaker-large",
    }


@pytest.mark.parametrize(
    ("heaters", "breaker_a", "told"),
    [(1, 40.0, False), (2, 30.0, False), (2, 35.0, True), (3, 40.0, True)],
)
def test_several_fixed_heaters_stand_behind_30_a_at_most(heaters, breaker_a, told):
    """424.4(A), from memory; one alone stands behind any size."""
    base = of_kind("heat", "main", (1, 3), "heat-strip", load_w=1500, breaker_a=breaker_a)
    each = tuple(
        KINDS["baseboard"].appliance(f"heater-{n}", name=f"Heater {n}", load_w=1500)
        for n in range(heaters)
    )
    site = plain(base.model_copy(update={"appliances": each}))
    assert ("breaker-above-appliance" in codes(site)) == told
    if told:
        one = found(site, "breaker-above-appliance")
        assert (one.severity, one.element_id, one.advised) == ("warning", "heat", None)
        assert (one.value, one.limit, one.unit) == (breaker_a, 30, "A")
        assert "Heater 0" in one.text
