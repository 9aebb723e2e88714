"""Panel, source, circuit and wiring checks: each finding, and the mend that clears it."""

from __future__ import annotations

import re

import pytest

from server.domain.behaviour import Zone
from server.domain.catalogue import KINDS
from server.domain.circuit import Circuit
from server.domain.edits import free_spaces
from server.domain.errors import InputError
from server.domain.supply import Segment, SolarArray
from server.rules.check import check_site
from server.rules.checks.circuits import full_load_a, needed_device_a
from server.rules.checks.panels import busbar
from server.rules.editions import EDITIONS, Amendment, Rulebook, rulebook
from tests import builders
from tests.builders import with_parts

RULES = rulebook("2023")


HOUSE = (Zone(id="house", name="House", loss_btuh_per_f=400),)


def codes(site, **changes):
    return {f.code for f in check_site(site, **changes).findings}


def found(site, code):
    return next(f for f in check_site(site).findings if f.code == code)


def of_kind(circuit_id, panel_id, spaces, kind, **changes):
    circuit_changes = {
        k: changes.pop(k) for k in ("breaker_a", "continuous", "full_rated") if k in changes
    }
    defaults = {
        "id": circuit_id,
        "name": f"Circuit {circuit_id}",
        "panel_id": panel_id,
        "poles": len(spaces),
        "spaces": spaces,
        "breaker_a": KINDS[kind].breaker_a,
        "continuous": KINDS[kind].continuous,
        "appliances": (KINDS[kind].appliance(f"{circuit_id}-load", **changes),),
    }
    return Circuit(**defaults | circuit_changes)


def plain(*circuits, **changes):
    return builders.normal_only_site(
        circuits=circuits, scenarios=(), floor_area_ft2=1500, zones=HOUSE, **changes
    )


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


def test_a_fully_rated_device_takes_100_percent():
    circuit = of_kind("car", "main", (1, 3), "car-charger-48", full_rated=True)
    assert needed_device_a(circuit, RULES) == pytest.approx(48, abs=0.01)


def test_plugs_and_lights_have_no_needed_device():
    assert needed_device_a(of_kind("p", "main", (1,), "plugs"), RULES) is None


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
    assert needed_device_a(circuit, RULES) == pytest.approx(8000 / 240)


@pytest.mark.parametrize(
    ("breaker_a", "severity"), [(20, None), (25, "note"), (30, "note"), (40, "warning")]
)
def test_a_motor_breaker_is_250_percent_and_400_for_a_hard_start(breaker_a, severity):
    """1 hp at 230 V: 8 A; 250 % is 20 A, 400 % 32 A, so 30 A at most."""
    site = plain(of_kind("well", "main", (1, 3), "well-pump", breaker_a=breaker_a))
    findings = [f for f in check_site(site).findings if f.code == "motor-device-large"]
    assert [f.severity for f in findings] == ([severity] if severity else [])


def test_motor_table_is_read_at_its_own_volts():
    assert full_load_a(1.0, 240) == 8.0
    assert full_load_a(0.5, 120) == 9.8
    assert full_load_a(0.9, 120) is None


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


def test_protection_is_named_for_moved_plug_circuits_until_the_breaker_has_it():
    base = builders.backed_up_site(scenarios=())
    lamp = of_kind("lamp", "backed", (9,), "lighting")
    site = with_parts(base, circuits=(*base.circuits, lamp))
    assert {"arc-fault-on-a-move", "ground-fault-on-a-move"} <= codes(site)
    dual = lamp.model_copy(update={"breaker_type": "dual_function"})
    assert "arc-fault-on-a-move" not in codes(with_parts(base, circuits=(*base.circuits, dual)))


# --- Panels -----------------------------------------------------------------------------------


def solar_site(*, bus_a=200, main_a=200, breaker_a=40, ac_kw=7.6, spaces=(2, 4), loads=9):
    sun = SolarArray(
        id="sun", name="Solar", panel_id="main", dc_kw=9, ac_kw=ac_kw, breaker_a=breaker_a,
        spaces=spaces,
    )  # fmt: skip
    panel = builders.panel("main", rating_a=bus_a, main_a=main_a, spaces=40, neutral_bonded=True)
    circuits = tuple(
        builders.circuit(f"c{i}", "main", 4 * i + 1, 4 * i + 3, load_w=100, breaker_a=50)
        for i in range(loads)
    )
    return builders.normal_only_site(
        panels=(panel,), circuits=circuits, solar=(sun,), scenarios=(), floor_area_ft2=1500
    )


def test_solar_at_the_far_end_clears_the_busbar():
    """7.6 kW is 31.7 A; x 1.25 + 200 = 239.6 A: under 120 % of 200 A, at the far end only."""
    near = solar_site()
    finding = found(near, "solar-busbar")
    assert finding.value == pytest.approx(239.58, abs=0.01)
    assert finding.limit == 240
    assert "39 or 40" in finding.mend
    assert "solar-busbar" not in codes(solar_site(spaces=(38, 40)))


