"""The compiled model of lamps: lit by darkness while people are up, little while they are not.

    share = up x here x (day + (dark - day) x D) + (1 - up x here) x night x D

with D the darkness of ``server.physics.sun.darkness``, up 1 between getting up and bedtime and
``here`` the share of the usual people who are there. Form: common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.domain.lighting import Lighting
from server.simulate.models import DAY_S, S0, S1, uniform

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_DARK, _DAY, _NIGHT, _HERE, _UP_S, _AWAKE_S, _SPREAD_S = range(7)
_UP_EVENTS = 1 << 44


def lighting_row(lamps: Lighting, here: float) -> tuple[float, ...]:
    """A row of ``params``; ``here`` is the share of the usual people who are there, at most 1.

    Getting up and bedtime are spread so far only that they keep their order.
    """
    awake_h = lamps.up_h
    shortest_h = min(awake_h, 24.0 - awake_h)
    return (
        lamps.dark_share,
        lamps.day_share,
        lamps.night_share,
        min(1.0, here),
        lamps.up_hour * 3600.0,
        awake_h * 3600.0,
        min(lamps.spread_min * 60.0, shortest_h * 1800.0),
    )


@njit(cache=True)
def lighting(
    start_s: Floats,
    dt_s: Floats,
    darkness: Floats,
    first: int,
    last: int,
    memory: Floats,
    params: Floats,
    midnight_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts of lamps; ``darkness`` (cells,) from 0 to 1.

    S0 whether the people are up, S1 until when. [s]
    """
    up, until_s = memory[S0], memory[S1]
    for c in range(first, last):
        now, end_s, up_s = start_s[c], start_s[c] + dt_s[c], 0.0
        while end_s > until_s:
            if until_s > now:
                up_s += up * (until_s - now)
                now = until_s
            up, until_s = _up(now, params, midnight_s, seed, stream, draw)
        there = params[_HERE] * (up_s + up * (end_s - now)) / dt_s[c]
        lit = params[_DAY] + (params[_DARK] - params[_DAY]) * darkness[c]
        share = there * lit + (1.0 - there) * params[_NIGHT] * darkness[c]
        asked[c] = share * load_w
        took[c] = share * load_w * available
    memory[S0], memory[S1] = up, until_s


@njit(cache=True)
def _up(
    now_s: float, params: Floats, midnight_s: float, seed: int, stream: np.uint64, draw: int
) -> tuple[float, float]:
    """Whether the people are up at a moment, and until when. [s]"""
    day = math.floor((now_s - midnight_s) / DAY_S) - 2
    while True:
        u, v = uniform(seed, stream, draw, _UP_EVENTS + day)
        up_s = midnight_s + day * DAY_S + params[_UP_S]
        begin_s = up_s + (2.0 * u - 1.0) * params[_SPREAD_S]
        end_s = up_s + params[_AWAKE_S] + (2.0 * v - 1.0) * params[_SPREAD_S]
        if now_s < begin_s:
            return 0.0, begin_s
        if now_s < end_s:
            return 1.0, end_s
        day += 1
