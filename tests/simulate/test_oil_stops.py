"""Sets stopped for their oil whenever the engine has run its interval."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, generator, scenario


def site(oil_check_h: float | None = 8.0) -> Site:
    made = generator(oil_check_h=oil_check_h, start_delay_s=60, cool_down_min=0)
    return backed_up_site(generators=(made,))


def day(**changes):
    return scenario("out", span_h=26, outage_h=(0, 26), **changes)


def stops(run: Run) -> list[float]:
    """Minutes after the start at which the set is stopped for its oil."""
    return [
        (e.at - START).total_seconds() / 60 for e in run.events if "stopped for its oil" in e.text
    ]


def test_it_stops_after_every_interval_of_engine_hours() -> None:
    run = simulate(site(), day(oil_stop_min=30))
    # Turning one minute after the outage: 8 h of running, 30 min still, start again, 8 h more.
    assert stops(run) == pytest.approx([481, 991, 1501], abs=0.01)
    (set_,) = (s for s in run.sources if s.kind == "generator")
    assert set_.run_h == pytest.approx(24 + 29 / 60, abs=0.01)
    assert set_.starts == 4


def test_its_bus_is_dead_for_the_stop_and_the_start_after_it() -> None:
    run = simulate(site(), day(oil_stop_min=30))
    service = {s.circuit_id: s for s in run.service}
    assert service["b"].longest_gap_min == pytest.approx(31, abs=0.2)


@pytest.mark.parametrize(("interval_h", "minutes"), [(None, 30.0), (8.0, None)])
def test_nobody_stops_it_without_an_interval_or_without_being_told(interval_h, minutes) -> None:
    assert stops(simulate(site(interval_h), day(oil_stop_min=minutes))) == []


def test_a_stop_for_service_counts_from_anew() -> None:
    stop = Window(start=START + timedelta(hours=5), end=START + timedelta(hours=5, minutes=20))
    run = simulate(site(), day(oil_stop_min=30, generator_stops=(stop,)))
    assert stops(run)[0] == pytest.approx(5 * 60 + 20 + 8 * 60, abs=0.01)


def test_then_its_oil_is_never_due() -> None:
    from server.simulate.harms import harms

    late = [h for h in harms(simulate(site(), day())) if h.kind == "oil"]
    tended = [h for h in harms(simulate(site(), day(oil_stop_min=30))) if h.kind == "oil"]
    assert late[0].at is not None
    assert tended[0].at is None
