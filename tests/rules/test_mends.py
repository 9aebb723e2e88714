"""Mends worked into a site: each clears what it was offered for, or says what still stands."""

from __future__ import annotations

import pytest

from server.domain.finding import Finding
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.checks.loads import over_by_a
from server.rules.demand.report import demand_of
from server.rules.editions import site_rules
from server.rules.mends.recheck import OF_THE_MEND, compared, offers
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import HOUSE, of_kind, plain, solar_site, wired_shed

DEMO_FILES = sorted(DEMOS.glob("*.json"))
HONEST = {
    "bungalow": "multiwire-one-pole-ground-fault",
    "flower-farm": "demand-above-rating",
    "two-family": "solar-busbar",
}


def tried(site, code, **changes):
    """The finding of a code with its mend re-checked."""
    return next(f for f in check_site(site, recheck=True, **changes).findings if f.code == code)


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: p.stem)
def test_a_demo_has_an_honest_finding_that_its_mend_clears_with_nothing_worse(path):
    site = read_site_file(path.read_bytes())
    before = check_site(site)
    rules = site_rules(site)[0]
    mine = [f for f in before.findings if f.code == HONEST[path.stem]]
    assert mine
    for finding in mine:
        assert finding.severity == "warning"
        offer = offers(site, finding, rules)[0]
        after = check_site(offer.site)
        assert finding.key not in {f.key for f in after.findings}
        stood = {f.key for f in before.findings if f.severity != "note"}
        stands = {f.key for f in after.findings if f.severity != "note"}
        assert {key for key in stands if key[0] not in OF_THE_MEND} < stood


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: p.stem)
def test_a_demo_s_findings_say_that_the_mend_was_tried(path):
    report = check_site(read_site_file(path.read_bytes()), recheck=True)
    for finding in report.findings:
        if finding.severity == "note":
            continue
        assert finding.recheck is not None, finding.code
        assert finding.recheck.clears
        assert finding.recheck.brings == ()
        assert finding.recheck.said.startswith(f"Re-checked with {finding.recheck.change}: ")
        assert "no other finding is new or worse" in finding.recheck.said


def test_without_asking_nothing_is_re_checked_and_the_findings_are_the_same():
    site = read_site_file(DEMO_FILES[0].read_bytes())
    bare, full = check_site(site), check_site(site, recheck=True)
    assert [f.key for f in bare.findings] == [f.key for f in full.findings]
    assert all(f.recheck is None for f in bare.findings)


def test_the_dryer_moved_off_clears_the_farm_s_switchable_panel():
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    finding = next(f for f in check_site(site).findings if f.element_id == "feeder-swing-normal")
    offer = offers(site, finding, site_rules(site)[0])[0]
    assert offer.words == "Clothes dryer moved to Main panel"
    assert offer.site.circuit("dryer").panel_id == "main"
    assert site.circuit("dryer").panel_id == "swing"


def test_what_can_wait_gives_way_first_and_nothing_leaves_another_building():
    """All that can wait comes to less than the 3,501 VA that the set and its feeder lack."""
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    for finding in check_site(site, recheck=True).findings:
        if finding.code == "demand-above-rating":
            of_set = finding.element_id in {"generator", "feeder-generator"}
            assert of_set or "Heat pump" not in finding.recheck.change
            if "moved to" in finding.recheck.change:
                assert "Heat mats" not in finding.recheck.change


# --- Each kind of mend ------------------------------------------------------------------------


def test_a_breaker_below_its_load_is_cleared_by_the_next_standard_one():
    site = plain(of_kind("tank", "main", (1, 3), "water-heater", breaker_a=20))
    finding = tried(site, "device-below-load")
    assert finding.recheck.clears
    assert finding.recheck.change.startswith("a 25 A breaker on")


def test_a_larger_breaker_is_tried_with_the_wire_it_asks_for_and_brings_nothing_worse():
    small = of_kind("tank", "main", (1, 3), "water-heater", breaker_a=20)
    site = plain(small.model_copy(update={"wire_size": "12"}))
    finding = tried(site, "device-below-load")
    assert finding.recheck.clears
    assert finding.recheck.change == "a 25 A breaker and 10 copper wire on Circuit tank"
    assert finding.recheck.brings == ()
    assert "new or worse" in finding.recheck.said


