"""A feeder of two hots and a ground: what it may feed, how it is sized, and where it is not one.

200.3 by a contractor’s training page; 250.24 and 250.32(B) from memory.
"""

from __future__ import annotations

import pytest

from server.domain.site import Site
from server.domain.supply import Battery, SolarArray
from server.domain.topology import without_neutral
from server.rules.check import check_site
from server.rules.hazards import hazards
from server.rules.neutral_bonds import derives_its_own, house_bonds
from server.rules.wiring.feeder import FeederWiring
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    generator,
    handle_set_site,
    normal_only_site,
    panel,
    set_120_only_site,
    with_parts,
)
from tests.rules.no_neutral_sites import pump_house

CODE = "loads-without-neutral"


def changed(site: Site, to_id: str, to_input: str | None = None, **changes: object) -> Site:
    return with_parts(
        site,
        feeders=tuple(
            f.model_copy(update=changes) if (f.to_id, f.to_input) == (to_id, to_input) else f
            for f in site.feeders
        ),
    )


def of_pump(site: Site) -> FeederWiring:
    return next(w for w in check_site(site).wiring if w.feeder_id == "main-pump")


def stands(site: Site) -> list[str]:
    return [f.element_id for f in hazards(site) if f.code == CODE]


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ((), False),
        ((circuit("kiln", "pump", 2, 4, load_w=2000),), False),
        ((circuit("light", "pump", 2, load_w=60),), True),
        ((circuit("spare", "pump", 2),), True),
        (
            (
                circuit(
                    "range",
                    "pump",
                    2,
                    4,
                    appliances=(appliance("r", 5000, volts=240, part_120_w=200),),
                ),
            ),
            True,
        ),
        ((circuit("old", "pump", 2, 4, load_w=2000, grounding="three_wire_old"),), True),
    ],
)
def test_what_takes_120_v_behind_it_blocks_and_240_v_alone_does_not(more, found):
    site = pump_house(*more)
    assert stands(site) == (["main-pump"] if found else [])
    assert stands(changed(site, "pump", no_neutral=False)) == []


def test_a_shared_neutral_behind_it_is_named_with_its_partner():
    one = circuit("one", "pump", 2, load_w=60, multiwire_partner_id="two")
    two = circuit("two", "pump", 4, load_w=60, multiwire_partner_id="one")
    (finding,) = (f for f in hazards(pump_house(one, two)) if f.code == CODE)
    assert "Circuit one and Circuit two behind it need one" in finding.text
    assert (finding.severity, finding.rule) == ("blocking", "NEC 2023, 200.3")
    assert "never use the ground wire" in finding.mend


def test_a_panel_farther_on_is_behind_it_too():
    base = pump_house()
    loft = panel("loft", rating_a=60)
    site = with_parts(
        base,
        panels=(*base.panels, loft),
        feeders=(*base.feeders, feeder("pump", "loft", breaker_a=20)),
        circuits=(*base.circuits, circuit("light", "loft", 1, load_w=60)),
    )
    assert stands(site) == ["main-pump"]
    assert without_neutral(site) == {"main-pump", "pump", "pump-loft", "loft"}


def test_a_second_way_with_a_neutral_brings_one():
    site = changed(double_throw_site(), "throw", "normal", no_neutral=True)
    assert without_neutral(site) == {"main-throw-normal"}
    both = changed(site, "throw", "backed_up", no_neutral=True)
    assert {"throw", "swing"} <= without_neutral(both)
    # Only two neutrals can be joined.
    loose = changed(double_throw_site(switches_neutral=False), "throw", "normal", no_neutral=True)
    assert "parallel-neutral" not in {f.code for f in hazards(loose)}


def test_circuits_on_handles_are_behind_the_feeder_of_the_set():
    site = changed(handle_set_site(), "handles", "generator", no_neutral=True)
    assert stands(site) == [f.id for f in site.feeders if f.no_neutral]


def test_a_set_of_120_v_gives_nothing_between_two_hots():
    base = set_120_only_site()
    site = changed(
        with_parts(base, circuits=()),
        next(f.to_id for f in base.feeders if f.from_id == "set"),
        next(f.to_input for f in base.feeders if f.from_id == "set"),
        no_neutral=True,
    )
    (finding,) = (f for f in hazards(site) if f.code == CODE)
    assert "gives 120 V only" in finding.text


@pytest.mark.parametrize(
    ("edition", "section"), [("2017", "250.24(C)"), ("2020", "250.24(C)"), ("2023", "250.24(D)")]
)
def test_service_conductors_bring_one_whatever_they_feed(edition, section):
    only_240 = (circuit("well", "main", 1, 3, load_w=3600),)
    site = changed(normal_only_site(circuits=only_240), "main", no_neutral=True)
    (finding,) = (f for f in hazards(site, edition) if f.code == CODE)
    assert finding.section == section
    assert "ahead of the service disconnect" in finding.text


def test_no_neutral_is_sized_for_it_nor_counted_in_its_raceway():
    wire = {"raceway": "PVC", "raceway_trade_size": "3/4"}
    bare, whole = pump_house(wire=wire), pump_house(wire=wire, no_neutral=False)
    one, other = of_pump(bare), of_pump(whole)
    assert (one.no_neutral, one.neutral_a, other.neutral_a) == (True, None, 0)
    assert [s.fill.count for s in one.segments if s.fill] == [3]
    assert [s.fill.count for s in other.segments if s.fill] == [4]
    assert [s.neutral_enough for s in one.segments] == [None]
    assert one.advice is not None
    assert one.advice.neutral_size is None


