"""The to-do list of an outage: what comes again and lasts far longer than the first time."""

from __future__ import annotations

from datetime import datetime, timedelta

from server.advise.outage_plan import OutagePlan, outage_plan
from server.advise.plan_later import over_in
from server.advise.plan_moved import moved_by
from server.domain.catalogue import KINDS
from server.domain.lengths import span_words
from server.domain.scenario import Window
from server.domain.supply import FuelTank
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, circuit, generator, scenario, with_parts

NEEDED = ("sump-pump", "sleep-apnea-machine", "smoke-alarms")


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def fed_from_a_can(*, tank_gal: float, **changed) -> tuple[Run, OutagePlan]:
    """A gasoline set by hand out from 14:00 on for 34 h, with two stops of half an hour."""
    base = backed_up_site()
    things = [
        circuit(
            kind,
            "backed",
            21 + 2 * n,
            appliances=(KINDS[kind].appliance(kind),),
            load_class="must_serve" if kind in NEEDED else "important",
            own_battery_min=960.0 if kind == "smoke-alarms" else None,
        )
        for n, kind in enumerate((*NEEDED, "internet-gear"))
    ]
    stops = tuple(Window(start=at(h), end=at(h + 0.5)) for h in (4, 5))
    day = scenario(
        "out",
        span_h=40,
        outage_h=(2, 36),
        generator_stops=stops,
        **{"pit_inflow_gpm": 2.0, **changed},
    )
    tank = FuelTank(capacity_gal=tank_gal, fill_share=1.0, reserve_share=0.1)
    site = with_parts(
        base,
        generators=(generator(fuel="gasoline", start="by_hand", tank=tank),),
        panels=tuple(p.model_copy(update={"spaces": 42}) for p in base.panels),
        circuits=(*base.circuits, *things),
        scenarios=(day,),
    )
    run = simulate(site, day)
    plan = outage_plan(run)
    assert plan is not None
    return run, plan


def test_a_dark_that_is_far_longer_than_the_first_has_its_own_hour():
    run, plan = fed_from_a_can(tank_gal=8.0)
    (need,) = run.fuel
    assert need.dry_at is not None
    assert need.dry_at > at(5.5)
    first, long = (t for t in plan.during if t.text.startswith("Modem and router out until"))
    assert first.at == at(2)
    assert "and 2 more times later, and for far longer later" in first.text
    assert abs(long.at - need.dry_at) < timedelta(seconds=2)
    until = span_words((at(36) - need.dry_at).total_seconds() / 60.0)
    assert f"until about Sat 28 Nov 00:00, {until}" in long.text
    (alarms,) = [t for t in plan.during if "The alarms on it then stand on their batter" in t.text]
    assert abs(alarms.at - need.dry_at) < timedelta(seconds=2)
    assert "can wait 10 h 40 min" in alarms.text


def test_every_time_that_a_pit_runs_over_is_told_at_its_hour():
    run, plan = fed_from_a_can(tank_gal=8.0)
    stops = run.scenario.generator_stops
    told = [t for t in plan.during if t.text.startswith("Run the pit of")]
    assert [t.at for t in told] == [w.start for w in stops]
    assert all("and even from empty after 9 min. Be done sooner" in t.text for t in told)
    assert all("Flood:" in t.caution for t in told)
    (need,) = run.fuel
    (again,) = [t for t in plan.during if "pit runs over again" in t.text]
    assert need.dry_at is not None
    assert need.dry_at < again.at < need.dry_at + timedelta(minutes=10)
    assert all(w.start < over_in(run, "sump-pump", w) < w.end for w in stops)


def test_a_slow_pit_tells_nothing_of_its_empty_bearing_and_no_later_time():
    _, plan = fed_from_a_can(tank_gal=400.0, pit_inflow_gpm=0.5)
    words = "\n".join(t.text for t in plan.during)
    assert "even from empty" not in words
    assert "runs over again" not in words
    assert "far longer" not in words


def test_nobody_is_moved_in_the_night_as_the_fuel_ends():
    run, plan = fed_from_a_can(tank_gal=8.0)
    (need,) = run.fuel
    (moved,) = [t for t in plan.during if t.text.startswith("Take whoever needs")]
    assert need.dry_at is not None
    assert moved.at <= need.dry_at - timedelta(hours=1.9)
    assert f"The fuel ends about {need.dry_at:%a} {need.dry_at.day}" in moved.text
    night = datetime(2026, 11, 28, 1, 59)
    assert moved_by(run, night, night, at(2)) == datetime(2026, 11, 27, 18, 0)
    assert moved_by(run, night, None, at(2)) == night


def test_with_the_roads_closed_somebody_is_moved_before_the_outage():
    _, plan = fed_from_a_can(tank_gal=8.0, roads="closed")
    (moved,) = [t for t in plan.before if t.text.startswith("Take whoever needs")]
    assert moved.at == at(0)
    assert not any(t.text.startswith("Take whoever needs") for t in plan.during)
