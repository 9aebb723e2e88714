"""Load management that is relied on: entered or not, in the findings, the mends and the demand."""

from __future__ import annotations

from pathlib import Path

import pytest

import server
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.exchange.sitefile import read_site_file
from server.rules.check import check_site
from server.rules.demand.report import demand_of
from server.rules.demand.watched import demand_report
from server.rules.editions import rulebook
from server.rules.mends.loads import less_load
from server.rules.mends.recheck import offers
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    with_parts,
)
from tests.rules.check_sites import HOUSE, RULES, of_kind
from tests.rules.hazard_sites import codes, the

MANAGER = EnergyGroup(id="m", name="House manager", setting_a=60, watch_id="set")
PAUSE = EnergyGroup(id="m", name="Car pause", off_on_generator=True)


def changed(site: Site, circuit_id: str, *groups: EnergyGroup, **changes: object) -> Site:
    circuits = tuple(
        c.model_copy(update=changes) if c.id == circuit_id else c for c in site.circuits
    )
    return with_parts(site, circuits=circuits, energy_groups=groups)


def test_managed_without_a_manager_is_a_finding_until_one_is_entered() -> None:
    alone = changed(backed_up_site(), "d", outage_role="managed")
    assert codes(alone) == ["no-load-manager"]
    assert the(alone, "no-load-manager").text.startswith("Circuit d is set to “managed”")
    held = changed(backed_up_site(), "d", MANAGER, outage_role="managed", energy_group_id="m")
    assert codes(held) == []


def test_where_no_set_can_feed_it_nothing_is_found() -> None:
    assert codes(changed(backed_up_site(), "a", outage_role="managed")) == []
    assert codes(changed(normal_only_site(), "a", outage_role="managed")) == []


def test_a_manager_of_what_must_be_served_is_a_finding() -> None:
    site = changed(backed_up_site(), "d", MANAGER, load_class="must_serve", energy_group_id="m")
    found = the(site, "must-serve-shed")
    assert "House manager can hold it off" in found.text


def sheets(site: Site) -> dict[str, object]:
    return {s.method: s for s in demand_of(site, "set", rules=rulebook("2023")).sheets}


def test_what_is_to_be_managed_counts_until_a_manager_is_entered() -> None:
    """600 + 1,800 + 2,400 VA transfer; the 2,400 VA leave only where a manager can shed them."""
    site = changed(backed_up_site(), "d", outage_role="managed")
    alone = demand_of(site, "set", rules=rulebook("2023"))
    assert [s.method for s in alone.sheets] == ["full"]
    assert governing(alone).total_va == pytest.approx(4800)
    assert any("no load manager is entered" in n for n in alone.sheets[0].notes)
    manager = MANAGER.model_copy(update={"setting_a": 18})
    held = demand_of(
        changed(backed_up_site(), "d", manager, outage_role="managed", energy_group_id="m"),
        "set",
        rules=rulebook("2023"),
    )
    assert governing(held).method == "managed"
    assert governing(held).total_va == pytest.approx(3120)
    assert not any("no load manager" in n for s in held.sheets for n in s.notes)


@pytest.mark.parametrize(
    ("setting_a", "watch_id", "total_va"),
    [
        (18, "set", 3120),  # 1,800 VA are 15 A of a leg: 2,400 VA and 3 A x 240 V
        (18, "backed", 3120),  # the one panel that carries all that transfers
        (8, "set", 2400),  # below what is not controlled: nothing else comes on
        (60, "set", 4800),  # above all there is: all of it can run
        (18, "grid", None),  # the service sees nothing while the set feeds
    ],
)
def test_what_a_manager_watches_is_held_to_its_setting_and_not_to_none(
    setting_a: float, watch_id: str, total_va: float | None
) -> None:
    manager = MANAGER.model_copy(update={"setting_a": setting_a, "watch_id": watch_id})
    site = changed(backed_up_site(), "d", manager, outage_role="managed", energy_group_id="m")
    by_method = sheets(site)
    if total_va is None:
        assert set(by_method) == {"full"}
    else:
        assert by_method["managed"].total_va == pytest.approx(total_va)  # type: ignore[attr-defined]


def test_a_limit_on_all_that_is_carried_is_a_continuous_load() -> None:
    """The setpoint is one (220.70): 18 A ask for 22.5 A of device and wire."""
    manager = MANAGER.model_copy(update={"setting_a": 18})
    site = changed(backed_up_site(), "d", manager, outage_role="managed", energy_group_id="m")
    held = sheets(site)["managed"]
    assert held.leg_a == pytest.approx(18)  # type: ignore[attr-defined]
    assert held.needed_a == pytest.approx(22.5)  # type: ignore[attr-defined]
    assert any("4,320 VA, counts as continuous" in x.note for x in held.lines)  # type: ignore[attr-defined]


