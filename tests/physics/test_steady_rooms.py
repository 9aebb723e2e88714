"""Many stretches of a room at once give what each gives alone."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from server.physics.rooms import rooms
from server.physics.steady_rooms import rooms_through
from tests.physics.test_rooms import PLANNING_CURVE, House

FURNACE = (600.0, {"cop": 30.0, "ducted": 1.0}, [])
FAN = (400.0, {"sign": 0.0}, [])
PUMP = (3300.0, {"defrost_every_s": 3600.0, "ducted": 1.0, "below": -5.0}, PLANNING_CURVE)
STRIPS = (9000.0, {"stage": 3.0, "above": 40.0, "tempers": 1.0, "ducted": 1.0}, [])
VARIABLE = (3000.0, {"least": 0.25}, PLANNING_CURVE)
COOLING = (3500.0, {"sign": -1.0, "cop": 3.2, "min_off_s": 300.0, "min_on_s": 300.0}, [])
ZONE_HEAT = (1500.0, {}, [])

HOUSES: dict[str, tuple[tuple[Any, ...], dict[str, float]]] = {
    "nothing": ((), {}),
    "furnace": ((FURNACE, FAN), {}),
    "heat pump with strips": ((FAN, PUMP, STRIPS), {}),
    "variable": ((VARIABLE,), {}),
    "baseboards": ((ZONE_HEAT, ZONE_HEAT, (900.0, {"band": 3.0}, [])), {"heat_back": 60.0}),
    "cooled": (
        (COOLING, ZONE_HEAT),
        {"gain": 1500.0, "things": 900.0, "sun": 60.0, "from": 8.0, "to": 17.0},
    ),
}


@pytest.mark.parametrize("name", HOUSES)
@pytest.mark.parametrize("step_s", [60.0, 300.0])
@pytest.mark.parametrize("on_set", [False, True])
def test_many_stretches_at_once_give_what_each_gives_alone(
    name: str, step_s: float, on_set: bool
) -> None:
    """Four days that swing from 2 to 104 °F with the power gone for a quarter of them."""
    units, changes = HOUSES[name]
    one, many = House(*units, **changes), House(*units, **changes)
    count, span = len(units), round(4 * 86_400 / step_s)
    start_s, dt_s = np.arange(span) * step_s, np.full(span, step_s)
    hour = start_s / 3600.0
    ambient = np.zeros((span, 4))
    ambient[:, 0] = 53.0 + 40.0 * np.sin(hour / 15.0) + 11.0 * np.sin(hour / 3.8)
    ambient[span // 3 :, 3] = 0.4
    ambient[:, 2] = np.maximum(0.0, 700.0 * np.sin(hour * np.pi / 12.0))
    edges = [0, span // 3, span // 3 + span // 4, span]
    asked = np.full((count, span), -1.0, dtype=np.float32)
    took = np.full((count, span), -1.0, dtype=np.float32)
    room_f = np.zeros(span, dtype=np.float32)
    own = np.zeros((2, count, span))
    own_f = np.zeros(span)
    sets = np.full(count, on_set)
    for part, (first, last) in enumerate(pairwise(edges)):
        available = np.full(count, 0.0 if part == 1 else (0.75 if on_set else 1.0))
        many.temp = rooms_through(
            many.temp,
            many.room,
            np.arange(count),
            many.state,
            many.params,
            many.ptr,
            many.curve,
            many.watts,
            available,
            sets,
            ambient,
            start_s,
            dt_s,
            first,
            last,
            0.0,
            np.zeros((count, 2)),
            np.zeros((2, count)),
            many.starts,
            many.ledger,
            asked,
            took,
            room_f,
        )
        for c in range(first, last):
            own_f[c] = one.temp = rooms(
                one.temp,
                one.room,
                np.arange(count),
                count,
                one.state,
                one.params,
                one.ptr,
                one.curve,
                one.watts,
                available,
                sets,
                ambient[c, 0],
                ambient[c, 2],
                ambient[c, 3],
                start_s[c],
                dt_s[c],
                0.0,
                np.zeros((count, 2)),
                own[0, :, c],
                own[1, :, c],
                one.starts,
                one.ledger,
            )
    assert room_f == pytest.approx(own_f, abs=1e-4)
    assert asked == pytest.approx(own[0], abs=0.01)
    assert took == pytest.approx(own[1], abs=0.01)
    assert many.starts.tolist() == one.starts.tolist()
    assert many.ledger == pytest.approx(one.ledger, rel=1e-9)
    if count:
        assert took.max() > 100.0
        assert np.ptp(own_f) > 5.0