def test_a_breaker_above_its_wire_is_cleared_by_the_one_that_protects_it():
    plugs = of_kind("plugs", "main", (1,), "plugs", breaker_a=30)
    site = plain(plugs.model_copy(update={"wire_size": "14"}))
    finding = tried(site, "breaker-above-wire")
    assert finding.recheck.change.startswith("a 15 A breaker on")
    assert finding.recheck.clears


def test_solar_that_fits_at_the_far_end_is_moved_there():
    site = solar_site(bus_a=200, main_a=200, breaker_a=40, ac_kw=7.6, spaces=(2, 4))
    finding = tried(site, "solar-busbar")
    assert finding.recheck.clears
    assert "spaces 38 and 40, at the far end" in finding.recheck.change


@pytest.mark.parametrize(
    ("spaces", "change"),
    [
        ((38, 40), "a main of 175 A"),
        ((2, 4), "the breaker of Solar in spaces 38 and 40, at the far end from the main, and"),
    ],
)
def test_solar_too_large_for_the_far_end_asks_for_a_smaller_main(spaces, change):
    """9.6 kW / 240 V = 40 A, 50 A at 125 %; 240 A less 50 A leaves 190 A at the far end, 175 A."""
    site = solar_site(bus_a=200, main_a=200, breaker_a=50, ac_kw=9.6, spaces=spaces, loads=9)
    finding = tried(site, "solar-busbar")
    assert finding.recheck.clears
    assert finding.recheck.change.startswith(change)
    assert "a main of 175 A in" in finding.recheck.change
    assert "A main of 190 A or less" in finding.mend
    assert "(175 A is a standard size)" in finding.mend


def test_the_re_check_takes_the_standard_main_that_the_mend_names():
    """7.6 kW is 39.6 A at 125 %: 240 - 39.6 = 200.4 A, so 200 A and not 225 A."""
    site = solar_site(bus_a=200, main_a=225, spaces=(38, 40), loads=9)
    finding = tried(site, "solar-busbar")
    assert "A main of 200 A or less (200 A is a standard size)" in finding.mend
    assert finding.recheck.change == "a main of 200 A in Panel main"
    assert finding.recheck.clears


@pytest.mark.parametrize("taken", [False, True])
def test_the_feeder_that_solar_comes_in_by_is_moved_to_the_far_end(taken):
    """7.6 kW in another panel: 239.6 A stand on a bus of 200 A with that feeder at its far end."""
    base = solar_site()
    sub = builders.panel("barn", rating_a=200, main_a=100, spaces=20)
    sun = base.solar[0].model_copy(update={"panel_id": "barn", "breaker_a": 40})
    feed = builders.feeder("main", "barn", breaker_a=100, spaces=(2, 4))
    last = [builders.circuit("last", "main", *s, load_w=100) for s in ((38, 40), (37, 39))]
    circuits = (*base.circuits, *(last if taken else ()))
    site = with_parts(
        base, panels=(*base.panels, sub), feeders=(*base.feeders, feed), solar=(sun,),
        circuits=tuple({c.id: c for c in circuits}.values()),
    )  # fmt: skip
    finding = tried(site, "solar-busbar")
    assert finding.recheck.clears
    assert "in spaces 3" in finding.recheck.change
    assert "at the far end from the main" in finding.recheck.change


def test_a_main_that_no_longer_carries_the_house_is_no_mend():
    """It is not offered beside solar, and where somebody tries it, it is told as worse."""
    heavy = of_kind("kiln", "main", (37, 39), "heat-strip", load_w=50_000, breaker_a=250)
    base = solar_site(bus_a=200, main_a=200, breaker_a=50, ac_kw=9.6, spaces=(2, 4), loads=9)
    site = with_parts(base, circuits=(*base.circuits, heavy), zones=HOUSE)
    finding = tried(site, "solar-busbar")
    assert finding.recheck is None
    assert "a main of" not in finding.mend.lower()
    less = tuple(p.model_copy(update={"main_a": 150}) for p in site.panels)
    after = check_site(with_parts(site, panels=less)).findings
    worse = compared("a main of 150 A", finding, check_site(site).findings, after)
    assert worse.brings
    assert "is calculated to carry" in worse.said


def test_wire_too_small_is_cleared_by_the_size_the_schedule_advises():
    finding = tried(wired_shed("6", run_ft=60), "wire-too-small")
    assert finding.recheck.clears
    assert "aluminum the whole length" in finding.recheck.change