def test_a_larger_raceway_is_looked_for_without_a_neutral():
    """Three of 6 XHHW-2 are 0.177 sq in: 3/4 PVC 40 has 0.203 of 0.508 (40 %), 1/2 has 0.114."""
    site = pump_house(wire={"raceway": "PVC", "raceway_trade_size": "1/2"})
    (finding,) = (
        f for f in check_site(site, recheck=True).findings if f.code == "raceway-too-full"
    )
    assert finding.recheck is not None
    assert "a 3/4 in raceway" in finding.recheck.said


def test_a_neutral_run_with_it_clears_it_and_the_raceway_is_checked_again():
    light = circuit("light", "pump", 2, load_w=60)
    plain = pump_house(light)
    tight = pump_house(light, wire={"raceway": "PVC", "raceway_trade_size": "3/4"})
    for site, brings in ((plain, False), (tight, True)):
        (finding,) = (f for f in check_site(site, recheck=True).findings if f.code == CODE)
        assert finding.recheck is not None
        assert finding.recheck.clears
        assert finding.recheck.change == "a neutral as large as its hots in Feeder main-pump"
        assert any("% full" in text for text in finding.recheck.brings) is brings


@pytest.mark.parametrize("ground", [None, "6"])
@pytest.mark.parametrize("bonded", [False, True])
def test_another_building_needs_a_ground_and_no_fourth_wire(ground, bonded):
    site = pump_house(at={"neutral_bonded": bonded}, wire={"ground_size": ground})
    found = {f.code: f for f in check_site(site).findings}
    note = found["detached-building"]
    assert "it needs a ground wire in its feeder, its own grounding electrode" in note.text
    assert "four-wire" not in note.text
    assert ("It is entered as joining them" in note.text) is bonded
    assert not {"detached-neutral-bonded", "detached-three-wire"} & set(found)
    assert not {"two-neutral-bonds", "no-neutral-bond"} & set(found)


def test_a_ground_that_is_not_told_is_asked_for_beside_the_hots():
    lacking = {"ground_size": None, "raceway": "PVC 40"}
    found = {f.code: f for f in check_site(pump_house(wire=lacking)).findings}
    asked = found["feeder-ground-asked"]
    assert "beside its hots, with a neutral or without" in asked.text
    assert "Where only two wires lie in plastic" in asked.mend
    whole = {f.code: f for f in check_site(pump_house(wire=lacking, no_neutral=False)).findings}
    assert "Where only three wires lie" in whole["feeder-ground-asked"].mend


def test_a_set_that_brings_no_neutral_is_a_source_of_its_own():
    base = backed_up_site(generators=(generator(neutral_bonded=True),))
    site = changed(base, "ats", "generator", no_neutral=True)
    (the_set,) = site.generators
    assert not derives_its_own(base, the_set)
    assert derives_its_own(site, the_set)
    assert "two-neutral-bonds" in {f.code for f in hazards(base)}
    assert house_bonds(site, the_set) == ()


def inverters(site: Site) -> list[tuple[str, str]]:
    found = check_site(site, recheck=False).findings
    mine = [f for f in found if f.code == "inverter-without-neutral"]
    return sorted((f.element_id, f.severity) for f in mine)


SUN = SolarArray(id="sun", name="Sun", panel_id="pump", dc_kw=4, ac_kw=3.8, breaker_a=20)
STORE = Battery(id="store", name="Store", panel_id="pump", usable_kwh=10, inverter_kw=5)


def test_an_inverter_where_no_neutral_comes_is_asked_about():
    both = with_parts(pump_house(), solar=(SUN,), batteries=(STORE,))
    assert inverters(both) == [("sun", "note")]
    (one,) = [f for f in check_site(both).findings if f.code == "inverter-without-neutral"]
    assert "Sun and Store are at" in one.text
    assert inverters(with_parts(pump_house(), solar=(SUN,))) == [("sun", "note")]
    assert inverters(changed(both, "pump", no_neutral=False)) == []
    at_main = SUN.model_copy(update={"panel_id": "main"})
    assert inverters(with_parts(pump_house(), solar=(at_main,))) == []
    assert inverters(pump_house()) == []


def test_a_battery_that_carries_the_house_from_there_is_a_warning():
    forming = STORE.model_copy(update={"grid_forming": True})
    assert inverters(with_parts(pump_house(), batteries=(forming,))) == [("store", "warning")]
    with_sun = with_parts(pump_house(), solar=(SUN,), batteries=(forming,))
    assert inverters(with_sun) == [("store", "warning"), ("sun", "note")]


def test_behind_a_panel_without_a_neutral_there_is_none_either():
    """A feeder with a neutral wire from a panel that none reaches brings none."""
    base = pump_house()
    site = with_parts(
        base,
        panels=(*base.panels, panel("barn", rating_a=60)),
        feeders=(*base.feeders, feeder("pump", "barn", breaker_a=30)),
        solar=(SUN.model_copy(update={"panel_id": "barn"}),),
    )
    assert inverters(site) == [("sun", "note")]