def test_what_pauses_on_a_generator_is_left_out_of_the_managed_sheet() -> None:
    by_method = sheets(changed(backed_up_site(), "d", PAUSE, energy_group_id="m"))
    full, managed = by_method["full"], by_method["managed"]
    assert full.total_va - managed.total_va == pytest.approx(2400)  # type: ignore[attr-defined]


def test_putting_circuits_under_management_enters_a_manager_of_the_set() -> None:
    base = backed_up_site()
    heavy = circuit(
        "heavy",
        "backed",
        9,
        11,
        breaker_a=60,
        load_class="deferrable",
        appliances=(appliance("furnace", 11_000, volts=240),),
    )
    site = with_parts(base, circuits=(*base.circuits, heavy), generators=(generator(rated_kw=10),))
    (finding,) = (
        f
        for f in check_site(site).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    )
    # 10 kW less 1.8 % where it stands is 40.9 A a leg; over 1.25 for what runs for hours, 32 A.
    offer = next(iter(less_load(site, finding, rulebook("2023"))))
    assert "heavy under listed load management" in offer.words
    (group,) = offer.site.energy_groups
    assert (group.watch_id, group.setting_a) == ("set", 32)
    assert offer.site.circuit("heavy").energy_group_id == group.id
    assert "no-load-manager" not in codes(offer.site)


def test_a_setting_that_asks_for_more_than_the_breaker_is_mended_by_a_lower_one() -> None:
    """40 A that may last ask for 50 A of the wire of the set; its 45 A stand for 36 A."""
    base = backed_up_site()
    heavy = circuit(
        "heavy",
        "backed",
        9,
        11,
        breaker_a=60,
        load_class="deferrable",
        outage_role="managed",
        energy_group_id="m",
        appliances=(appliance("furnace", 11_000, volts=240),),
    )
    feeders = tuple(
        f.model_copy(update={"breaker_a": 45.0}) if f.from_id == "set" else f for f in base.feeders
    )
    manager = MANAGER.model_copy(update={"setting_a": 40.0})
    site = with_parts(
        base,
        circuits=(*base.circuits, heavy),
        generators=(generator(rated_kw=10),),
        feeders=feeders,
        energy_groups=(manager,),
    )
    (finding,) = (
        f
        for f in check_site(site, recheck=True).findings
        if f.code == "demand-above-rating" and f.element_id.startswith("set-")
    )
    assert (finding.value, finding.limit) == (pytest.approx(50), 45)
    assert finding.mend.startswith("Set House manager lower than its 40 A, or use a larger breaker")
    assert finding.recheck is not None
    assert (finding.recheck.change, finding.recheck.clears) == ("House manager set to 36 A", True)


ONE_AT_A_TIME = [EnergyGroup(id="m", name="Taking turns", way=w) for w in ("turns", "interlock")]


@pytest.mark.parametrize("manager", ONE_AT_A_TIME, ids=lambda m: m.way)
def test_of_circuits_that_run_one_at_a_time_the_largest_counts(manager: EnergyGroup) -> None:
    """600 + 1,800 + 2,400 = 4,800 VA transfer; of the 1,800 and the 2,400 one runs: 3,000 VA."""
    site = changed(backed_up_site(), "d", manager, energy_group_id="m", outage_role="managed")
    site = changed(site, "c", manager, energy_group_id="m", outage_role="managed", shed_order=2)
    by_method = sheets(site)
    assert by_method["full"].total_va == pytest.approx(4800)  # type: ignore[attr-defined]
    assert by_method["managed"].total_va == pytest.approx(3000)  # type: ignore[attr-defined]
    notes = " ".join(by_method["managed"].notes)  # type: ignore[attr-defined]
    assert "Taking turns lets one at a time of Circuit c and Circuit d run" in notes
    assert "the largest counts, Circuit d" in notes
    (panel,) = demand_of(site, "backed", rules=rulebook("2023")).sheets
    assert panel.total_va == pytest.approx(3000)


def test_one_member_alone_on_the_set_counts_in_full() -> None:
    site = changed(
        backed_up_site(), "d", ONE_AT_A_TIME[0], energy_group_id="m", outage_role="managed"
    )
    assert {m: s.total_va for m, s in sheets(site).items()} == {  # type: ignore[attr-defined]
        "full": pytest.approx(4800)
    }


