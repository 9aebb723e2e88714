"""Compiled load models: each advances one load through one cell of time.

Each resolves its own events inside the cell in continuous time, so that the share it returns is a
true mean. Rows of ``state`` are the load's own memory; S0..S3 mean what each function says.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.random import uniform_pair

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]

DAY_S = 86_400.0
_DRAW_EVENTS = 1 << 42
_MOST_DRAWS = 200
S0, S1, S2, S3 = range(4)
STATES = 8
DRAW_GAL, DRAW_GPM = 22, 23
"""Columns of ``params`` that say how water is drawn, for every model that draws it."""

LEVEL = S0
"""The state that is watched: a temperature, a level, or what is left."""

STARTS, SHORT = 3, 4
TALLIES = 5
"""What is added up for each load: heat in, lost and stored [Wh], then starts of its motor, and what
it was short of."""


@njit(cache=True)
def uniform(seed: int, stream: np.uint64, draw: int, event: int) -> tuple[float, float]:
    return uniform_pair(np.uint64(seed), stream, np.uint64(draw), np.uint64(event))


@njit(cache=True)
def hour_of(at_s: float, midnight_s: float) -> int:
    return int(((at_s - midnight_s) % DAY_S) // 3600.0)


@njit(cache=True)
def hourly_mean(by_hour: Floats, i: int, at_s: float, dt_s: float, midnight_s: float) -> float:
    """Mean share over a cell that may cross an hour."""
    total, left, now = 0.0, dt_s, at_s
    while left > 1e-9:
        into = (now - midnight_s) % 3600.0
        part = min(left, 3600.0 - into)
        total += by_hour[i, hour_of(now, midnight_s)] * part
        now += part
        left -= part
    return total / dt_s


@njit(cache=True)
def _square_on_s(upto_s: float, on_s: float, off_s: float) -> float:
    """Seconds on in [0, upto) of a square wave that begins on."""
    period = on_s + off_s
    whole = math.floor(upto_s / period)
    return whole * on_s + min(upto_s - whole * period, on_s)


@njit(cache=True)
def _stage_share_s(stages: Floats, first: int, last: int, begin_s: float, end_s: float) -> float:
    """Integral of the share over [begin, end) seconds after a run's start."""
    total, stage_start = 0.0, 0.0
    for k in range(first, last):
        length = stages[k, 0]
        low, high = max(begin_s, stage_start), min(end_s, stage_start + length)
        if high > low:
            on_s, off_s = stages[k, 2], stages[k, 3]
            if on_s > 0.0 and off_s > 0.0:
                on = _square_on_s(high - stage_start, on_s, off_s)
                on -= _square_on_s(low - stage_start, on_s, off_s)
                total += on * stages[k, 1]
            else:
                total += (high - low) * stages[k, 1]
        stage_start += length
    return total