def test_a_long_run_is_cleared_by_the_size_that_holds_the_drop():
    finding = tried(wired_shed("1/0"), "drop-above-advice")
    assert finding.recheck.clears


def test_a_small_ground_is_cleared_by_the_one_its_breaker_asks_for():
    finding = tried(wired_shed("1/0", ground_size="10"), "ground-too-small")
    assert finding.recheck.clears


def test_a_raceway_too_full_is_cleared_by_the_next_that_fits():
    site = wired_shed("1/0", raceway="PVC 40", raceway_trade_size="1", run_ft=60)
    finding = tried(site, "raceway-too-full")
    assert finding.recheck.clears
    assert "in raceway" in finding.recheck.change


def test_a_generator_short_for_all_that_transfers_is_cleared_by_management():
    base = builders.whole_house_site(scenarios=(), floor_area_ft2=1200, zones=HOUSE)
    panel = base.circuits[0].panel_id
    kilns = tuple(
        of_kind(f"strip-{i}", panel, (9 + 4 * i, 11 + 4 * i), "heat-strip") for i in range(2)
    )
    site = with_parts(base, circuits=(*base.circuits, *kilns))
    finding = tried(site, "demand-above-rating")
    assert finding.recheck.clears
    assert "under listed load management" in finding.recheck.change


def test_a_service_over_its_main_is_cleared_by_holding_a_charger():
    car = of_kind("car", "main", (1, 3), "car-charger-48", breaker_a=60)
    heat = of_kind("heat", "main", (5, 7), "heat-strip", load_w=22_000, breaker_a=125)
    site = plain(car, heat)
    small = tuple(s.model_copy(update={"main_a": 125}) for s in site.services)
    panels = tuple(p.model_copy(update={"main_a": 125}) for p in site.panels)
    finding = tried(with_parts(site, services=small, panels=panels), "demand-above-rating")
    assert finding.recheck.clears
    assert finding.recheck.change.startswith("Circuit car held at ")
    assert "by listed energy management" in finding.recheck.change


def window_air(load_w):
    """The bungalow with a larger window air conditioner on its bedroom circuit."""
    site = read_site_file((DEMOS / "bungalow.json").read_bytes())
    (unit,) = site.circuit("window-air").appliances
    larger = unit.model_copy(update={"load_w": load_w})
    return with_parts(
        site,
        circuits=tuple(
            c.model_copy(update={"appliances": (larger,)}) if c.id == "window-air" else c
            for c in site.circuits
        ),
    )


def test_a_range_and_a_dryer_are_never_held_at_a_setting():
    """220.70, 750.30: a setting is of what can be throttled; what cannot is shed."""
    findings = [
        f for f in check_site(window_air(1800), recheck=True).findings
        if f.code == "demand-above-rating"
    ]  # fmt: skip
    assert findings
    for finding in findings:
        assert "held at" not in finding.recheck.change
        assert finding.recheck.change.endswith("one at a time by a listed load manager")
        assert "range" not in finding.recheck.change.lower()
        assert finding.recheck.clears


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: p.stem)
@pytest.mark.parametrize("of_its_size", [0.5, 0.7])
def test_only_a_vehicle_s_circuit_is_held_at_amps(path, of_its_size):
    """Every main and switch of a demo at half and at 70 % of what it is."""
    site = read_site_file(path.read_bytes())
    small = with_parts(
        site,
        services=tuple(
            s.model_copy(update={"main_a": of_its_size * s.main_a}) for s in site.services
        ),
        transfer_switches=tuple(
            t.model_copy(update={"rating_a": of_its_size * t.rating_a})
            for t in site.transfer_switches
        ),
    )
    rules = site_rules(small)[0]
    for finding in check_site(small).findings:
        if finding.code != "demand-above-rating":
            continue
        for offer in offers(small, finding, rules):
            name, held, _ = offer.words.partition(" held at ")
            if held:
                assert name in {c.name for c in site.circuits if "charger" in c.id}


def test_a_neutral_pole_clears_the_parallel_neutral():
    base = builders.double_throw_site(scenarios=())
    bare = tuple(
        d.model_copy(update={"poles": 2, "switches_neutral": False}) for d in base.double_throws
    )
    finding = tried(with_parts(base, double_throws=bare), "parallel-neutral")
    assert finding.recheck.clears