def test_the_farm_counts_its_range_of_dryer_water_heater_and_range_by_turns() -> None:
    """36,411 VA transfer. Without all three 20,554 VA, as three fastened appliances of the
    dwelling are left and none is cut; the range, 8,000 VA by Table 220.55 column C, can run
    whichever the manager lets on: 28,554 VA. Two heat mats of 600 VA plug in and count in full,
    the cooler and the drip pump as they stand in no dwelling.
    """
    farm = read_site_file((Path(server.__file__).parent / "demos/flower-farm.json").read_bytes())
    manager = EnergyGroup(id="m", name="Load manager", way="turns")
    ids = ("dryer", "water-heater", "range")
    for circuit_id in ids:
        own = [g for g in farm.energy_groups if g.id != "m"]
        farm = changed(farm, circuit_id, *own, manager, energy_group_id="m", outage_role="managed")
    every = demand_of(farm, "generator", rules=rulebook("2023")).sheets
    heaviest = {s.method: s.total_va for s in sorted(every, key=lambda s: s.total_va)}
    assert heaviest["full"] == pytest.approx(36_411, abs=1)
    assert heaviest["managed"] == pytest.approx(28_554, abs=1)


def test_a_set_too_small_to_let_anything_on_is_offered_no_manager() -> None:
    tiny = backed_up_site(generators=(generator(rated_kw=0.2),))
    over = [f for f in check_site(tiny, recheck=True).findings if f.code == "demand-above-rating"]
    assert over
    for finding in over:
        for offer in offers(tiny, finding, rulebook("2023")):
            assert "load management" not in offer.words


def test_a_managed_circuit_off_leaves_the_whole_house_its_area():
    """One panel on one service: 2,400 ft² are its own, with a dryer shed as without."""
    base = builders.whole_house_site(scenarios=(), zones=HOUSE, floor_area_ft2=2400)
    dryer = of_kind("dry", "main", (9, 11), "dryer").model_copy(
        update={"outage_role": "managed", "energy_group_id": "m"}
    )
    manager = EnergyGroup(id="m", name="Manager", off_on_generator=True)
    site = with_parts(
        base,
        circuits=(*base.circuits, dryer, of_kind("light", "main", (13,), "lighting")),
        energy_groups=(manager,),
    )
    sheet = demand_of(site, "set", rules=RULES).sheet("managed")
    assert sheet.lines[0].quantity == 2400
    assert sheet.lines[0].note == ""
    assert not any("Floor area" in q for q in sheet.missing)


def test_a_panel_without_all_the_lights_still_asks_for_its_area():
    base = builders.backed_up_site(scenarios=(), zones=HOUSE, floor_area_ft2=2400)
    lights = (
        of_kind("one", "main", (13,), "lighting"),
        of_kind("two", "backed", (13,), "lighting"),
    )
    site = with_parts(base, circuits=(*base.circuits, *lights))
    sheet = demand_of(site, "backed", rules=RULES).sheet("standard")
    assert any("Floor area served by" in q for q in sheet.missing)


def test_what_a_manager_keeps_off_on_the_set_counts_nothing_there_whatever_its_setting() -> None:
    pause = EnergyGroup(id="m", name="Car pause", off_on_generator=True)
    held = EnergyGroup(id="m", name="Car pause", off_on_generator=True, setting_a=30)
    base = builders.whole_house_site(scenarios=())
    held_id = base.circuits[-1].id

    def managed(group: EnergyGroup) -> float:
        site = changed(base, held_id, group, energy_group_id="m", outage_role="managed")
        sheet = demand_of(site, site.generators[0].id, rules=RULES).sheet("managed")
        assert sheet is not None
        return sheet.total_va

    assert managed(held) == pytest.approx(managed(pause))


def test_a_sheet_tells_of_the_manager_that_watches_what_it_is_of() -> None:
    watch = EnergyGroup(id="m", name="House manager", setting_a=80, watch_id="grid")
    site = changed(backed_up_site(), "d", watch, outage_role="managed", energy_group_id="m")
    sheets = {e.element_id: e.sheet("standard") for e in demand_report(site, rules=RULES)}
    sheet, panel = sheets["grid"], sheets["backed"]
    assert sheet is not None
    assert any("House manager watches" in note and "80 A" in note for note in sheet.notes)
    assert panel is not None
    assert not any("House manager watches" in note for note in panel.notes)