def test_a_smaller_main_clears_the_busbar_where_the_sum_is_too_large():
    large = solar_site(ac_kw=11.4, breaker_a=60, spaces=(38, 40))
    assert "A main of 181 A or less" in found(large, "solar-busbar").mend
    mended = solar_site(ac_kw=11.4, breaker_a=60, spaces=(38, 40), main_a=175)
    assert "solar-busbar" not in codes(mended)


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


# --- Sources ----------------------------------------------------------------------------------


def test_a_switch_on_the_service_must_be_service_rated():
    base = builders.whole_house_site(scenarios=())
    bare = tuple(t.model_copy(update={"service_rated": False}) for t in base.transfer_switches)
    assert "switch-not-service-rated" in codes(with_parts(base, transfer_switches=bare))
    assert "switch-not-service-rated" not in codes(base)


def test_generator_conductors_need_115_percent_or_a_device_at_the_set():
    base = builders.backed_up_site(scenarios=())

    def wired(ampacity_a, breaker_a):
        return with_parts(
            base,
            feeders=tuple(
                f.model_copy(update={"ampacity_a": ampacity_a, "breaker_a": breaker_a})
                if f.from_id == "set"
                else f
                for f in base.feeders
            ),
        )

    finding = found(wired(85, 90), "generator-conductors")
    assert finding.limit == pytest.approx(1.15 * 20_000 / 240)
    assert "generator-conductors" not in codes(wired(100, None))
    assert "generator-conductors" not in codes(wired(85, 80))


def test_a_device_above_the_stated_ampacity_is_found():
    base = builders.backed_up_site(scenarios=())

    def wired(ampacity_a):
        return with_parts(
            base,
            feeders=tuple(
                f.model_copy(update={"ampacity_a": ampacity_a}) if f.to_input == "utility" else f
                for f in base.feeders
            ),
        )

    assert found(wired(85), "device-above-ampacity").limit == 90
    assert "device-above-ampacity" not in codes(wired(95))


def test_a_feeder_without_a_device_is_held_against_the_one_ahead():
    base = builders.normal_only_site(scenarios=())
    (grid,) = base.feeders

    def stated(ampacity_a):
        return with_parts(base, feeders=(grid.model_copy(update={"ampacity_a": ampacity_a}),))

    finding = found(stated(100), "device-above-ampacity")
    assert (finding.severity, finding.value, finding.limit) == ("blocking", 200, 100)
    assert "device-above-ampacity" not in codes(stated(0.83 * 200))
    assert "device-above-ampacity" in codes(stated(165))


def test_an_automatic_switch_needs_a_set_for_all_that_transfers():
    base = builders.backed_up_site(scenarios=(), floor_area_ft2=1200, zones=HOUSE)
    heavy = of_kind("tank", "backed", (9, 11), "heat-strip")
    strip = of_kind("strip", "backed", (13, 15), "heat-strip")
    site = with_parts(base, circuits=(*base.circuits, heavy, strip))
    over = [
        f
        for f in check_site(site).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    ]
    assert over
    assert over[0].section == "702.4"
    managed = tuple(
        c.model_copy(update={"outage_role": "managed"}) if c.id in ("strip", "tank") else c
        for c in site.circuits
    )
    assert not [
        f
        for f in check_site(with_parts(site, circuits=managed)).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    ]


def test_signs_and_shutdown_are_noted():
    assert {"standby-sign", "generator-shutdown"} <= codes(builders.backed_up_site())
    assert {"inlet-sign", "backfed-fastened"} <= codes(builders.interlock_site())


@pytest.mark.parametrize(
    ("edition", "asked"), [("2017", False), ("2020", True), ("2023", True), ("2026", True)]
)
def test_emergency_disconnect_and_surge_protection_from_2020(edition, asked):
    wanted = {"emergency-disconnect", "surge-protection"}
    assert (wanted <= codes(builders.normal_only_site(), edition=edition)) == asked


def test_a_service_under_100_a_is_found():
    site = builders.normal_only_site(services=(builders.service(main_a=60),))
    assert found(site, "service-under-100").limit == 100


# --- Wiring -----------------------------------------------------------------------------------


def wired_shed(size, *, metal="aluminum", run_ft=280.0, breaker_a=100, load_w=20_000, **segment):
    base = builders.backed_up_site(scenarios=(), floor_area_ft2=1200, zones=HOUSE)
    part = Segment(run_ft=run_ft, size=size, metal=metal, **segment)
    feeders = tuple(
        f.model_copy(update={"segments": (part,), "breaker_a": breaker_a})
        if f.to_input == "utility"
        else f
        for f in base.feeders
    )
    kiln = of_kind("kiln", "backed", (9, 11), "heat-strip", load_w=load_w, breaker_a=100)
    return with_parts(base, feeders=feeders, circuits=(*base.circuits, kiln))


def test_small_wire_is_found_and_the_advice_clears_it():
    site = wired_shed("4")
    finding = found(site, "wire-too-small")
    report = check_site(site)
    advice = next(w.advice for w in report.wiring if w.feeder_id == finding.element_id)
    assert advice.size in finding.mend
    mended = wired_shed(advice.size)
    assert not {"wire-too-small", "drop-above-advice"} & codes(mended)