def test_new_circuits_are_cleared_by_the_breaker_that_protects_them():
    plugs = of_kind("den", "main", (1,), "plugs")
    site = plain(plugs.model_copy(update={"is_new": True}))
    assert tried(site, "new-circuit-arc-fault").recheck.clears


def test_a_pair_apart_is_cleared_by_standing_together():
    left = of_kind("left", "main", (2,), "kitchen-plugs").model_copy(
        update={"multiwire_partner_id": "right"}
    )
    right = of_kind("right", "main", (8,), "kitchen-plugs").model_copy(
        update={"multiwire_partner_id": "left"}
    )
    finding = tried(plain(left, right), "multiwire-not-adjacent")
    assert finding.recheck.clears
    assert "next to" in finding.recheck.change


def test_a_question_is_not_re_checked():
    site = plain(of_kind("tank", "main", (1, 3), "water-heater"))
    finding = tried(site, "fault-current-asked")
    assert finding.recheck is None


# --- What counts as worse ---------------------------------------------------------------------


def a(code, severity="warning", value=None, limit=None):
    return Finding(code, severity, "x", f"{code} stands.", "", value=value, limit=limit)


def test_a_new_note_is_not_worse_but_a_new_warning_is():
    one = compared("m", a("old"), (a("old"),), (a("n", "note"),))
    assert one.clears
    assert one.brings == ()
    two = compared("m", a("old"), (a("old"),), (a("w"),))
    assert two.brings == ("w stands.",)
    assert two.said == "Re-checked with m: this finding is gone, but: w stands."


def test_farther_past_its_limit_is_worse_on_either_side():
    high = compared(
        "m", a("o"), (a("o"), a("h", value=110, limit=100)), (a("h", value=120, limit=100),)
    )
    low = compared(
        "m", a("o"), (a("o"), a("l", value=90, limit=100)), (a("l", value=80, limit=100),)
    )
    less = compared(
        "m", a("o"), (a("o"), a("h", value=110, limit=100)), (a("h", value=105, limit=100),)
    )
    assert high.brings == ("h stands.",)
    assert low.brings == ("l stands.",)
    assert less.brings == ()


def test_what_still_stands_is_said():
    one = compared("m", a("o"), (a("o"),), (a("o"),))
    assert not one.clears
    assert one.said == "Re-checked with m: it still stands. o stands."


def test_others_that_go_along_are_counted_without_notes():
    before = (a("o"), a("p"), a("n", "note"))
    one = compared("m", a("o"), before, ())
    assert one.others == 1
    assert ", and 1 more with it, and no other finding is new or worse." in one.said


def test_a_set_s_wire_without_115_percent_is_offered_a_device_that_it_can_stand():
    """445.13(A): 115 % of 83.3 A, or a device no larger than the wire; 85 A stands one of 80 A."""
    base = builders.backed_up_site(scenarios=())
    feeders = tuple(
        f.model_copy(update={"ampacity_a": 85, "breaker_a": 90}) if f.from_id == "set" else f
        for f in base.feeders
    )
    finding = tried(with_parts(base, feeders=feeders), "generator-conductors")
    assert finding.recheck.change.startswith("an 80 A breaker on")
    assert finding.recheck.clears


@pytest.mark.parametrize("breaker_a", [25, 40])
def test_a_motor_is_tried_with_the_breaker_that_its_mend_names(breaker_a):
    """1 hp at 230 V: 8 A of the table; 250 % is 20 A, whatever a hard start may take."""
    well = of_kind("well", "main", (1, 3), "well-pump", breaker_a=breaker_a)
    finding = tried(plain(well), "motor-device-large")
    assert finding.mend.startswith("Use a breaker of 20 A")
    assert finding.recheck.change.startswith("a 20 A breaker on")
    assert finding.recheck.clears


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda p: p.stem)
def test_a_mend_is_weighed_by_the_same_amps_as_its_finding(path):
    """Trying mends leaves out the sheets that no rating is held against."""
    site = read_site_file(path.read_bytes())
    rules = site_rules(site)[0]
    for element in check_site(site).demand:
        fewer = demand_of(site, element.element_id, rules=rules, held_only=True)
        assert {s.method for s in fewer.sheets}.isdisjoint({"existing", "measured"})
        for position in {s.position for s in element.sheets}:
            assert over_by_a(site, fewer, position) == over_by_a(site, element, position)
