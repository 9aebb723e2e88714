"""The drop of a feeder whose legs are not alike, running and while a motor starts."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.wiring.drop import Stretch, leg_drop
from server.rules.wiring.feeder_drop import one_leg_drop
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import run_drop
from tests.builders import with_parts
from tests.rules.check_sites import RULES, found, garage, wired_shed


def farm(*, without=(), **segment):
    """The farm without some circuits, with changes of the wire of the feeder to its shed."""
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())

    def with_wire(feeder):
        if feeder.id != "feeder-shed":
            return feeder
        wire = tuple(s.model_copy(update=segment) for s in feeder.segments)
        return feeder.model_copy(update={"segments": wire})

    return with_parts(
        site,
        circuits=tuple(c for c in site.circuits if c.id not in without),
        feeders=tuple(with_wire(f) for f in site.feeders),
    )


def one_sided(**segment):
    """The farm with nothing on the second leg of its shed."""
    return farm(without=("shed-plugs", "shed-lights"), **segment)


def wired(site, feeder_id="feeder-shed"):
    return next(w for w in check_site(site).wiring if w.feeder_id == feeder_id)


def test_a_one_sided_feeder_drops_on_its_leg_through_hot_and_neutral():
    """310 ft of 2 aluminum, 0.319 ohm/kft (Chapter 9 Table 8), 15.5 A on L1 and none on L2.

    Two mats of 5 A and a fan of 1/6 hp, 1.25 x 4.4 A (Table 430.248, 430.24): 15.5 A.
    2 x 0.319 x 0.310 x 15.5 = 3.07 V of the 120 V of the leg: 2.56 %, not 1.28 % of 240 V.
    """
    shed = wired(one_sided())
    assert (shed.demand.legs.l1_a, shed.demand.legs.l2_a) == (pytest.approx(15.5, abs=0.005), 0)
    assert shed.drop.volts == 120
    assert shed.drop.dc_v == pytest.approx(3.066, abs=0.005)
    assert shed.drop.dc_share == pytest.approx(0.02555, abs=0.00005)


def test_a_start_on_one_leg_is_over_its_120_volts():
    """34.8 A at 120 V: 0.32 x 0.4 + 0.045 x 0.917 = 0.169 ohm/kft of 2 aluminum (Table 9).

    2 x 34.8 x 0.169 x 0.310 = 3.65 V on top of 3.07 V: 6.72 V of 120 V, 5.6 %.
    """
    shed = wired(one_sided())
    assert (shed.start_a, shed.start_volts) == (pytest.approx(34.8), 120)
    assert shed.start_drop.dc_share == pytest.approx(0.0560, abs=0.0001)


def test_the_size_advised_holds_the_drop_on_the_leg():
    """4 aluminum: 2 x 0.508 x 0.310 x 15.5 = 4.88 V, 4.07 % of 120 V; 2 holds 3 %."""
    shed = wired(one_sided())
    assert shed.advice.size == "2"
    four = next(c for c in shed.advice.candidates if c.size == "4")
    assert four.drop_share == pytest.approx(0.0407, abs=0.00005)


def test_a_smaller_neutral_loses_more():
    """Neutral of 4 aluminum, 0.508: 15.5 x 0.310 x (0.319 + 0.508) = 3.97 V, 3.31 %."""
    shed = wired(one_sided(neutral_size="4"))
    assert shed.drop.dc_share == pytest.approx(0.0331, abs=0.0001)


def test_legs_that_are_alike_drop_between_the_hots():
    """Its dryer's motor alone makes one leg fuller, so it is taken out."""
    site = farm()
    even = tuple(
        c.model_copy(
            update={
                "appliances": tuple(a.model_copy(update={"part_120_w": 0.0}) for a in c.appliances)
            }
        )
        for c in site.circuits
    )
    swing = wired(with_parts(site, circuits=even), "feeder-swing-normal")
    assert swing.demand.legs.l1_a == pytest.approx(swing.demand.legs.l2_a)
    assert swing.drop.volts == 240


@pytest.mark.parametrize(("light", "neutral_drop_a"), [(0.0, 40.0), (25.0, 15.0), (40.0, 0.0)])
def test_the_drop_of_unlike_legs_is_that_of_both_loops(light, neutral_drop_a):
    """Kirchhoff: of 40 A and ``light`` the neutral carries the difference, here at no angle."""
    run = Run(100, 40, neutral_drop_a=neutral_drop_a)
    found = run_drop(run, [Stretch(100, "6")], RULES)
    ohm = 0.0491
    assert found.dc_share == pytest.approx((40 * ohm + (40 - light) * ohm) / 120)


def test_two_wires_take_the_neutral_s_own_size():
    """16 A, 70 ft: 10 copper out (1.24) and 12 back (1.98): 16 x 0.07 x 3.22 = 3.61 V, 3.0 %."""
    wire = [Stretch(70, "10", neutral_size="12")]
    assert run_drop(Run(70, 16, volts=120), wire, RULES).dc_v == pytest.approx(3.61, abs=0.005)
    alone = leg_drop(leg_a=16, neutral_a=16, stretches=wire, rules=RULES)
    assert alone.dc_share == pytest.approx(0.0301, abs=0.0001)


