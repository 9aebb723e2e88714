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
from typing import Any

import pytest

from server.simulate.results import Run
from server.simulate.run import simulate
from tests.reference.state_house import (
    DARK,
    DEAD,
    GRID,
    OUT,
    SET,
    SUN,
    at,
    day,
    house,
    stands_on,
    window,
)


@dataclass(frozen=True)
class Course:
    """A course of events, and what stands on the buses at some instants of it."""

    name: str
    rows: tuple[tuple[str, str, str, bool], ...]
    scenario: dict[str, Any] = field(default_factory=dict)
    automatic: bool = True


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
