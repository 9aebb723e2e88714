"""Sets that do not catch at the first try."""

from __future__ import annotations

from datetime import timedelta

import pytest

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
