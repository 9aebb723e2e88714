"""A switchable house with slow switches, its day, and what stands on its buses."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from server.domain.scenario import Scenario, Weather, Window
from server.domain.site import Site
from server.domain.supply import TransferSwitch
from server.simulate.results import Run
from tests.builders import (
    double_throw_site,
    generator,
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


OUT = {"outages": (window("11:00", "13:00"),)}


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
