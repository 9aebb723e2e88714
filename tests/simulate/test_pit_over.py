"""A pit that runs over does not hold, whatever gap its circuit was said to wait."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.next_step import next_step
from server.advise.outage_plan import outage_plan
from server.domain.behaviour import SumpPump
from server.domain.scenario import Scenario, Window
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.harms import harms
from server.simulate.must_serve import must_serve
from server.simulate.odds import odds_of
from server.simulate.odds_words import odds_notes, odds_sentence
from server.simulate.pit_over import PitOver
from server.simulate.run import simulate
from tests.builders import START, appliance, backed_up_site, circuit, scenario, with_parts

PIT = SumpPump(inflow_gpm=2.0, pump_gpm=35.0, cycle_gal=8.0, reserve_gal=10.0)


def house(pit: SumpPump = PIT, load_class: str = "must_serve") -> Site:
    base = backed_up_site()
    pump = appliance("pump", 800, kind="sump-pump", name="Sump pump", behaviour=pit)
    own = circuit(
        "pit", "backed", 9, appliances=(pump,), load_class=load_class, allowed_gap_min=120.0
    )
    return with_parts(base, circuits=(*base.circuits, own))


def gap(minutes: float) -> Scenario:
    """Out for four hours, and the set stopped for so long in them."""
    stop = START + timedelta(hours=2)
    return scenario(
        span_h=6,
        outage_h=(1, 5),
        generator_stops=(Window(start=stop, end=stop + timedelta(minutes=minutes)),),
    )


@pytest.mark.parametrize("load_class", ["must_serve", "comfort"])
def test_a_pit_over_fails_within_the_gap_that_was_typed(load_class: str) -> None:
    """30 min at 2 gal/min are 60 gal into 18 gal of pit, which had 0 to 8 in it: 42 to 50 over."""
    site = house(load_class=load_class)
    verdict = simulate(site, gap(30)).verdict
    assert verdict.gaps == ()
    assert not verdict.fits
    (pit,) = verdict.pits
    assert 41.0 < pit.spilt_gal < 53.0
    filled_min = (pit.at - START - timedelta(hours=2)).total_seconds() / 60.0
    assert 5.0 <= filled_min <= 10.1
    assert verdict.sentence.startswith("Does not hold. The pit of Sump pump runs over 1.1 h into")
    assert "gal on the floor" in verdict.sentence
    step = next_step(site, gap(30))
    assert "before its pit is full" in step.sentence
    assert step.where == "stops"
    assert f"runs over after {int(filled_min)} min of it" in step.sentence


def test_a_plan_empties_the_pit_before_the_stop_and_starts_the_set_again_after_it() -> None:
    plan = outage_plan(simulate(house(), gap(30)))
    assert plan is not None
    (empty,) = [t for t in plan.during if t.text.startswith("Run the pit of Sump pump empty")]
    (again,) = [
        t for t in plan.during if "again" in t.text and t.at == gap(30).generator_stops[0].end
    ]
    assert empty.at == gap(30).generator_stops[0].start
    assert "pits first" in again.text or "pit first" in again.text


def test_a_pit_that_has_room_holds() -> None:
    """From its float 10 gal at 2 gal/min take 5 min; a stop of 4 min spills nothing."""
    verdict = simulate(house(), gap(4)).verdict
    assert verdict.pits == ()
    assert verdict.fits


def test_draws_count_the_pit() -> None:
    site, day = house(), gap(30)
    odds = odds_of(site, day, run_draws(site, day, draws=range(6)))
    fared = next(s for s in odds.service if s.circuit_id == "pit")
    assert (fared.too_long.hits, fared.pit_over.hits) == (0, 6)
    assert odds.fails
    assert "a pit runs over" in odds_sentence(odds)
    assert any("runs over in every draw" in note for note in odds_notes(day, odds))
    dry = odds_of(site, gap(4), run_draws(site, gap(4), draws=range(6)))
    assert not dry.fails


def test_the_verdict_and_the_harm_clock_tell_one_minute() -> None:
    run = simulate(house(), gap(30.0))
    (pit,) = run.verdict.pits
    (clock,) = (h for h in harms(run) if h.kind == "sump")
    assert clock.at is not None
    assert abs(clock.at - pit.at) <= timedelta(seconds=1)


def test_a_pump_waits_no_longer_than_its_pit_held_whatever_was_typed() -> None:
    """The whole minutes from when its power goes to the brim stand in the verdict and its row."""
    site, day = house(), gap(60.0)
    run = simulate(site, day)
    (pit,) = run.verdict.pits
    (circuit,) = [c for c in site.circuits if any(a.id == pit.appliance_id for a in c.appliances)]
    (fared,) = [s for s in run.service if s.circuit_id == circuit.id]
    held_min = int((pit.at - day.generator_stops[0].start).total_seconds() // 60.0)
    assert 5 <= held_min <= 9  # from the float 10 gal are free, from empty 18, at 2 gal/min
    assert held_min < circuit.least_gap_min
    assert fared.bears_min == held_min
    (told,) = [d for d in must_serve(run).dark if d.circuit_id == circuit.id]
    assert (told.bears_min, told.entered_min) == (held_min, circuit.least_gap_min)
    assert told.too_long


def test_a_trifle_past_the_brim_is_never_told_as_nothing() -> None:
    spilt = {gal: PitOver("p", "Pit", START, gal).gallons for gal in (0.02, 0.06, 3.24, 9.6)}
    assert spilt == {0.02: "less than 0.1", 0.06: "0.1", 3.24: "3.2", 9.6: "10"}
