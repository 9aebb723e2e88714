"""Sentences of many draws: hours count from the outage, with the clock time beside."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from server.domain.supply import FuelPoint, FuelTank
from server.simulate.chance import Chance
from server.simulate.ensemble import run_draws
from server.simulate.harms import harms
from server.simulate.odds import odds_of
from server.simulate.odds_words import odds_notes, odds_sentence
from server.simulate.run import simulate
from server.simulate.verdict import into_outage, moment
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    with_parts,
)


def test_fuel_counts_from_the_outage_like_the_harm_clock() -> None:
    site = backed_up_site(generators=(generator(tank=FuelTank(capacity_gal=8, fill_share=1.0)),))
    day = scenario(span_h=24, outage_h=(6, 24))
    (harm,) = (h for h in harms(simulate(site, day)) if h.kind == "fuel")
    assert harm.hours is not None
    assert harm.at is not None
    notes = odds_notes(day, odds_of(site, day, run_draws(site, day, draws=range(1))))
    said = f"first {harm.hours:.1f} h into the outage, {moment(harm.at)}"
    assert any(said in note for note in notes)
    assert any("What it burns is a guess, 35 % either way; no draw varies it" in n for n in notes)


def test_a_burn_that_is_known_is_not_called_a_guess() -> None:
    points = tuple(FuelPoint(load_kw=kw, rate_per_h=0.5 + kw / 10) for kw in (0, 5, 10))
    tank = FuelTank(capacity_gal=8, fill_share=1.0)
    site = backed_up_site(generators=(generator(tank=tank, fuel_points=points),))
    day = scenario(span_h=24, outage_h=(6, 24))
    notes = odds_notes(day, odds_of(site, day, run_draws(site, day, draws=range(1))))
    assert not any("guess" in note for note in notes)


def test_a_moment_before_any_outage_is_told_by_the_clock_alone() -> None:
    day = scenario(span_h=24, outage_h=(6, 24))
    assert into_outage(day, START + timedelta(hours=2)) == moment(START + timedelta(hours=2))
    assert into_outage(day, START + timedelta(hours=8)).startswith("2.0 h into the outage, ")


def test_what_else_fails_is_told_with_its_count_beside_a_limit_that_is_passed() -> None:
    """The bold sentence names fuel that ends in every draw, whatever a limit does."""
    site = backed_up_site(generators=(generator(tank=FuelTank(capacity_gal=8, fill_share=1.0)),))
    day = scenario(span_h=24, outage_h=(6, 24))
    odds = odds_of(site, day, run_draws(site, day, draws=range(2)))
    assert "(likely 0 to 66 %). But fuel ends in 2 of 2" in odds_sentence(odds)
    passed = replace(odds, any_over=Chance(1, 2))
    assert ". And fuel ends in 2 of 2" in odds_sentence(passed)


def test_gas_that_is_short_fails_the_odds_and_what_is_granted_is_told() -> None:
    site, day = backed_up_site(), scenario(span_h=2)
    odds = odds_of(site, day, run_draws(site, day, draws=range(1)))
    assert not odds.fails
    short = replace(odds, short=("Set burns more.",), provided="the motors start")
    assert short.fails
    assert odds_sentence(short).endswith(
        "In every draw alike: Set burns more. Every draw takes for granted that the motors start."
    )


def test_a_device_is_named_with_its_circuit_and_how_sure_it_is_stands_once() -> None:
    base = backed_up_site()
    device = appliance("breather", 300, kind="oxygen-concentrator", name="Breather")
    bed = circuit("bed", "main", 13, appliances=(device,))
    site = with_parts(base, circuits=(*base.circuits, bed))
    day = scenario(span_h=12, outage_h=(1, 6))
    notes = odds_notes(day, odds_of(site, day, run_draws(site, day, draws=range(4))))
    said = "Breather on Circuit bed asks for power and gets none in every draw"
    assert any(note.startswith(said) for note in notes)
    assert sum("likely" in note for note in notes) == 1
    assert notes[0].startswith("Of 4 draws: what comes in every draw is likely")
