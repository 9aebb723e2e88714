"""Panel, source, circuit and wiring checks: each finding, and the mend that clears it."""

from __future__ import annotations

import re

import pytest

from server.domain.errors import InputError
from server.domain.supply import EnergyGroup, Segment
from server.rules.check import check_site
from server.rules.editions import EDITIONS, Amendment, Rulebook, rulebook
from server.rules.wiring.electrodes import copper_at_disconnect, copper_to_electrodes
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, RULES, codes, found, of_kind, solar_site, wired_shed

# --- Sources ----------------------------------------------------------------------------------


def test_a_switch_on_the_service_must_be_service_rated():
    base = builders.whole_house_site(scenarios=())
    bare = tuple(t.model_copy(update={"service_rated": False}) for t in base.transfer_switches)
    assert "switch-not-service-rated" in codes(with_parts(base, transfer_switches=bare))
    assert "switch-not-service-rated" not in codes(base)
    nowhere = tuple(p.model_copy(update={"neutral_bonded": False}) for p in base.panels)
    unbonded = with_parts(base, transfer_switches=bare, panels=nowhere)
    assert {"switch-not-service-rated", "no-neutral-bond"} <= codes(unbonded, recheck=True)
    panels = tuple(p.model_copy(update={"neutral_bonded": True}) for p in base.panels)
    report = check_site(with_parts(base, transfer_switches=bare, panels=panels), recheck=True)
    found_one = next(f for f in report.findings if f.code == "switch-not-service-rated")
    assert found_one.recheck.clears
    assert not found_one.recheck.brings
    assert "neutral and ground kept apart in Panel main" in found_one.recheck.change


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
    assert "an 80 A breaker or a smaller one at the set" in finding.mend
    assert "generator-conductors" not in codes(wired(100, None))
    assert "generator-conductors" not in codes(wired(85, 80))


