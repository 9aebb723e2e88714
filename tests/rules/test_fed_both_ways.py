"""A set that feeds one switch by itself and another by hand.

702.4: the full load that transfers automatically, or what its management lets on, and all that is
meant to run at one time by hand (2023: 702.4(A); text of 702.5(B) of 2008 in forums.mikeholt.com
post 595433). Both hang on one set at one time.
"""

from __future__ import annotations

import pytest

from server.domain.pairs import in_role
from server.domain.site import LocalAmendment
from server.domain.supply import EnergyGroup, TransferSwitch
from server.rules.check import check_site
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.left_off import left_off
from server.rules.demand.report import demand_of
from server.rules.demand.selected import selected
from server.rules.editions import rulebook, site_rules
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind

RULES = rulebook("2023")


def both_ways(*, kw: float, role: str = "on"):
    """15 A and 25 A on the legs transfer by themselves, a kiln of 3,600 W, 15 A, by hand."""
    base = builders.backed_up_site(scenarios=())
    kiln = of_kind("kiln", "shop", (1, 3), "kiln", load_w=3600, breaker_a=20)
    return with_parts(
        base,
        generators=(builders.generator(rated_kw=kw),),
        transfer_switches=(
            *base.transfer_switches,
            TransferSwitch(id="hand", name="Shop switch", kind="manual", rating_a=60),
        ),
        panels=(*base.panels, builders.panel("shop", rating_a=100)),
        feeders=(
            *base.feeders,
            builders.feeder("main", "hand", "utility", breaker_a=60, spaces=(6, 8)),
            builders.feeder("set", "hand", "generator", breaker_a=30),
            builders.feeder("hand", "shop"),
        ),
        circuits=(*base.circuits, kiln.model_copy(update={"outage_role": role})),
    )


def of_set(site):
    return {s.method: s for s in demand_of(site, "set", rules=RULES).sheets}


def past(site):
    found = check_site(site, recheck=True).findings
    return [f for f in found if f.code == "demand-above-rating" and f.element_id == "set"]


def test_both_are_summed_leg_by_leg():
    """25 + 15 = 40 A on the heavier leg, 15 + 15 on the other; 4,800 + 3,600 VA."""
    sheet = of_set(both_ways(kw=20))["selected"]
    assert (sheet.legs.l1_a, sheet.legs.l2_a) == (pytest.approx(30), pytest.approx(40))
    assert sheet.total_va == pytest.approx(4800 + 3600)
    assert "What transfers by itself" in {line.label for line in sheet.lines}
    assert of_set(both_ways(kw=20))["full"].leg_a == pytest.approx(25)


def test_the_neutral_is_the_sum_of_both():
    """1,200 W of 120 V by hand are 10 A of the neutral; of 25 A by itself 10 A are of 240 V."""
    site = both_ways(kw=20)
    heater = of_kind("heater", "shop", (5,), "portable-heater", load_w=1200, breaker_a=20)
    site = with_parts(site, circuits=(*site.circuits, heater))
    sheets = of_set(site)
    alone, both = sheets["full"].legs, sheets["selected"].legs
    assert alone.neutral_a == pytest.approx(15)
    assert both.neutral_a == pytest.approx(15 + 10)
    assert both.unbalance_a == pytest.approx(alone.unbalance_a + 10)
    assert both.to_neutral_va == pytest.approx(alone.to_neutral_va + 1200)


@pytest.mark.parametrize(("kw", "over"), [(9.0, True), (10.0, False)])
def test_a_set_that_holds_each_alone_and_not_both_is_past_its_limit(kw, over):
    """9 kW give 36.8 A and 10 kW 40.9 A, 1.8 % less than their plates for heat."""
    found = past(both_ways(kw=kw))
    assert bool(found) is over
    for one in found:
        assert "by the sum of what is selected, and what transfers by itself" in one.text
        assert "is calculated to carry 40 A" in one.text
        assert one.recheck.clears


def test_what_stays_off_by_hand_leaves_what_transfers_by_itself():
    (one,) = left_off(both_ways(kw=9.0))
    assert one.fits
    assert [c.id for c in one.circuits] == ["kiln"]
    assert one.counted_a == pytest.approx(40)
    assert one.left_a == pytest.approx(25)
    off = in_role(both_ways(kw=9.0), "kiln", "by_hand")
    assert set(of_set(off)) == {"full"}


def test_where_that_alone_is_too_much_no_breaker_left_off_by_hand_mends_it():
    """5 kW give 20.5 A."""
    (one,) = left_off(both_ways(kw=5.0))
    assert not one.fits
    assert one.left_a == pytest.approx(25)


@pytest.mark.parametrize(("setting_a", "counted_a"), [(35, 35), (45, 40), (25, 30)])
def test_a_manager_that_measures_the_set_lets_on_what_is_left_beside_a_hand(setting_a, counted_a):
    """Held are 10 A on both legs; 15 A on the heavier leg and the kiln's 15 A are not.

    It lets 5 A of them on at 35 A and none at 25 A. All are 40 A, which no setting makes more.
    """
    base = both_ways(kw=20)
    manager = EnergyGroup(
        id="m", name="Manager", way="setting", setting_a=setting_a, watch_id="set"
    )
    held = tuple(
        c.model_copy(update={"energy_group_id": "m", "outage_role": "managed"})
        if c.id == "d"
        else c
        for c in base.circuits
    )
    sheets = of_set(with_parts(base, circuits=held, energy_groups=(manager,)))
    assert sheets["selected"].leg_a == pytest.approx(counted_a)


def test_what_transfers_by_itself_is_one_line_and_no_service():
    """4,800 VA of it at once; the least of a service, 60 or 100 A, is no set's."""
    sheet = of_set(both_ways(kw=20))["selected"]
    (own,) = (line for line in sheet.lines if line.label == "What transfers by itself")
    assert (own.quantity, own.each, own.demand_va) == (1, pytest.approx(4800), pytest.approx(4800))
    assert sheet.least_a is None


def chosen(*loads: Load, beside: tuple[Load, ...] = (), rules=RULES):
    return selected(Dwelling("Set", 0), loads, rules, beside=beside)


def test_a_motor_counts_at_its_own_current_where_a_person_selects():
    """1,200 VA at 120 V: 10 A of its leg, not raised by 25 % again."""
    motor = Load("Pump", "individual", 1200, volts=120, leg="L1", motor_va=1200)
    sheet = chosen(motor)
    assert (sheet.legs.l1_a, sheet.legs.l2_a) == (pytest.approx(10), 0)
    assert sheet.least_a is None


def test_the_smaller_of_heating_and_cooling_stands_beside_at_nothing():
    heat, cool = Load("Heat", "individual", 2400), Load("Cool", "cooling", 1200)
    sheet = chosen(heat, beside=(cool,))
    assert [(x.label, x.demand_va) for x in sheet.lines] == [("Heat", 2400), ("Cool", 0)]
    assert sheet.total_va == 2400


def test_an_amended_share_of_what_is_selected_is_used():
    site = with_parts(
        both_ways(kw=20),
        amendments=(LocalAmendment(figure="generator_selected", value=0.5, reason="Ordinance"),),
    )
    rules, _ = site_rules(site)
    assert chosen(Load("Heat", "individual", 2400), rules=rules).total_va == 1200
