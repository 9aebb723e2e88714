"""Every row of the state table, and every way from one row to another, through whole runs.

| state                              | normal    | backed-up    | switchable                   |
| grid up                            | grid+sun  | grid         | as the bus it is thrown to   |
| grid up, set exercising            | grid      | grid         | "                            |
| grid down, set starting            | dead      | dead         | "                            |
| grid down, set running, transferred| dead      | generator    | "                            |
| grid down, failed, absent, service | dead      | dead         | "                            |
| grid back, automatic               | live      | after delay  | "                            |
| grid back, manual                  | live      | by hand      | "                            |
| switch in motion                   | as before | dead         | dead                         |

Source: common practice, no source; times follow from the delays set below.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest

from server.domain.scenario import Scenario, SwitchMove, Weather, Window
from server.domain.site import Site
from server.domain.supply import TransferSwitch
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    generator,
    handle_set_site,
    panel,
    set_120_only_site,
    with_parts,
)

DAY = datetime(2026, 6, 18)
GRID, SET, DEAD = "Service grid", "Generator set", "dead"
SUN, DARK = True, False


def at(clock: str) -> datetime:
    hours, minutes, *seconds = map(int, clock.split(":"))
    return DAY + timedelta(hours=hours, minutes=minutes, seconds=seconds[0] if seconds else 0)


def window(start: str, end: str) -> Window:
    return Window(start=at(start), end=at(end))


def house(resting: str, *, automatic: bool, motion_s: float = 20) -> Site:
    """A switchable house with slow switches, so that every state lasts more than a step."""
    base = double_throw_site(resting=resting, solar=True)
    switch = TransferSwitch(
        id="ats",
        name="Transfer switch",
        kind="automatic" if automatic else "manual",
        rating_a=100,
        transfer_delay_s=30,
        return_delay_min=10,
        motion_s=motion_s,
    )
    engine = generator(start_delay_s=60, cool_down_min=5)
    throw = base.double_throws[0].model_copy(update={"motion_s": 30})
    return with_parts(
        base, transfer_switches=(switch,), generators=(engine,), double_throws=(throw,)
    )


def day(**changes: Any) -> Scenario:
    parts = {
        "id": "day",
        "name": "Day",
        "start": at("10:00"),
        "span_h": 4,
        "step_s": 10,
        "weather": Weather(low_f=60, high_f=60, sun_share=1.0),
    }
    return Scenario(**parts | changes)


@dataclass(frozen=True)
class Course:
    """A course of events, and what stands on the buses at some instants of it."""

    name: str
    rows: tuple[tuple[str, str, str, bool], ...]
    scenario: dict[str, Any] = field(default_factory=dict)
    automatic: bool = True


OUT = {"outages": (window("11:00", "13:00"),)}
COURSES = (
    Course("grid up", (("10:30", GRID, GRID, SUN), ("13:59:55", GRID, GRID, SUN))),
    Course(
        "exercising without load",
        (("10:15", GRID, GRID, SUN), ("10:40", GRID, GRID, SUN)),
        {"generator_exercise": (window("10:10", "10:30"),)},
    ),
    Course(
        "automatic transfer and return",
        (
            ("10:59:55", GRID, GRID, SUN),
            ("11:00:05", DEAD, DEAD, DARK),  # starting
            ("11:01:25", DEAD, DEAD, DARK),  # up to speed, not yet transferred
            ("11:01:35", DEAD, DEAD, DARK),  # in motion
            ("11:01:45", DEAD, DEAD, DARK),
            ("11:01:55", DEAD, SET, DARK),
            ("12:59:55", DEAD, SET, DARK),
            ("13:00:05", GRID, SET, DARK),  # back, solar waits
            ("13:04:55", GRID, SET, DARK),
            ("13:05:05", GRID, SET, SUN),
            ("13:09:55", GRID, SET, SUN),
            ("13:10:05", GRID, DEAD, SUN),  # in motion
            ("13:10:25", GRID, GRID, SUN),
        ),
        OUT,
    ),
    Course(
        "manual transfer and return",
        (
            ("11:00:05", DEAD, DEAD, DARK),
            ("11:14:55", DEAD, DEAD, DARK),
            ("11:15:05", DEAD, DEAD, DARK),  # in motion
            ("11:15:25", DEAD, SET, DARK),
            ("13:00:05", GRID, SET, DARK),
            ("13:19:55", GRID, SET, SUN),  # nobody has acted yet
            ("13:20:05", GRID, DEAD, SUN),
            ("13:20:25", GRID, GRID, SUN),
        ),
        OUT,
        automatic=False,
    ),
    Course(
        "set fails",
        (
            ("11:10", DEAD, DEAD, DARK),
            ("12:59:55", DEAD, DEAD, DARK),
            ("13:00:05", GRID, GRID, DARK),
            ("13:05:05", GRID, GRID, SUN),
        ),
        OUT | {"generator": "fails"},
    ),
    Course(
        "set absent",
        (("12:00", DEAD, DEAD, DARK), ("13:00:05", GRID, GRID, DARK)),
        OUT | {"generator": "absent"},
    ),
    Course(
        "set absent, manual switch",
        (("12:00", DEAD, DEAD, DARK), ("13:00:05", GRID, GRID, DARK)),
        OUT | {"generator": "absent"},
        automatic=False,
    ),
    Course(
        "service stop in the outage",
        (
            ("11:59:55", DEAD, SET, DARK),
            ("12:00:05", DEAD, DEAD, DARK),
            ("12:19:55", DEAD, DEAD, DARK),
            ("12:20:55", DEAD, DEAD, DARK),  # starting again
            ("12:21:05", DEAD, SET, DARK),
        ),
        OUT | {"generator_stops": (window("12:00", "12:20"),)},
    ),
    Course(
        "stopped for service when the grid returns: an automatic switch goes back at once",
        (
            ("12:55", DEAD, DEAD, DARK),
            ("13:00:05", GRID, DEAD, DARK),  # in motion
            ("13:00:25", GRID, GRID, DARK),
            ("13:35", GRID, GRID, SUN),
        ),
        OUT | {"generator_stops": (window("12:50", "13:30"),)},
    ),
    Course(
        "stopped for service when the grid returns: a hand switch stays dead on the set",
        (
            ("12:55", DEAD, DEAD, DARK),
            ("13:00:25", GRID, DEAD, DARK),
            ("13:19:55", GRID, DEAD, SUN),
            ("13:20:25", GRID, GRID, SUN),
        ),
        OUT | {"generator_stops": (window("12:50", "13:30"),)},
        automatic=False,
    ),
    Course(
        "service stop while waiting to return",
        (
            ("13:04:55", GRID, SET, DARK),
            ("13:05:05", GRID, DEAD, SUN),
            ("13:05:25", GRID, GRID, SUN),
            ("13:35", GRID, GRID, SUN),
        ),
        OUT | {"generator_stops": (window("13:05", "13:30"),)},
    ),
    Course(
        "stopped for service when the outage starts",
        (
            ("11:10", DEAD, DEAD, DARK),
            ("11:21:25", DEAD, DEAD, DARK),
            ("11:21:55", DEAD, SET, DARK),
        ),
        OUT | {"generator_stops": (window("10:50", "11:20"),)},
    ),
    Course(
        "stopped for service before the switch has gone over",
        (
            ("11:10", DEAD, DEAD, DARK),
            ("11:21:25", DEAD, DEAD, DARK),
            ("11:21:55", DEAD, SET, DARK),
        ),
        OUT | {"generator_stops": (window("11:01:10", "11:20"),)},
    ),
    Course(
        "second outage while still on the set",
        (
            ("12:04:55", GRID, SET, DARK),
            ("12:05:05", DEAD, SET, DARK),
            ("13:00:05", GRID, SET, DARK),
            ("13:05:05", GRID, SET, SUN),
            ("13:10:25", GRID, GRID, SUN),
        ),
        {"outages": (window("11:00", "12:00"), window("12:05", "13:00"))},
    ),
    Course(
        "second outage during cool-down: no new start",
        (
            ("12:10:25", GRID, GRID, SUN),
            ("12:12:25", DEAD, DEAD, DARK),
            ("12:12:35", DEAD, DEAD, DARK),  # in motion
            ("12:12:55", DEAD, SET, DARK),
            ("13:10:25", GRID, GRID, SUN),
        ),
        {"outages": (window("11:00", "12:00"), window("12:12", "13:00"))},
    ),
    Course(
        "second outage after the set has stopped",
        (("12:31:25", DEAD, DEAD, DARK), ("12:31:55", DEAD, SET, DARK)),
        {"outages": (window("11:00", "12:00"), window("12:30", "13:00"))},
    ),
    Course(
        "second outage before a person has gone back",
        (
            ("12:10", GRID, SET, SUN),
            ("12:15:05", DEAD, SET, DARK),
            ("13:19:55", GRID, SET, SUN),
            ("13:20:25", GRID, GRID, SUN),
        ),
        {"outages": (window("11:00", "12:00"), window("12:15", "13:00"))},
        automatic=False,
    ),
    Course(
        "outage shorter than the start",
        (
            ("11:00:35", DEAD, DEAD, DARK),
            ("11:00:45", GRID, GRID, DARK),
            ("12:00", GRID, GRID, SUN),
        ),
        {"outages": (window("11:00", "11:00:40"),)},
    ),
    Course(
        "outage over before the switch goes",
        (
            ("11:01:15", DEAD, DEAD, DARK),
            ("11:01:25", GRID, GRID, DARK),
            ("11:04", GRID, GRID, DARK),
        ),
        {"outages": (window("11:00", "11:01:20"),)},
    ),
    Course(
        "outage shorter than a person takes",
        (
            ("11:09:55", DEAD, DEAD, DARK),
            ("11:10:05", GRID, GRID, DARK),
            ("12:00", GRID, GRID, SUN),
        ),
        {"outages": (window("11:00", "11:10"),)},
        automatic=False,
    ),
    Course(
        "outage during exercise: the set already turns",
        (
            ("10:20:25", DEAD, DEAD, DARK),
            ("10:20:45", DEAD, DEAD, DARK),  # in motion
            ("10:20:55", DEAD, SET, DARK),
        ),
        {
            "generator_exercise": (window("10:10", "10:30"),),
            "outages": (window("10:20", "13:00"),),
        },
    ),
    Course(
        "outage in force before the start",
        (
            ("10:00:05", DEAD, SET, DARK),
            ("11:00:05", GRID, SET, DARK),
            ("11:05:05", GRID, SET, SUN),
            ("11:10:25", GRID, GRID, SUN),
        ),
        {"outages": (window("9:00", "11:00"),)},
    ),
    Course(
        "outage that ended just before the start",
        (
            ("10:00:05", GRID, SET, DARK),
            ("10:02:55", GRID, SET, DARK),
            ("10:03:05", GRID, SET, SUN),
            ("10:07:55", GRID, SET, SUN),
            ("10:08:25", GRID, GRID, SUN),
        ),
        {"outages": (window("9:00", "9:58"),)},
    ),
    Course(
        "span ends inside an outage",
        (("13:31:55", DEAD, SET, DARK), ("13:59:55", DEAD, SET, DARK)),
        {"outages": (window("13:30", "20:00"),)},
    ),
)


def stands_on(run: Run, bus_id: str, clock: str) -> str:
    """Name of the source of a bus at an instant, or dead; dead buses must draw nothing."""
    row = next(i for i, bus in enumerate(run.buses) if bus.id == bus_id)
    step = run.step_of(at(clock))
    index = int(run.bus_source[row, step])
    assert (index < 0) == (run.bus_live[row, step] == 0.0) or 0 < run.bus_live[row, step] < 1
    drawn = [
        float(run.circuit_w[i, step])
        for i, c in enumerate(run.site.circuits)
        if c.id in run.buses[row].circuit_ids
    ]
    assert drawn
    if index < 0:
        assert max(drawn) == 0.0
        return DEAD
    assert min(drawn) > 0.0
    return run.source_names[index]


def sun_gives(run: Run, clock: str) -> bool:
    row = next(i for i, p in enumerate(run.points) if p.kind == "solar_breaker")
    return bool(run.amps[row, 0, run.step_of(at(clock))] > 0.0)


@pytest.mark.parametrize("resting", ["normal", "backed_up"])
@pytest.mark.parametrize("course", COURSES, ids=lambda c: c.name)
def test_buses_stand_where_the_table_says(course: Course, resting: str) -> None:
    """Once with the switchable panel on NORMAL, once with the outage starting on BACKED-UP."""
    run = simulate(house(resting, automatic=course.automatic), day(**course.scenario))
    for clock, normal, backed_up, sun in course.rows:
        assert stands_on(run, "grid", clock) == normal, clock
        assert stands_on(run, "ats", clock) == backed_up, clock
        swing = normal if resting == "normal" else backed_up
        assert stands_on(run, "throw", clock) == swing, clock
        assert sun_gives(run, clock) == sun, clock


def events_of(run: Run) -> list[tuple[str, str]]:
    return [(f"{e.at:%H:%M:%S}", e.text) for e in run.events]


def test_events_of_an_automatic_transfer() -> None:
    run = simulate(house("normal", automatic=True), day(**OUT))
    assert events_of(run) == [
        ("11:00:00", "Utility out"),
        ("11:01:00", "Generator set up to speed"),
        ("11:01:30", "Transfer switch to generator"),
        ("13:00:00", "Utility back"),
        ("13:10:00", "Transfer switch back to utility"),
        ("13:15:00", "Generator set stops after cooling down"),
    ]
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(2 + 14 / 60)
    assert engine.starts == 1


def test_events_of_a_manual_transfer() -> None:
    run = simulate(house("normal", automatic=False), day(**OUT))
    assert events_of(run) == [
        ("11:00:00", "Utility out"),
        ("11:01:00", "Generator set up to speed"),
        ("11:15:00", "Transfer switch to generator"),
        ("13:00:00", "Utility back"),
        ("13:20:00", "Transfer switch back to utility"),
        ("13:25:00", "Generator set stops after cooling down"),
    ]


def test_a_set_started_by_hand_waits_for_a_person() -> None:
    site = house("normal", automatic=False)
    by_hand = site.generators[0].model_copy(update={"start": "by_hand"})
    run = simulate(with_parts(site, generators=(by_hand,)), day(**OUT, hand_start_min=25))
    assert ("11:25:00", "Generator set up to speed") in events_of(run)
    assert stands_on(run, "ats", "11:24:55") == DEAD
    assert stands_on(run, "ats", "11:25:25") == SET


def test_events_of_a_failure_and_of_a_service_stop() -> None:
    failed = simulate(house("normal", automatic=True), day(**OUT, generator="fails"))
    assert ("11:00:00", "Generator set does not start") in events_of(failed)
    assert not any("to generator" in text for _, text in events_of(failed))
    stops = (window("12:00", "12:20"),)
    served = simulate(house("normal", automatic=True), day(**OUT, generator_stops=stops))
    assert ("12:00:00", "Generator set stopped for service") in events_of(served)
    assert ("12:21:00", "Generator set started again") in events_of(served)
    engine = next(s for s in served.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(2 + 14 / 60 - 20 / 60)
    assert engine.starts == 2


def test_a_set_stopped_when_the_grid_returns_does_not_start_again() -> None:
    stops = (window("12:50", "13:05"),)
    run = simulate(house("normal", automatic=True), day(**OUT, generator_stops=stops))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(109 / 60)
    assert not any("started again" in text for _, text in events_of(run))
    assert ("13:00:00", "Transfer switch back to utility") in events_of(run)


def test_a_second_outage_in_cool_down_is_one_start() -> None:
    outages = (window("11:00", "12:00"), window("12:12", "13:00"))
    run = simulate(house("normal", automatic=True), day(outages=outages))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.starts == 1
    assert engine.run_h == pytest.approx(2 + 14 / 60)
    assert [text for _, text in events_of(run)].count("Generator set up to speed") == 1


def test_exercise_counts_as_running_but_feeds_nothing() -> None:
    exercise = (window("10:10", "10:30"),)
    run = simulate(house("normal", automatic=True), day(generator_exercise=exercise))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(1 / 3)
    assert engine.in_kwh == 0.0
    assert engine.fuel_used is not None
    assert engine.fuel_used.value > 0.0


def test_an_outage_in_force_before_the_start_is_said_at_the_start() -> None:
    run = simulate(house("normal", automatic=True), day(outages=(window("9:00", "11:00"),)))
    assert events_of(run)[0] == ("10:00:00", "Utility out since before the start")
    assert stands_on(run, "ats", "10:00:05") == SET
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(1 + 15 / 60)


@pytest.mark.parametrize("automatic", [True, False])
def test_a_throw_is_dead_in_motion_and_then_follows_its_new_bus(automatic: bool) -> None:
    moves = (
        SwitchMove(switch_id="throw", at=at("10:30"), position="backed_up"),
        SwitchMove(switch_id="throw", at=at("12:00"), position="normal"),
        SwitchMove(switch_id="throw", at=at("12:30"), position="backed_up"),
    )
    run = simulate(house("normal", automatic=automatic), day(**OUT, switch_moves=moves))
    for clock, expected in (
        ("10:29:55", GRID),
        ("10:30:05", DEAD),
        ("10:30:25", DEAD),
        ("10:30:35", GRID),  # through the transfer switch
        ("11:20", SET),  # the outage began while thrown to backed-up
        ("12:00:05", DEAD),
        ("12:10", DEAD),  # NORMAL while the grid is out
        ("12:30:25", DEAD),
        ("12:30:35", SET),
        ("13:00:05", SET),  # follows backed-up
        ("13:30", GRID),
    ):
        assert stands_on(run, "throw", clock) == expected, clock
    assert ("10:30:00", "Double-throw thrown to BACKED-UP by hand") in events_of(run)


def test_a_move_before_the_start_is_where_the_switch_stands() -> None:
    moves = (SwitchMove(switch_id="throw", at=at("8:00"), position="backed_up"),)
    run = simulate(house("normal", automatic=True), day(**OUT, switch_moves=moves))
    assert stands_on(run, "throw", "12:00") == SET


def test_a_panel_fed_by_the_set_alone_lives_while_it_gives() -> None:
    site = with_parts(
        backed_up_site(generators=(generator(start_delay_s=60, cool_down_min=5),)),
        panels=(*backed_up_site().panels, panel("barn")),
        feeders=(*backed_up_site().feeders, feeder("set", "barn", breaker_a=30)),
        circuits=(*backed_up_site().circuits, circuit("barn-light", "barn", 1, load_w=200)),
    )
    run = simulate(site, day(**OUT))
    for clock, expected in (
        ("10:30", DEAD),
        ("11:00:55", DEAD),
        ("11:01:05", SET),
        ("13:14:55", SET),
        ("13:15:05", DEAD),
    ):
        assert stands_on(run, "set", clock) == expected, clock


def test_transfer_handles_move_their_circuits_and_leave_the_rest() -> None:
    run = simulate(handle_set_site(), day(**OUT))
    for clock, panel_bus, handle in (
        ("10:30", GRID, GRID),
        ("11:14:55", DEAD, DEAD),
        ("11:16", DEAD, SET),
        ("13:00:05", GRID, SET),
        ("13:21", GRID, GRID),
    ):
        assert stands_on(run, "grid", clock) == panel_bus, clock
        assert stands_on(run, "handles:a", clock) == handle, clock
        assert stands_on(run, "handles:b", clock) == handle, clock


def test_a_handle_with_nothing_plugged_in_is_fed_all_the_same() -> None:
    site = handle_set_site()
    bare = site.circuit("a").model_copy(update={"appliances": (), "load_class": "must_serve"})
    circuits = tuple(bare if c.id == "a" else c for c in site.circuits)
    run = simulate(with_parts(site, circuits=circuits), day())
    served = next(s for s in run.service if s.circuit_id == "a")
    assert served.dead_min == 0.0
    assert not served.gap_exceeded


def test_a_120_volt_set_leaves_240_volt_loads_dead() -> None:
    site = set_120_only_site()
    pump = circuit("d", "main", 9, 11, load_w=900)
    run = simulate(with_parts(site, circuits=(*site.circuits, pump)), day(**OUT))
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == "d")
    live = [float(run.circuit_w[row, run.step_of(at(t))]) for t in ("10:30", "12:00", "13:30")]
    assert live == [900.0, 0.0, 900.0]
    served = next(s for s in run.service if s.circuit_id == "d")
    assert served.longest_gap_min == pytest.approx(140, abs=0.1)
