"""What must be served only in some hours of the day is held to those hours, and to no others."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from server.domain.behaviour import Hourly
from server.domain.catalogue import KINDS
from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.harms import harms
from server.simulate.in_use import decides, quiet_spans
from server.simulate.must_serve import must_serve
from server.simulate.odds import odds_of
from server.simulate.odds_words import odds_notes
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario

MASK = appliance(
    "mask", 60, kind="sleep-apnea-machine", behaviour=KINDS["sleep-apnea-machine"].behaviour
)
LUNGS = appliance("lungs", 350, kind="oxygen-concentrator")
PLUGS = appliance("plugs", 200)


def _site(*things: Any, **changes: Any) -> Site:
    bedroom = circuit(
        "bed", "main", 1, appliances=things, **({"load_class": "must_serve"} | changes)
    )
    return normal_only_site(circuits=(bedroom, circuit("b", "main", 3)))


def _out(site: Site, *hours: tuple[float, float], **changes: Any) -> Run:
    """A run with the utility out between these hours after midnight of the first day."""
    midnight = START.replace(hour=0, minute=0)
    windows = tuple(
        Window(start=midnight + timedelta(hours=a), end=midnight + timedelta(hours=b))
        for a, b in hours
    )
    return simulate(site, scenario(start=midnight, span_h=72, outages=windows, **changes))


def test_a_gap_by_day_leaves_what_is_worn_at_night_served() -> None:
    run = _out(_site(MASK, PLUGS), (9, 16))
    fared = run.service[0]
    assert (fared.longest_gap_min, fared.dark_min, fared.dark_times) == (0.0, 0.0, 0)
    assert fared.in_use_only
    assert not fared.gap_exceeded
    assert fared.dead_min == 420.0
    assert must_serve(run).dark == ()
    assert must_serve(run).lit == ("Circuit bed while it is in use",)
    assert run.served.dark(0) == ((9 * 3600.0, 16 * 3600.0),)
    medical = next(h for h in harms(run) if h.kind == "medical")
    assert not medical.reached


def test_a_gap_at_night_counts_as_it_did() -> None:
    run = _out(_site(MASK, PLUGS), (25, 26.5))
    fared = run.service[0]
    assert (fared.longest_gap_min, fared.dark_min, fared.dark_times) == (90.0, 90.0, 1)
    assert fared.gap_exceeded
    assert "mask is without power for 1 h 30 min while it is in use" in run.verdict.sentence


def test_hours_of_use_of_two_nights_in_one_gap_are_no_stretch() -> None:
    run = _out(_site(MASK, PLUGS), (1, 1.5), (20, 55))
    assert " of use in one gap, " in run.verdict.sentence
    assert "at a stretch" not in run.verdict.sentence


def test_the_minutes_it_may_begin_early_or_end_late_count_as_in_use() -> None:
    shares = MASK.behaviour.shares
    assert (shares[6], shares[7], shares[21], shares[22]) == (0.5, 0.0, 0.0, 0.5)
    spread_h = MASK.behaviour.spread_min / 60.0
    rests = quiet_spans(_site(MASK), scenario(start=START.replace(hour=0), span_h=24))[0]
    assert rests == (((7 + spread_h) * 3600.0, (22 - spread_h) * 3600.0),)
    run = _out(_site(MASK), (7, 8))
    assert run.service[0].longest_gap_min == pytest.approx(60.0 * spread_h)


def test_many_draws_call_it_served_as_the_run_does() -> None:
    site = _site(MASK, PLUGS)
    run = _out(site, (9, 16))
    odds = odds_of(site, run.scenario, run_draws(site, run.scenario, draws=range(3)))
    fared = next(one for one in odds.service if one.circuit_id == "bed")
    assert fared.spared
    assert fared.without.hits == 3, "what else is on the circuit asks in vain"
    notes = odds_notes(run.scenario, odds)
    assert "Served in every draw: mask on Circuit bed while it is in use." in notes
    assert not [note for note in notes if note.startswith("Circuit bed asks")]


def test_the_cause_of_a_night_is_what_took_the_power_hours_before() -> None:
    """Out from 14:00 to 04:00."""
    (one,) = must_serve(_out(_site(MASK, PLUGS), (14, 28))).dark
    assert one.dark_at is not None
    assert one.dark_at < one.longest_at
    assert one.why == "The utility goes out"
    assert one.since_words == "after the utility goes out"


def test_two_nights_of_one_outage_add_up_for_no_battery_fills_between_them() -> None:
    run = _out(_site(MASK), (20, 56))
    spread_h = MASK.behaviour.spread_min / 60.0
    night_h = 9 + 2 * spread_h
    assert run.service[0].longest_gap_min == pytest.approx(60.0 * 2 * night_h)
    assert run.service[0].dark_times == 1
    one = must_serve(run).dark[0]
    assert one.first_at == START.replace(hour=22, minute=0) - timedelta(hours=spread_h)


def test_the_medical_clock_runs_over_hours_of_use_alone() -> None:
    run = _out(_site(MASK, own_battery_min=900), (20, 56))
    medical = next(h for h in harms(run) if h.kind == "medical")
    first_night_h = 9 + 2 * MASK.behaviour.spread_min / 60.0
    left_h = 10.0 - first_night_h
    second = START.replace(hour=22, minute=0) + timedelta(days=1)
    expected = second + timedelta(hours=left_h) - timedelta(minutes=MASK.behaviour.spread_min)
    assert medical.at is not None
    assert abs(medical.at - expected) <= timedelta(seconds=1)


def test_what_is_on_all_day_beside_it_is_held_to_every_hour() -> None:
    run = _out(_site(MASK, LUNGS), (9, 10))
    assert run.service[0].longest_gap_min == 60.0
    assert run.service[0].gap_exceeded
    assert decides(_site(MASK, LUNGS).circuits[0]) == (MASK, LUNGS)


def test_a_medical_device_decides_alone_and_else_everything_does() -> None:
    lamp = appliance("lamp", 250, behaviour=Hourly(shares=(0.0,) * 12 + (1.0,) * 12))
    assert quiet_spans(_site(lamp), scenario())
    assert not quiet_spans(_site(lamp, PLUGS), scenario())
    assert not quiet_spans(_site(lamp, load_class="comfort"), scenario())
    assert quiet_spans(_site(MASK, PLUGS, load_class="comfort"), scenario())
    assert not quiet_spans(_site(), scenario())


def test_with_nobody_there_nothing_is_worn() -> None:
    run = _out(_site(MASK), (0, 60), people=0)
    assert run.service[0].longest_gap_min == 0.0
    assert not run.verdict.fits  # No circuit has power, whatever asks for it.


def test_the_draws_count_the_same_gaps_as_the_run() -> None:
    for hours in ((9, 16), (20, 56)):
        run = _out(_site(MASK, PLUGS), hours)
        draws = run_draws(run.site, run.scenario, draws=range(3))
        told_s = 60 * run.service[0].longest_gap_min
        assert draws.gap_s[:, 0].tolist() == pytest.approx([told_s] * 3)
        assert draws.gap_s[0, 1] == (hours[1] - hours[0]) * 3600.0


def test_its_battery_fills_with_power_and_rests_by_day() -> None:
    # 8 h of battery: 30 min of use, 2 h of power (4 h of battery back), 30 min of use again.
    run = _out(_site(MASK, own_battery_min=480), (23, 23.5), (25.5, 26))
    assert run.service[0].drawn_min == pytest.approx(30.0)
    # By day it takes nothing out and gets nothing back: 1 h of use, a dark day, 1 h of use.
    night = _out(_site(MASK, own_battery_min=480), (30.25, 46.75))
    assert night.service[0].drawn_min == pytest.approx(60.0 * (1.0 + 1.0))
    assert not night.service[0].gap_exceeded
    draws = run_draws(night.site, night.scenario, draws=range(2))
    assert draws.gap_s[:, 0].tolist() == pytest.approx([7200.0] * 2)