def test_wire_under_its_device_blocks_and_says_so_to_one_decimal():
    """4 aluminum is 65 A at 75 °C: 100 A is too large for it, 70 A is the next size up."""
    assert found(wired_shed("4"), "wire-too-small").severity == "blocking"
    light = found(wired_shed("4", breaker_a=70), "wire-too-small")
    assert light.severity == "warning"
    for number in re.findall(r"[\d.]+ A", light.text):
        assert len(number.removesuffix(" A").partition(".")[2]) <= 1


def test_long_thin_wire_drops_too_much():
    """1/0 aluminum at 75 °C carries it, but over 280 ft it drops more than 3 %."""
    finding = found(wired_shed("1/0", load_w=19_000), "drop-above-advice")
    assert finding.unit == "%"
    assert finding.value > 3 == finding.limit


def test_an_undersized_ground_and_a_full_raceway_are_found():
    site = wired_shed("1/0", ground_size="10", raceway="PVC", raceway_trade_size="1")
    assert {"ground-too-small", "raceway-too-full"} <= codes(site)
    good = wired_shed("1/0", ground_size="6", raceway="PVC", raceway_trade_size="2")
    assert not {"ground-too-small", "raceway-too-full"} & codes(good)


def wiring_of(site, feeder_id="main-ats-utility"):
    return next(w for w in check_site(site).wiring if w.feeder_id == feeder_id)


@pytest.mark.parametrize(("size", "ground"), [("4", "10"), ("2", "8")])
def test_a_ground_grows_with_wire_larger_than_the_load_asks_for(size, ground):
    """250.122(B): 60 A needs 4 copper; on 2 it is 10,380 × 66,360 / 41,740 = 16,503 cmil."""
    site = wired_shed(size, metal="copper", breaker_a=60, ground_size="10")
    (segment,) = wiring_of(site).segments
    assert segment.ground_size == ground
    assert segment.ground_enough == (ground == "10")
    assert ("ground-too-small" in codes(site)) == (ground == "8")


def test_service_conductors_have_an_electrode_conductor_and_no_equipment_ground():
    site = builders.normal_only_site(scenarios=(), floor_area_ft2=1500, zones=HOUSE)
    part = Segment(run_ft=40, size="4/0", metal="aluminum", ground_size="14")
    site = with_parts(
        site, feeders=tuple(f.model_copy(update={"segments": (part,)}) for f in site.feeders)
    )
    one = wiring_of(site, site.feeders[0].id)
    assert site.feeders[0].from_id in {s.id for s in site.services}
    assert (one.segments[0].ground_size, one.segments[0].ground_enough) == ("", None)
    assert one.advice.electrode_size is not None
    assert wiring_of(wired_shed("1/0")).advice.electrode_size is None


def test_terminals_are_asked_where_75_degrees_decides():
    site = wired_shed("1", load_w=19_000, run_ft=20)
    assert "terminals-asked" in codes(site)
    assert "wire-too-small" not in codes(site)


def test_path_drop_adds_the_feeders_ahead():
    report = check_site(wired_shed("1/0"))
    one = next(w for w in report.wiring if w.feeder_id == "main-ats-utility")
    assert one.path_drop_share == pytest.approx(one.drop.dc_share)
    assert one.start_drop is None


# --- The whole --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", list(builders.EVERY_SITE))
@pytest.mark.parametrize("edition", EDITIONS)
def test_every_small_site_is_checked_in_every_edition(name, edition):
    report = check_site(builders.EVERY_SITE[name](), edition=edition)
    assert report.edition == edition
    assert report.provisional == (edition == "2026")
    order = [f.severity for f in report.findings]
    assert order == sorted(order, key=("blocking", "warning", "note").index)
    for finding in report.findings:
        assert finding.text
        assert finding.mend
    assert any("Floor area" in q for q in report.missing)


def test_a_local_amendment_changes_a_figure_and_says_why():
    change = Amendment("lighting_va_per_ft2", 4, "County ordinance 12-3")
    site = builders.normal_only_site(floor_area_ft2=1000)
    sheet = check_site(site, amendments=(change,)).demand[0].sheet("standard")
    line = sheet.lines[0]
    assert line.connected_va == 4000
    assert "County ordinance 12-3" in line.cite.section
    assert line.cite.status == "amended"


@pytest.mark.parametrize(
    "change",
    [
        Amendment("no_such_figure", 1, "x"),
        Amendment("lighting_tiers", 1, "x"),
        Amendment("lighting_va_per_ft2", -1, "x"),
        Amendment("lighting_va_per_ft2", 4, ""),
    ],
)
def test_an_amendment_that_cannot_stand_is_refused(change):
    with pytest.raises(InputError) as error:
        Rulebook("2023", (change,))
    assert error.value.field == "amendments"


def test_an_unknown_edition_is_refused():
    with pytest.raises(InputError, match="2017, 2020, 2023, 2026"):
        rulebook("1999")


def test_a_report_fails_on_a_warning_and_not_on_notes():
    assert check_site(solar_site()).fails
    calm = check_site(solar_site(spaces=(38, 40)))
    assert calm.findings
    assert not calm.fails
    assert calm.about("main")
