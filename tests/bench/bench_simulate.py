"""How long a run takes, and a move with a run: ``python -m tests.bench.bench_simulate``.

Prints one 7-day run of 60 appliances after warm-up, split into march, flows and summary, and the
95th percentile of moving a circuit and running three days of a 60-circuit house again.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import ExitStack
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import numpy as np

from server.domain.behaviour import (
    Charger,
    Cycle,
    DailyStart,
    Hourly,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.edits import move_circuit
from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate import prepared as prepared_module
from server.simulate import run as run_module
from server.simulate.run import simulate, warm_up
from tests.builders import START, appliance, circuit, double_throw_site, panel, scenario, with_parts

PANELS = ("main", "backed", "swing")


def behaviours() -> tuple[Any, ...]:
    """One of each model, to be taken in turns."""
    return (
        Hourly(shares=tuple(0.2 + 0.03 * h for h in range(24))),
        Cycle(on_min=12, off_min=25),
        Timed(
            stages=(
                Stage(minutes=15, share=1),
                Stage(minutes=40, share=1, cycle_on_s=40, cycle_off_s=80),
            ),
            starts=(
                DailyStart(hour=7, spread_min=30),
                DailyStart(hour=18, chance=0.8, spread_min=45),
            ),
        ),
        Tank(gallons=50, draws_gal_by_hour=(2.5,) * 24),
        RoomUnit(zone_id="house", mode="heat", cop=3, min_off_min=5),
        Charger(energy_kwh=20),
    )


def busy_site(circuits: int = 60) -> Site:
    """A switchable house with solar and one appliance of each kind in turn on each circuit."""
    base = double_throw_site(solar=True)
    found = []
    next_space = dict.fromkeys(PANELS, 21)
    for i in range(circuits):
        where = PANELS[i % 3]
        space = next_space[where]
        next_space[where] += 1
        behaviour = behaviours()[i % 6]
        load = appliance(f"load-{i}", 300 + 20 * i, behaviour=behaviour, power_factor=0.9)
        found.append(circuit(f"c-{i}", where, space, appliances=(load,)))
    return with_parts(
        base,
        panels=tuple(panel(p.id, spaces=64, rating_a=p.rating_a) for p in base.panels),
        circuits=tuple(found),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=500, gain_btuh=2000),),
    )


def _timed(call: Callable[[], object], repeat: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    took = []
    for _ in range(repeat):
        begin = time.perf_counter()
        call()
        took.append(1000.0 * (time.perf_counter() - begin))
    return np.array(took)


def split_of_a_week(repeat: int = 30) -> dict[str, float]:
    """Median milliseconds of a 7-day run and of its parts."""
    site = busy_site()
    week = scenario(
        "week", span_h=168, outages=(Window(start=START, end=START + timedelta(hours=60)),)
    )
    simulate(site, week)
    spent: dict[str, list[float]] = {}

    def watch(module: object, name: str) -> Callable[..., Any]:
        inner = getattr(module, name)

        def outer(*args: Any, **named: Any) -> Any:
            begin = time.perf_counter()
            out = inner(*args, **named)
            spent.setdefault(name, []).append(1000.0 * (time.perf_counter() - begin))
            return out

        return outer

    parts = dict.fromkeys(
        ("limit_points", "build_supply", "pack", "march", "add_flows"), prepared_module
    )
    parts["summarise_limits"] = run_module
    with ExitStack() as stack:
        for name, module in parts.items():
            stack.enter_context(patch.object(module, name, watch(module, name)))
        whole = _timed(lambda: simulate(site, week), repeat)
    found = {name: float(np.median(spent[name])) for name in parts}
    found["whole"] = float(np.median(whole))
    found["whole, best"] = float(whole.min())
    found["rest"] = found["whole"] - sum(found[name] for name in parts)
    return found


def move_and_run(moves: int = 60) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Milliseconds of moving a circuit and running three days again, move by move."""
    site = busy_site()
    days = scenario("days", span_h=72, outage_h=(9, 60))
    simulate(site, days)
    took = []
    for i in range(moves):
        begin = time.perf_counter()
        site = move_circuit(site, f"c-{i % 60}", PANELS[(i + 1) % 3])
        simulate(site, days)
        took.append(1000.0 * (time.perf_counter() - begin))
    return np.array(took)


def main() -> None:
    """Print the figures."""
    warm_up()
    for name, ms in split_of_a_week().items():
        print(f"7 days, 60 appliances: {name:18s} {ms:8.2f} ms")
    took = move_and_run()
    print(f"move and run 3 days, 60 circuits: median {np.median(took):.1f} ms")
    print(f"move and run 3 days, 60 circuits: p95    {np.quantile(took, 0.95):.1f} ms")


if __name__ == "__main__":
    main()