@pytest.mark.parametrize("derived", [True, False])
def test_a_set_that_is_a_system_of_its_own_is_asked_for_its_electrode(derived):
    """250.30(A), from memory: where the switch opens the neutral; else the service's serves."""
    base = builders.backed_up_site(scenarios=())
    switches = tuple(
        t.model_copy(update={"poles": 3 if derived else 2, "switches_neutral": derived})
        for t in base.transfer_switches
    )
    assert ("derived-system" in codes(with_parts(base, transfer_switches=switches))) is derived


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
    role = {"outage_role": "managed", "energy_group_id": "m"}
    managed = tuple(
        c.model_copy(update=role) if c.id in ("strip", "tank") else c for c in site.circuits
    )
    manager = EnergyGroup(id="m", name="Manager", off_on_generator=True)
    assert not [
        f
        for f in check_site(with_parts(site, circuits=managed, energy_groups=(manager,))).findings
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


def test_a_ground_without_a_breaker_names_none():
    """A set and its run without a breaker: what its rating asks for decides."""
    base = builders.backed_up_site(scenarios=())
    part = Segment(run_ft=60, size="3", ground_size="14")
    site = with_parts(
        base,
        generators=tuple(g.model_copy(update={"breaker_a": None}) for g in base.generators),
        feeders=tuple(
            f.model_copy(update={"breaker_a": None, "segments": (part,)})
            if f.to_input == "generator"
            else f
            for f in base.feeders
        ),
    )
    text = found(site, "ground-too-small").text
    assert "; the breaker that its load would take and its wire ask for" in text
    assert "its breaker" not in text


def test_a_ground_is_held_in_its_own_metal_and_says_what_it_works_out_to():
    """250.122(B): 60 A needs 4 aluminum; on 2 it is 16,510 x 66,360 / 41,740 = 26,248 cmil.

    6 has 26,240, so 4 aluminum; 8 copper would be 10,380 x 1.59 = 16,503, and 8 has 16,510.
    """
    wire = {"metal": "aluminum", "breaker_a": 60, "load_w": 4_000, "ground_size": "8"}
    aluminum = wired_shed("2", **wire, ground_metal="aluminum")
    (segment,) = wiring_of(aluminum).segments
    assert segment.ground_size == "4"
    finding = found(aluminum, "ground-too-small")
    assert "is 8 aluminum; its breaker and its wire ask for 4 aluminum" in finding.text
    assert "26,248 circular mils" in finding.text
    assert "6 aluminum falls short of that by 0.03 %: ask the authority" in finding.text
    assert "a ground of 4 aluminum" in finding.mend
    copper = wired_shed("2", **wire)
    assert wiring_of(copper).segments[0].ground_size == "8"
    assert "ground-too-small" not in codes(copper)


def service_of(*parts: Segment):
    """A house whose service conductors are of these parts."""
    site = builders.normal_only_site(scenarios=(), floor_area_ft2=1500, zones=HOUSE)
    feeders = tuple(f.model_copy(update={"segments": parts}) for f in site.feeders)
    return with_parts(site, feeders=feeders)


def test_service_conductors_have_an_electrode_conductor_and_no_equipment_ground():
    site = service_of(Segment(run_ft=40, size="4/0", metal="aluminum", ground_size="14"))
    one = wiring_of(site, site.feeders[0].id)
    assert site.feeders[0].from_id in {s.id for s in site.services}
    assert (one.segments[0].ground_size, one.segments[0].ground_enough) == ("", None)
    assert copper_to_electrodes(one, RULES) == "4"
    assert copper_to_electrodes(wiring_of(wired_shed("1/0")), RULES) is None


@pytest.mark.parametrize(
    ("laid", "copper"),
    [
        (["2 copper"], "8"),
        (["1 copper"], "6"),
        (["2/0 aluminum"], "6"),
        (["3/0 copper"], "4"),
        (["4/0 copper"], "2"),
        (["350 copper"], "2"),
        (["350 aluminum"], "2"),
        (["400 copper"], "1/0"),
        (["1 copper", "4/0 aluminum"], "4"),
    ],
)
def test_the_electrode_conductor_goes_by_the_wire_that_lies_there(laid, copper):
    """Table 250.66 (2023): the largest ungrounded conductor installed, not the least that does."""
    parts = [Segment(run_ft=40, size=one.split()[0], metal=one.split()[1]) for one in laid]
    site = service_of(*parts)
    assert copper_to_electrodes(wiring_of(site, site.feeders[0].id), RULES) == copper


@pytest.mark.parametrize(
    ("laid", "copper"), [("2/0 aluminum", "6"), ("4/0 aluminum", "4"), ("4/0 copper", "2")]
)
def test_behind_a_disconnect_the_electrodes_go_by_wire_as_large_ahead_of_it(laid, copper):
    """Table 250.66 (2023), from memory; the run behind the disconnect is a feeder."""
    size, metal = laid.split()
    site = service_of(Segment(run_ft=40, size=size, metal=metal))
    ahead = tuple(f.model_copy(update={"breaker_a": 150}) for f in site.feeders)
    site = with_parts(site, feeders=ahead)
    wiring = check_site(site).wiring
    assert copper_at_disconnect(site, wiring, RULES) == {site.feeders[0].id: copper}
    assert copper_to_electrodes(wiring[0], RULES) is None
    plain_site = wired_shed("1/0")
    assert copper_at_disconnect(plain_site, check_site(plain_site).wiring, RULES) == {}


def test_the_electrode_conductor_of_a_wire_not_told_goes_by_the_smallest_that_would_do():
    site = service_of()
    one = wiring_of(site, site.feeders[0].id)
    assert one.advice.size == "2/0"
    assert copper_to_electrodes(one, RULES) == "4"


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
    ("change", "field"),
    [
        (Amendment("no_such_figure", 1, "x"), "figure"),
        (Amendment("lighting_tiers", 1, "x"), "figure"),
        (Amendment("lighting_va_per_ft2", -1, "x"), "value"),
        (Amendment("terminal_low_c", 62, "x"), "value"),
        (Amendment("lighting_va_per_ft2", 4, ""), "reason"),
    ],
)
def test_an_amendment_that_cannot_stand_is_refused_by_its_field(change, field):
    with pytest.raises(InputError) as error:
        Rulebook("2023", (change,))
    assert error.value.field == field


def test_an_unknown_edition_is_refused():
    with pytest.raises(InputError, match="2017, 2020, 2023, 2026"):
        rulebook("1999")


def test_a_report_fails_on_a_warning_and_not_on_notes():
    assert check_site(solar_site()).fails
    calm = check_site(solar_site(spaces=(38, 40)))
    assert calm.findings
    assert not calm.fails
    assert calm.about("main")


@pytest.mark.parametrize(
    ("breaker_a", "wire"),
    [
        (100, "4/0 aluminum"),
        (450, "2 sets of 250 aluminum"),
        (600, "2 sets of 400 aluminum"),
        (1200, "4 sets of 500 aluminum"),
        (1600, "wires in parallel"),
    ],
)
def test_the_wire_that_is_named_may_stand_behind_the_device_that_is_there(breaker_a, wire):
    """Table 310.16 at 75 °C: 2 × 205 A = 410 A behind 450 A and 2 × 270 A = 540 A behind 600 A,
    each the next size up; above 800 A all of it is carried: 3 × 385 A are below 1,200 A, 4 × 310 A
    are not. Above 1,200 A no ground is known. Wire for the load alone would be too small again. The
    wire that lies is of 65 A: no less load makes it right behind so large a device (240.4).
    """
    finding = found(wired_shed("4", breaker_a=breaker_a), "wire-too-small")
    less = "bring the load down to 65 A and use a breaker of 70 A"
    assert finding.mend == f"Use {wire}, or {less}."


def test_sets_that_are_named_are_laid_when_the_mend_is_tried():
    site = wired_shed("4", breaker_a=600)
    report = check_site(site, recheck=True)
    (finding,) = (f for f in report.findings if f.code == "wire-too-small")
    assert finding.recheck.clears
    assert finding.recheck.change.startswith("2 sets of 400 aluminum")
