"""Panel, source, circuit and wiring checks: each finding, and the mend that clears it."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.edits import free_spaces
from server.domain.supply import Battery
from server.rules.check import check_site
from server.rules.checks.asked import needed_device_a
from server.rules.checks.busbar import Busbar, busbar
from server.rules.checks.drawn import full_load_a
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, codes, found, of_kind, plain, solar_site

# --- Circuits ---------------------------------------------------------------------------------


def test_a_48_a_charger_needs_60_a():
    small = plain(of_kind("car", "main", (1, 3), "car-charger-48", breaker_a=50))
    finding = found(small, "device-below-load")
    assert finding.value == pytest.approx(60, abs=0.01)
    assert (finding.limit, finding.severity, finding.section) == (50, "warning", "625.41")
    assert "60 A breaker" in finding.mend
    assert "device-below-load" not in codes(plain(of_kind("car", "main", (1, 3), "car-charger-48")))


@pytest.mark.parametrize(
    ("kind", "breaker_a", "fits"),
    [("water-heater", 25, True), ("water-heater", 20, False), ("heat-strip", 60, True),
     ("heat-strip", 50, False), ("dryer", 30, True), ("baseboard", 15, True)],
)  # fmt: skip
def test_heaters_are_taken_at_125_percent(kind, breaker_a, fits):
    site = plain(of_kind("x", "main", (1, 3), kind, breaker_a=breaker_a))
    assert ("device-below-load" not in codes(site)) == fits


@pytest.mark.parametrize(
    ("kind", "asked_a"),
    [("car-charger-48", 60.0), ("water-heater", 23.44), ("baseboard", None)],
)
def test_a_fully_rated_device_takes_off_the_125_percent_of_continuous_loads_alone(kind, asked_a):
    """The exception is of 210.20(A): 625.41, 422.13 and 424.4(B) have none."""
    plain_one = of_kind("x", "main", (1, 3), kind, continuous=True)
    full = plain_one.model_copy(update={"full_rated": True})
    found_a = needed_device_a(full, 240.0, RULES)
    if asked_a is None:
        assert found_a == needed_device_a(plain_one, 240.0, RULES)
    else:
        assert found_a == pytest.approx(asked_a, abs=0.01)


def test_plugs_and_lights_have_no_needed_device():
    assert needed_device_a(of_kind("p", "main", (1,), "plugs"), 240.0, RULES) is None


def test_a_range_is_taken_by_the_cooking_table():
    circuit = builders.circuit("r", "main", 1, 3).model_copy(
        update={
            "appliances": (
                KINDS["range-oven"].appliance("oven"),
                KINDS["range-burners"].appliance("top"),
            ),
            "breaker_a": 40,
        }
    )
    # 12 kW or less: 8 kW of demand, 33.3 A; 210.19(C) asks for 40 A from 8 3/4 kW up.
    assert needed_device_a(circuit, 240.0, RULES) == 40
    small = circuit.appliances[0].model_copy(update={"load_w": 6000})
    light = circuit.model_copy(update={"appliances": (small,)})
    assert needed_device_a(light, 240.0, RULES) == pytest.approx(6000 / 240)


@pytest.mark.parametrize(
    ("breaker_a", "severity"), [(20, None), (25, "note"), (30, "note"), (40, "warning")]
)
def test_a_motor_breaker_is_250_percent_and_400_for_a_hard_start(breaker_a, severity):
    """1 hp at 230 V: 8 A; 250 % is 20 A, 400 % 32 A, so 30 A at most."""
    site = plain(of_kind("well", "main", (1, 3), "well-pump", breaker_a=breaker_a))
    findings = [f for f in check_site(site).findings if f.code == "motor-device-large"]
    assert [f.severity for f in findings] == ([severity] if severity else [])


def test_a_breaker_past_one_figure_that_is_both_names_it_once():
    """1/2 hp at 230 V: 4.9 A; 250 % is 12.3 A, so 15 A, and 400 % 19.6 A, so 15 A too."""
    circuit = of_kind("well", "main", (1, 3), "well-pump", breaker_a=20)
    small = circuit.appliances[0].model_copy(update={"horsepower": 0.5})
    site = plain(circuit.model_copy(update={"appliances": (small,)}))
    (found,) = (f for f in check_site(site).findings if f.code == "motor-device-large")
    assert found.text.count("15 A") == 1
    assert found.text.endswith("is above 15 A, the most there is for a hard start too.")


def test_motor_table_is_read_at_its_own_volts():
    """Table 430.248 (2023): 1 hp takes 8.0 A at 230 V and 8.8 A at 208 V; 1/2 hp 9.8 at 115 V."""
    (pump,) = of_kind("well", "main", (1, 3), "well-pump").appliances

    def motor(horsepower: float, volts: int):
        return pump.model_copy(update={"horsepower": horsepower, "volts": volts})

    assert full_load_a(motor(1.0, 240), 240.0) == 8.0
    assert full_load_a(motor(1.0, 240), 208.0) == 8.8
    assert full_load_a(motor(0.5, 120), 208.0) == 9.8
    # 430.6(A)(1): between 13.8 A at 3/4 hp and 16 A at 1 hp; below 1/6 hp there is no row.
    assert full_load_a(motor(0.9, 120), 240.0) == pytest.approx(13.8 + 0.6 * 2.2)
    assert full_load_a(motor(0.1, 120), 240.0) is None


def test_cooling_plates_are_asked_for():
    assert "cooling-plate-asked" in codes(plain(of_kind("ac", "main", (1, 3), "central-air")))
    big = plain(of_kind("ac", "main", (1, 3), "central-air", breaker_a=60))
    assert found(big, "cooling-device-large").limit == pytest.approx(2.25 * 3500 / 0.95 / 240)


def test_a_shared_neutral_needs_neighbours_for_its_tie():
    def pair(second):
        one = builders.circuit("a", "main", 1, load_w=600, multiwire_partner_id="b")
        other = builders.circuit("b", "main", second, load_w=600, multiwire_partner_id="a")
        return plain(one, other)

    assert "multiwire-not-adjacent" in codes(pair(7))
    assert "multiwire-not-adjacent" not in codes(pair(3))
    assert "multiwire-tie-asked" not in codes(pair(7))
    tie = found(pair(3), "multiwire-tie-asked")
    assert (tie.severity, tie.section) == ("note", "210.4(B)")


def test_protection_is_named_for_moved_plug_circuits_until_the_breaker_has_it():
    base = builders.backed_up_site(scenarios=())
    lamp = of_kind("lamp", "backed", (9,), "kitchen-plugs")
    site = with_parts(base, circuits=(*base.circuits, lamp))
    assert {"arc-fault-on-a-move", "ground-fault-on-a-move"} <= codes(site)
    dual = lamp.model_copy(update={"breaker_type": "dual_function"})
    assert "arc-fault-on-a-move" not in codes(with_parts(base, circuits=(*base.circuits, dual)))


# --- Panels -----------------------------------------------------------------------------------


def test_solar_at_the_far_end_clears_the_busbar():
    """7.6 kW is 31.7 A; x 1.25 + 200 = 239.6 A: under 120 % of 200 A, at the far end only. Near the
    main the 200 A of the bus is what fails."""
    near = solar_site()
    finding = found(near, "solar-busbar")
    assert finding.value == pytest.approx(239.58, abs=0.01)
    assert finding.limit == 200
    assert finding.section == "705.12(B)(1)"
    assert "or 240 A with solar at the far end, where it is not." in finding.text
    assert "39 or 40" in finding.mend
    assert "solar-busbar" not in codes(solar_site(spaces=(38, 40)))


def test_a_smaller_main_clears_the_busbar_where_the_sum_is_too_large():
    large = solar_site(ac_kw=11.4, breaker_a=60, spaces=(38, 40))
    finding = found(large, "solar-busbar")
    # 240 A less 59.4 A leaves 180.6 A: no more than 180 A.
    assert "A main of 180 A or less (175 A is a standard size)" in finding.mend
    assert (finding.limit, finding.section) == (240, "705.12(B)(2)")
    assert "with solar at the far end. Its other breakers add up to" in finding.text
    mended = solar_site(ac_kw=11.4, breaker_a=60, spaces=(38, 40), main_a=175)
    assert "solar-busbar" not in codes(mended)


def test_no_main_is_offered_that_the_panels_own_load_does_not_fit():
    """60,000 W more, whatever method counts them, are above the 100 A that the bus stands."""
    base = solar_site(bus_a=125, main_a=125, breaker_a=30, ac_kw=4.8)
    mend = found(base, "solar-busbar").mend
    assert mend.startswith("Move the breaker that solar comes in by")
    assert "with its label, or use a main of 100 A wherever it stands." in mend
    heavy = tuple(
        builders.circuit(f"h{n}", "main", 2 + 4 * n, 4 + 4 * n, load_w=30_000, breaker_a=80)
        for n in range(2, 4)
    )
    loaded = with_parts(base, circuits=(*base.circuits, *heavy))
    mend = found(loaded, "solar-busbar").mend
    assert "wherever it stands" not in mend
    assert "last spaces (39 or 40)" in mend


def test_each_way_of_the_busbar_holds_up_to_its_limit():
    """705.12(B): the sum shall not exceed the rating, 120 % of it, or the breakers the rating."""

    def bus(*, solar_a, main_a=200.0, breakers_a=900.0, end=True, plain_share=1.0):
        return Busbar(solar_a, 0.0, main_a, 200.0, breakers_a, end, plain_share, 1.2)

    assert bus(solar_a=40).within_far_share
    assert not bus(solar_a=40.1).within_far_share
    assert bus(solar_a=50, main_a=150).plain
    assert not bus(solar_a=50.1, main_a=150).plain
    assert not bus(solar_a=50, main_a=150, plain_share=0.5).plain
    assert bus(solar_a=90, breakers_a=200).by_sum
    assert not bus(solar_a=90, breakers_a=200.1).by_sum
    assert bus(solar_a=225).largest_main_a(far_end=True) == 15
    assert bus(solar_a=226).largest_main_a(far_end=True) is None


def test_a_battery_counts_on_the_busbar_beside_solar():
    """705.12(B): 125 % of the output of the power sources, all of them. 7.6 kW and 11.4 kW are
    39.6 A + 59.4 A; with the main 299.0 A, above the 240 A of a 200 A bus."""
    pack = Battery(id="pack", name="Battery", panel_id="main", usable_kwh=13, inverter_kw=11.4)
    sunny = solar_site(spaces=(38, 40))
    assert "solar-busbar" not in codes(sunny)
    both = found(with_parts(sunny, batteries=(pack,)), "solar-busbar")
    assert (both.severity, both.limit) == ("warning", 240)
    assert both.value == pytest.approx(298.96, abs=0.01)
    assert "Solar and battery at 125 %, 39.6 A + 59.4 A = 99.0 A," in both.text
    alone = found(with_parts(sunny, batteries=(pack,), solar=()), "solar-busbar")
    assert alone.text.startswith("The battery at 125 %, 59.4 A, and the 200 A main")


def test_a_battery_whose_breaker_s_place_is_not_read_is_asked_about():
    """4.8 kW is 25 A at 125 %: with the 200 A main it stands at the far end, of which nothing is
    told."""
    pack = Battery(id="pack", name="Battery", panel_id="main", usable_kwh=13, inverter_kw=4.8)
    asked = found(with_parts(solar_site(), batteries=(pack,), solar=()), "solar-busbar")
    assert (asked.severity, asked.value) == ("note", pytest.approx(225))
    assert "its place was not read" in asked.text
    assert asked.mend.startswith("See that the breaker that the battery comes in by is in the last")


def test_few_breakers_clear_the_busbar_by_their_sum():
    few = solar_site(loads=3)
    assert busbar(few, few.panel("main"), RULES).by_sum
    assert "solar-busbar" not in codes(few)


@pytest.mark.parametrize(("ac_kw", "spaces", "clear"), [
    (15, (2, 4), False), (15, (38, 40), False), (7.6, (2, 4), False), (7.6, (38, 40), True),
])  # fmt: skip
def test_solar_in_a_subpanel_counts_on_the_busbar_of_the_main_panel(ac_kw, spaces, clear):
    """15 kW is 62.5 A; x 1.25 + 200 = 278.1 A on a bus of 200 A."""
    base = solar_site()
    sub = builders.panel("barn", rating_a=200, main_a=100, spaces=20)
    sun = base.solar[0].model_copy(update={"panel_id": "barn", "ac_kw": ac_kw, "breaker_a": 80})
    feed = builders.feeder("main", "barn", breaker_a=100, spaces=spaces)
    site = with_parts(base, panels=(*base.panels, sub), feeders=(*base.feeders, feed), solar=(sun,))
    findings = [f for f in check_site(site).findings if f.code == "solar-busbar"]
    assert [f.element_id for f in findings] == ([] if clear else ["main"])
    if ac_kw == 15:
        assert findings[0].value == pytest.approx(278.125)


def test_a_small_solar_breaker_is_found():
    assert found(solar_site(breaker_a=30), "solar-breaker-small").limit == pytest.approx(
        39.58, abs=0.01
    )
    assert "solar-breaker-small" not in codes(solar_site(breaker_a=40))


def test_40_spaces_hold_20_two_pole_breakers():
    """Common practice, no source."""
    panel = builders.panel("main", main_a=200, spaces=40, neutral_bonded=True)
    spaces = [(n, n + 2) for start in (1, 2) for n in range(start, 40, 4)]
    circuits = tuple(
        builders.circuit(f"c{i}", "main", *pair, load_w=100) for i, pair in enumerate(spaces)
    )
    site = builders.normal_only_site(panels=(panel,), circuits=circuits, scenarios=())
    assert len(circuits) == 20
    assert free_spaces(site, panel) == set()
    assert found(site, "few-spare-spaces").value == 0


def test_a_200_a_main_with_two_100_a_feeds_is_judged_by_load():
    """Common practice, no source: 200 A of feeds and 150 A of circuits behind 200 A is no fault."""
    base = builders.double_throw_site(scenarios=(), floor_area_ft2=1500)
    feeders = tuple(
        f.model_copy(update={"breaker_a": 100}) if f.from_id == "main" else f for f in base.feeders
    )
    throws = tuple(d.model_copy(update={"rating_a": 100}) for d in base.double_throws)
    site = with_parts(base, feeders=feeders, double_throws=throws)
    assert sum(f.breaker_a for f in site.feeders if f.from_id == "main") == 200
    assert "demand-above-rating" not in codes(site)
    heavy = builders.circuit("g", "main", 13, 15, load_w=120_000, breaker_a=200)
    assert "demand-above-rating" in codes(with_parts(site, circuits=(*site.circuits, heavy)))


def test_a_detached_building_keeps_neutral_and_ground_apart():
    base = builders.backed_up_site(scenarios=())

    def shed(bonded):
        panels = tuple(
            p.model_copy(update={"detached_building": True, "neutral_bonded": bonded})
            if p.id == "backed"
            else p
            for p in base.panels
        )
        return with_parts(base, panels=panels)

    assert "detached-neutral-bonded" in codes(shed(bonded=True))
    assert "detached-neutral-bonded" not in codes(shed(bonded=False))
    assert "detached-building" in codes(shed(bonded=False))