def test_the_harder_start_is_the_one_of_the_larger_share_of_its_volts():
    """80 A at 240 V is a third of an ampere for each volt, 43 A at 120 V is 0.36."""
    transfer = wired(farm(), "feeder-transfer")
    assert (transfer.start_a, transfer.start_volts) == (43, 120)


def test_with_the_other_leg_off_the_neutral_carries_all_of_this_one():
    run = Run(100, 40, neutral_a=40, neutral_drop_a=15)
    wire = [Stretch(100, "6")]
    both = run_drop(run, wire, RULES)
    alone = one_leg_drop(run, both, wire, RULES)
    assert both.dc_share == pytest.approx(55 * 0.0491 / 120)
    assert alone.dc_share == pytest.approx(80 * 0.0491 / 120)


def test_no_line_for_one_leg_where_it_is_no_worse():
    wire = [Stretch(100, "6")]
    for run in (
        Run(100, 40),
        Run(100, 40, volts=120),
        Run(100, 40, neutral_a=15, neutral_drop_a=15),
    ):
        assert one_leg_drop(run, run_drop(run, wire, RULES), wire, RULES) is None


def test_a_load_above_the_device_says_how_it_is_brought_down_to_it():
    """147.74 A of a leg, 400 / 120 - 400 / 240 A more by the motor of the dryer, and 0.25 x
    1,200 VA / 120 V of mats and 134.25 VA / 120 V of a fan that counts in full more; a cooler of
    1,937.5 VA and a pump of 1,923 VA of the farm without the cut, 0.25 x 3,860.6 VA / 240 V. On a
    100 A device, which lets 100 A flow.
    """
    made = wired(farm(), "feeder-transfer").held_working
    assert made.value == 100
    assert [t.value for t in made.terms] == pytest.approx([154.549, 100], abs=0.005)
    assert wired(farm()).held_working is None


def flowing_a(drop):
    return next(t.value for t in drop.dc_working.terms if t.name == "Load")


@pytest.mark.parametrize(("breaker_a", "flows_a"), [(60, 48), (55, 48), (48, 48), (45, 45)])
def test_a_load_flows_whole_where_only_its_25_percent_more_passes_the_breaker(breaker_a, flows_a):
    """A car of 48 A asks 60 A of a breaker; 55 A, too small for that, let all 48 A flow."""
    one = wired(garage(1, breaker_a=breaker_a), "gf")
    assert flowing_a(one.drop) == pytest.approx(flows_a)
    assert (one.held_working is None) == (flows_a == 48)
    assert one.segments[0].carries


def test_a_load_behind_a_device_listed_for_all_of_its_rating_flows_whole():
    one = wired(garage(1, breaker_a=50, full_rated=True), "gf")
    assert flowing_a(one.drop) == pytest.approx(48)
    assert one.held_working is None


def test_a_start_from_the_source_adds_what_the_feeders_ahead_lose():
    shed = wired(farm())
    ahead = shed.path_drop_share - shed.drop.dc_share
    assert ahead > 0.005
    assert shed.path_start_share == pytest.approx(shed.start_drop.dc_share + ahead)


def test_a_thin_neutral_is_told_for_the_drop_and_not_larger_legs():
    """2 aluminum legs are enough for the shed; its drop is through a neutral of 10."""
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    thin = with_parts(
        site,
        feeders=tuple(
            f.model_copy(
                update={
                    "segments": tuple(
                        s.model_copy(update={"neutral_size": "10"}) for s in f.segments
                    )
                }
            )
            if f.to_id == "shed"
            else f
            for f in site.feeders
        ),
    )
    (shed,) = [f.id for f in site.feeders if f.to_id == "shed"]
    found = {f.code: f for f in check_site(thin, recheck=True).findings if f.element_id == shed}
    drop = found["drop-above-advice"]
    assert drop.mend == "Use a larger neutral. 2 aluminum holds it."
    assert drop.recheck.change.startswith("a neutral of 2 aluminum in ")
    assert drop.recheck.clears
    assert not [
        f for f in check_site(site).findings
        if f.element_id == shed and f.code == "drop-above-advice"
    ]  # fmt: skip


def test_a_load_above_its_breaker_loses_volts_at_what_the_breaker_leaves_of_it():
    """108.3 A on the leg and 10 A more than on the other, brought down to 60 A: 60 and 5.54 A.

    2 aluminum, 280 ft: 0.319 x 0.280 x 65.5 = 5.85 V of 120 V, 4.9 %. All of it: 10.6 V, 8.8 %.
    The share and the amps that it is told for go together.
    """
    site = wired_shed("2", breaker_a=60, load_w=20_000)
    told = found(site, "drop-above-advice").text
    assert "loses 4.9 % of the volts at 60 A, its calculated load of 108 A brought down to" in told
    free = found(wired_shed("2", breaker_a=125, load_w=20_000), "drop-above-advice").text
    assert "loses 8.8 % of the volts at its calculated load" in free