@njit(cache=True)
def draw_starts(
    habits: Floats,
    first: int,
    last: int,
    run_s: float,
    span_s: float,
    midnight_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
    out: Floats,
) -> int:
    """Start times of a timed load over the span, in order and never overlapping."""
    count, event = 0, 0
    days = int(span_s // DAY_S) + 3
    for day in range(-1, days - 1):
        for k in range(first, last):
            chance, place = uniform(seed, stream, draw, event)
            event += 1
            if chance < habits[k, 1] and count < out.shape[0]:
                at = midnight_s + day * DAY_S + habits[k, 0]
                out[count] = at + (2.0 * place - 1.0) * habits[k, 2]
                count += 1
    out[:count].sort()
    for k in range(1, count):
        out[k] = max(out[k], out[k - 1] + run_s)
    return count


@njit(cache=True)
def cycle(
    state: Floats,
    i: int,
    params: Floats,
    dt_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
) -> float:
    """Share of the cell in which a cycling load is on; advances its state.

    S0 on or off, S1 seconds left of it, S2 how many lengths were drawn.
    """
    if state[i, S1] > dt_s:
        state[i, S1] -= dt_s
        return float(state[i, S0])
    left, on_s = dt_s, 0.0
    while left > 0.0:
        part = min(left, state[i, S1])
        if state[i, S0] > 0.5:
            on_s += part
        left -= part
        state[i, S1] -= part
        if state[i, S1] <= 0.0:
            state[i, S0] = 1.0 - state[i, S0]
            u, _ = uniform(seed, stream, draw, int(state[i, S2]))
            state[i, S2] += 1.0
            mean = params[i, 0] if state[i, S0] > 0.5 else params[i, 1]
            state[i, S1] = max(1.0, mean * (1.0 + params[i, 2] * (2.0 * u - 1.0)))
    return on_s / dt_s


@njit(cache=True)
def timed(
    state: Floats,
    i: int,
    params: Floats,
    stages: Floats,
    first: int,
    last: int,
    starts: Floats,
    count: int,
    run_s: float,
    at_s: float,
    dt_s: float,
    available: float,
) -> float:
    """Mean share over the cell. A load that a person must restart loses the rest of its run.

    S0 the run that is on or next, S1 until when runs are lost.
    """
    current = int(state[i, S0])
    while current < count and starts[i, current] + run_s <= at_s:
        current += 1
    state[i, S0] = current
    total, k = 0.0, current
    while k < count and starts[i, k] < at_s + dt_s:
        begin = max(0.0, at_s - starts[i, k])
        end = min(run_s, at_s + dt_s - starts[i, k])
        if available == 0.0 and params[i, 0] < 0.5:
            state[i, S1] = max(state[i, S1], starts[i, k] + run_s)
        if available == 0.0 or starts[i, k] + run_s > state[i, S1]:
            total += _stage_share_s(stages, first, last, begin, end)
        k += 1
    return total / dt_s


@njit(cache=True)
def charger(
    state: Floats,
    i: int,
    sessions: Floats,
    first: int,
    last: int,
    load_w: Floats,
    at_s: float,
    dt_s: float,
    available: float,
) -> float:
    """Share of the cell in which the charger asks for power; takes what is available.

    What a session could not take is carried into the next one where the car never left.
    S0 the session that is on or next, S1 the energy it still wants [Wh], S2 the last one begun.
    """
    asked_s, watts = 0.0, load_w[i]
    k = int(state[i, S0])
    while first + k < last:
        begin, leave = sessions[first + k, 0], sessions[first + k, 2]
        if begin >= at_s + dt_s:
            break
        if state[i, S2] < k + 1.0:
            state[i, S2] = k + 1.0
            still_here = k > 0 and sessions[first + k - 1, 2] >= begin
            state[i, S1] = sessions[first + k, 1] + (state[i, S1] if still_here else 0.0)
            if begin < 0.0 and watts > 0.0:
                state[i, S1] = max(0.0, sessions[first + k, 1] + begin / 3600.0 * watts)
        window_s = min(at_s + dt_s, leave) - max(at_s, begin)
        if window_s > 0.0 and watts > 0.0 and state[i, S1] > 0.0:
            need_s = state[i, S1] / watts * 3600.0
            if available > 0.0:
                need_s /= available
            on_s = min(window_s, need_s)
            asked_s += on_s
            if available > 0.0:
                state[i, S1] -= on_s * watts * available / 3600.0
                if need_s <= window_s:
                    state[i, S1] = 0.0
        if leave > at_s + dt_s:
            break
        k += 1
        state[i, S0] = k
    return asked_s / dt_s


@njit(cache=True)
def fill_draws(
    flow: Singles,
    cell_start_s: Floats,
    cell_dt_s: Floats,
    gal_by_hour: Floats,
    draw_gal: float,
    draw_gpm: float,
    midnight_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
) -> None:
    """Mean gallons an hour drawn in each cell.

    An hour's gallons come in whole draws of about ``draw_gal`` at ``draw_gpm``, each placed
    uniformly in the hour; evenly through it where ``draw_gpm`` is 0.
    """
    cells = cell_dt_s.shape[0]
    end_s = cell_start_s[cells - 1] + cell_dt_s[cells - 1]
    first = math.floor(-midnight_s / 3600.0)
    last = math.ceil((end_s - midnight_s) / 3600.0)
    for hour in range(first, last):
        gallons = gal_by_hour[hour % 24]
        if gallons <= 0.0:
            continue
        hour_s = midnight_s + hour * 3600.0
        count, length_s = 1, 3600.0
        if draw_gpm > 0.0:
            count = min(max(1, round(gallons / draw_gal)), _MOST_DRAWS)
            length_s = min(gallons / count / draw_gpm * 60.0, 3600.0)
        for k in range(count):
            u, _ = uniform(seed, stream, draw, _DRAW_EVENTS + hour * 256 + k)
            begin = hour_s + u * (3600.0 - length_s)
            finish = begin + length_s
            c = int(np.searchsorted(cell_start_s, begin + 1e-9)) - 1
            c = max(c, 0)
            while c < cells and cell_start_s[c] < finish:
                low = max(begin, cell_start_s[c])
                high = min(finish, cell_start_s[c] + cell_dt_s[c])
                if high > low:
                    share_h = (high - low) / length_s * gallons / count
                    flow[c] += share_h / (cell_dt_s[c] / 3600.0)
                c += 1
