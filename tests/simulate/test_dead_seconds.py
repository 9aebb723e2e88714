"""A start in the seconds of a throw is made when power is back, else it is lost."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import DailyStart, Stage, Timed
from server.domain.scenario import ApplianceEvent, Window
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.run import simulate
from tests.builders import START, appliance, backed_up_site, circuit, scenario, with_parts

AT = START + timedelta(hours=2)


def washing() -> Site:
    """One run of 30 min at 1 kW, which a person starts, on the backed-up panel."""
    run = Timed(stages=(Stage(minutes=30, share=1.0),))
    wash = appliance("wash", 1_000, name="Washer", restart="by_hand", behaviour=run)
    own = circuit("w", "backed", 9, appliances=(wash,))
    base = backed_up_site()
    return with_parts(base, circuits=(*base.circuits, own))


def day(**changes):
    events = (ApplianceEvent(appliance_id="wash", at=AT + timedelta(seconds=5)),)
    return scenario(span_h=6, events=events, **changes)


def kwh(**changes) -> float:
    run = simulate(washing(), day(**changes))
    return float(run.flows.taken_by("wash").sum()) * run.scenario.step_s / 3.6e6


def test_a_start_in_the_seconds_before_a_set_gives_is_made_when_it_does() -> None:
    out = (Window(start=AT, end=AT + timedelta(hours=3)),)
    run = simulate(washing(), day(outages=out))
    taken = run.flows.taken_by("wash")
    assert float(taken.sum()) * 60 / 3.6e6 == pytest.approx(0.5, rel=1e-3)
    dead_s = [b - a for a, b in run.served.dark(len(run.site.circuits) - 1)]
    assert 0.0 < dead_s[0] < 300.0
    assert int(np.flatnonzero(taken)[0]) == int((2 * 3600 + dead_s[0]) // 60)


def test_a_start_in_a_longer_outage_is_lost() -> None:
    out = (Window(start=AT, end=AT + timedelta(minutes=20)),)
    assert kwh(outages=out, generator="absent") == 0.0
    brief = (Window(start=AT, end=AT + timedelta(minutes=4)),)
    assert kwh(outages=brief, generator="absent") == pytest.approx(0.5, rel=1e-3)


def test_a_start_with_power_stays_where_it_is() -> None:
    run = simulate(washing(), day())
    assert int(np.flatnonzero(run.flows.taken_by("wash"))[0]) == 120


def test_draws_begin_it_too() -> None:
    out = (Window(start=AT, end=AT + timedelta(hours=3)),)
    made = run_draws(washing(), day(outages=out), draws=range(3))
    row = len(washing().circuits) - 1
    assert (made.unserved_s[:, row] == 0.0).all()


@pytest.mark.parametrize(("people", "begun"), [(None, True), (2, True), (0, False)])
def test_a_start_by_habit_is_made_too_where_somebody_is_home(people, begun) -> None:
    """At 14:00 every day, as the utility goes out and its set comes on a few seconds later."""
    run = Timed(stages=(Stage(minutes=30, share=1.0),), starts=(DailyStart(hour=14.0),))
    site = washing()
    wash = site.circuits[-1].appliances[0].model_copy(update={"behaviour": run})
    own = site.circuits[-1].model_copy(update={"appliances": (wash,)})
    site = with_parts(site, circuits=(*site.circuits[:-1], own))
    out = (Window(start=AT, end=AT + timedelta(hours=3)),)
    made = simulate(site, scenario(span_h=6, outages=out, people=people))
    taken = made.flows.taken_by("wash")
    assert float(taken.sum()) * 60 / 3.6e6 == pytest.approx(0.5 if begun else 0.0, rel=1e-3)
    cut = [f for f in made.findings if f.code == "uses-cut-short"]
    assert bool(cut) is not begun


def test_starts_that_wait_for_one_gap_never_overlap() -> None:
    """Two listed within the same seconds: the second follows the first."""
    events = tuple(
        ApplianceEvent(appliance_id="wash", at=AT + timedelta(seconds=s)) for s in (2, 6)
    )
    out = (Window(start=AT, end=AT + timedelta(hours=3)),)
    run = simulate(washing(), scenario(span_h=6, outages=out, events=events))
    taken = run.flows.taken_by("wash")
    assert float(taken.sum()) * 60 / 3.6e6 == pytest.approx(1.0, rel=1e-3)
    assert float(taken.max()) == pytest.approx(1_000.0)
