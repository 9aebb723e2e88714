"""Sets that do not catch at the first try."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.outage_plan import outage_plan
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, generator, interlock_site, scenario, with_parts

SITE = backed_up_site(generators=(generator(start_delay_s=10, retry_s=30),))


def day(**changes):
    return scenario("out", outage_h=(2, 5), **changes)


def gap_min(run: Run, circuit_id: str = "b") -> float:
    return next(s.longest_gap_min for s in run.service if s.circuit_id == circuit_id)


@pytest.mark.parametrize(("tries", "seconds"), [(1, 10), (2, 40), (4, 100)])
def test_every_try_that_fails_puts_the_start_off(tries: int, seconds: int) -> None:
    run = simulate(SITE, day(start_tries=tries))
    # Ten seconds to be ready, thirty for each try lost, five before the switch moves and one more.
    assert gap_min(run) == pytest.approx((seconds + 6) / 60, abs=0.01)
    (up,) = (e.at for e in run.events if "up to speed" in e.text)
    assert up == START + timedelta(hours=2, seconds=seconds)


def test_the_events_say_how_often_it_did_not_catch() -> None:
    texts = {e.text for e in simulate(SITE, day(start_tries=4)).events}
    assert "Generator set does not catch, 3 times" in texts
    assert "Generator set does not catch, once" in {
        e.text for e in simulate(SITE, day(start_tries=2)).events
    }
    assert not any("catch" in e.text for e in simulate(SITE, day()).events)


def test_a_circuit_that_bears_half_a_minute_no_longer_holds() -> None:
    alarm = SITE.circuit("b").model_copy(
        update={"load_class": "must_serve", "allowed_gap_min": 0.5}
    )
    site = with_parts(SITE, circuits=(SITE.circuits[0], alarm, *SITE.circuits[2:]))
    assert simulate(site, day()).verdict.fits
    assert not simulate(site, day(start_tries=2)).verdict.fits


def test_a_set_started_by_hand_is_put_off_as_much() -> None:
    first, third = (
        simulate(interlock_site(), day(start_tries=n, hand_start_min=10)) for n in (1, 3)
    )
    assert gap_min(third) - gap_min(first) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("outage_s", "tries", "told"),
    [
        (5, 10, ()),
        (40, 10, ("does not catch, once",)),
        (50, 10, ("does not catch, 2 times",)),
        (50, 3, ("does not catch, 2 times",)),
        (3600, 10, ("does not catch, 9 times",)),
    ],
)
def test_a_try_that_had_no_time_is_not_told(
    outage_s: float, tries: int, told: tuple[str, ...]
) -> None:
    """The first at 10 s, the next each 30 s later: within 50 s those at 10 and at 40 s."""
    out = scenario("out", outage_h=(2, 2 + outage_s / 3600), start_tries=tries, step_s=10)
    events = [e for e in simulate(SITE, out).events if "catch" in e.text]
    assert tuple(e.text.removeprefix("Generator set ") for e in events) == told
    if outage_s == 50:
        assert events[0].at == START + timedelta(hours=2, seconds=40)


def test_an_automatic_set_that_cranks_long_is_noted() -> None:
    """Three cranks are NFPA 110's (from memory): a fourth is more than a control may make."""
    codes = {
        n: [f.code for f in simulate(SITE, day(start_tries=n)).findings] for n in (1, 3, 4, 10)
    }
    assert ["set-cranks-long" in codes[n] for n in (1, 3, 4, 10)] == [False, False, True, True]
    by_hand = simulate(interlock_site(), day(start_tries=6))
    assert "set-cranks-long" not in [f.code for f in by_hand.findings]


def test_the_plan_counts_the_tries_until_a_set_is_on() -> None:
    """15 min and five failed tries of 30 s: 17.5 min."""
    plans = {n: outage_plan(simulate(interlock_site(), day(start_tries=n))) for n in (1, 6)}
    for tries, minutes in ((1, "15"), (6, "17.5")):
        texts = [task.text for task in plans[tries].during]
        assert any(f"about {minutes} min after the power fails" in text for text in texts)
    automatic = [t.text for t in outage_plan(simulate(SITE, day(start_tries=6))).during]
    assert any("only at try 6 and its control may give up before" in text for text in automatic)
