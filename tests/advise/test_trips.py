"""Trip bands: what UL 489 promises of a breaker, and what it leaves open."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.trips import Trip, trips_of
from server.domain.behaviour import Stage, Timed
from server.domain.scenario import ApplianceEvent
from server.rules.trip_band import must_trip_within
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, normal_only_site, scenario, service


def on_20_a(*stages: tuple[float, float]) -> tuple[Trip, ...]:
    """Trips of a 20 A breaker whose load runs so many minutes at such a multiple of it."""
    parts = tuple(Stage(minutes=minutes, share=multiple / 4) for minutes, multiple in stages)
    load = appliance("load", 120 * 20 * 4, behaviour=Timed(stages=parts))
    site = normal_only_site(circuits=(circuit("a", "main", 1, appliances=(load,)),))
    begin = ApplianceEvent(appliance_id="load", at=START + timedelta(minutes=10))
    return trips_of(simulate(site, scenario(events=(begin,))))


def minutes_in(one: Trip) -> float:
    return (one.at - START).total_seconds() / 60


def test_at_its_rating_a_breaker_holds() -> None:
    assert on_20_a((120, 0.999)) == ()


@pytest.mark.parametrize(("minutes", "multiple"), [(300, 1.3), (59, 1.4), (1, 1.9)])
def test_in_the_band_it_may_trip_from_the_first_minute_or_never(
    minutes: float, multiple: float
) -> None:
    (one,) = on_20_a((minutes, multiple))
    assert (one.answer, minutes_in(one)) == ("may", 10)
    assert one.multiple == pytest.approx(multiple, rel=1e-4)
    assert one.held_min == pytest.approx(minutes)


def test_at_135_per_cent_a_20_a_breaker_has_tripped_within_the_hour() -> None:
    (one,) = on_20_a((61, 1.36))
    assert (one.answer, minutes_in(one)) == ("must", 70)


def test_at_twice_its_rating_it_has_tripped_within_two_minutes() -> None:
    (one,) = on_20_a((30, 1.4), (5, 2.01), (60, 1.4))
    assert (one.answer, minutes_in(one)) == ("must", 42)


def test_a_break_in_the_overload_begins_the_hour_anew() -> None:
    (one,) = on_20_a((40, 1.4), (10, 0.5), (40, 1.4))
    assert (one.answer, one.held_min) == ("may", 40)


def test_the_leg_that_must_open_it_is_told_and_not_the_one_with_the_highest_minute() -> None:
    """Of two poles at 30 A, 55 A for a minute may trip; 42 A for three hours must within one."""

    def run_of(name: str, space: int, minutes: float, amps: float):
        stage = Stage(minutes=minutes, share=1.0)
        load = appliance(name, 120 * amps, behaviour=Timed(stages=(stage,)))
        return circuit(name, "main", space, appliances=(load,), breaker_a=60)

    site = normal_only_site(
        services=(service(main_a=30),),
        circuits=(run_of("peak", 1, 1, 55), run_of("long", 3, 180, 42)),
    )
    begins = tuple(
        ApplianceEvent(appliance_id=name, at=START + timedelta(minutes=after))
        for name, after in (("peak", 10), ("long", 30))
    )
    found = trips_of(simulate(site, scenario(events=begins)))
    main = next(t for t in found if t.rating_a == 30)
    assert (main.leg, main.answer, minutes_in(main)) == ("L2", "must", 90)


@pytest.mark.parametrize(
    ("rating_a", "at_135", "at_200"),
    [(15, 60, 2), (30, 60, 2), (40, 60, 4), (50, 60, 4), (60, 120, 6), (100, 120, 6),
     (125, 120, 8), (200, 120, 10), (400, 120, 12)],
)  # fmt: skip
def test_times_grow_with_the_size(rating_a: float, at_135: float, at_200: float) -> None:
    """UL 489: 135 % within 1 h to 50 A, 2 h above; 200 % by size (above 30 A from memory)."""
    times = must_trip_within(rating_a=rating_a)
    assert [t.minutes for t in times] == [at_135, at_200]
