"""Compiled load models: each takes one load through a run of cells.

Within the cells given the supply does not change. Each model resolves its own events inside a cell
in continuous time, so that the watts it writes are true means, and keeps what it must remember in
its own row of state; S0..S3 mean what each function says. So a load may be taken through all its
cells at once, or cell by cell where a control must look in between.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from server.physics.random import uniform_pair
from server.simulate.seasons import turn_s
from server.simulate.stages import stage_share_s

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]

DAY_S = 86_400.0
_DRAW_EVENTS = 1 << 42
_HOUR_EVENTS = 1 << 43
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
def constant(
    first: int,
    last: int,
    share: float,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    for c in range(first, last):
        asked[c] = share * load_w
        took[c] = share * load_w * available


@njit(cache=True)
def hourly(
    start_s: Floats,
    dt_s: Floats,
    first: int,
    last: int,
    memory: Floats,
    by_hour: Floats,
    spread_s: float,
    midnight_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts by the hour of the day, each step within ``spread_s`` of its hour.

    S0 the share it is at, S1 until when. [s]
    """
    share, until_s = memory[S0], memory[S1]
    for c in range(first, last):
        now, end_s, total = start_s[c], start_s[c] + dt_s[c], 0.0
        while end_s > until_s:
            if until_s > now:
                total += share * (until_s - now)
                now = until_s
            share, until_s = _share_of_hour(now, by_hour, spread_s, midnight_s, seed, stream, draw)
        mean = share if now == start_s[c] else (total + share * (end_s - now)) / dt_s[c]
        asked[c] = mean * load_w
        took[c] = mean * load_w * available
    memory[S0], memory[S1] = share, until_s


@njit(cache=True)
def _share_of_hour(
    now_s: float,
    by_hour: Floats,
    spread_s: float,
    midnight_s: float,
    seed: int,
    stream: np.uint64,
    draw: int,
) -> tuple[float, float]:
    """The share at a moment, and when the next hour's begins. [s]"""
    hour = math.floor((now_s - midnight_s) / 3600.0)
    begin_s = _step_s(hour, spread_s, midnight_s, seed, stream, draw)
    if now_s < begin_s:
        return by_hour[(hour - 1) % 24], begin_s
    end_s = _step_s(hour + 1, spread_s, midnight_s, seed, stream, draw)
    if now_s < end_s:
        return by_hour[hour % 24], end_s
    return by_hour[(hour + 1) % 24], _step_s(hour + 2, spread_s, midnight_s, seed, stream, draw)


@njit(cache=True)
def _step_s(
    hour: int, spread_s: float, midnight_s: float, seed: int, stream: np.uint64, draw: int
) -> float:
    """When the share of an hour begins, drawn evenly within the spread. [s]"""
    u, _ = uniform(seed, stream, draw, _HOUR_EVENTS + hour)
    return float(midnight_s + 3600.0 * hour + (2.0 * u - 1.0) * spread_s)


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
    dt_s: Floats,
    outdoor_f: Floats,
    first: int,
    last: int,
    memory: Floats,
    params: Floats,
    seed: int,
    stream: np.uint64,
    draw: int,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts of a load that cycles by itself.

    S0 on or off, S1 seconds left of it, S2 how many lengths were drawn.
    """
    on, left_s, drawn = memory[S0], memory[S1], memory[S2]
    for c in range(first, last):
        share = on
        if left_s > dt_s[c]:
            left_s -= dt_s[c]
        else:
            cell_s, on_s = dt_s[c], 0.0
            while cell_s > 0.0:
                part = min(cell_s, left_s)
                if on > 0.5:
                    on_s += part
                cell_s -= part
                left_s -= part
                if left_s <= 0.0:
                    on = 1.0 - on
                    u, _ = uniform(seed, stream, draw, int(drawn))
                    drawn += 1.0
                    mean = turn_s(params, outdoor_f[c], on, available)
                    left_s = max(1.0, mean * (1.0 + params[2] * (2.0 * u - 1.0)))
            share = on_s / dt_s[c]
        asked[c] = share * load_w
        took[c] = share * load_w * available
    memory[S0], memory[S1], memory[S2] = on, left_s, drawn


@njit(cache=True)
def timed(
    start_s: Floats,
    dt_s: Floats,
    first: int,
    last: int,
    memory: Floats,
    by_itself: bool,
    stages: Floats,
    stage_first: int,
    stage_last: int,
    starts: Floats,
    count: int,
    run_s: float,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts of a load that runs through its stages. Where a person must restart it, a run is lost.

    S0 the run that is on or next, S1 until when runs are lost.
    """
    current, lost_s = int(memory[S0]), memory[S1]
    c = first
    while c < last:
        at_s, end_s = start_s[c], start_s[c] + dt_s[c]
        while current < count and starts[current] + run_s <= at_s:
            current += 1
        if current == count or starts[current] >= start_s[last - 1] + dt_s[last - 1]:
            break
        if starts[current] >= end_s:
            asked[c] = took[c] = 0.0
            c += 1
            continue
        total, k = 0.0, current
        while k < count and starts[k] < end_s:
            begin = max(0.0, at_s - starts[k])
            end = min(run_s, end_s - starts[k])
            if available == 0.0 and not by_itself:
                lost_s = max(lost_s, starts[k] + run_s)
            if available == 0.0 or starts[k] + run_s > lost_s:
                total += stage_share_s(stages, stage_first, stage_last, begin, end, available)
            k += 1
        share = total / dt_s[c]
        asked[c] = share * load_w
        took[c] = share * load_w * available
        c += 1
    asked[c:last] = 0.0
    took[c:last] = 0.0
    memory[S0], memory[S1] = current, lost_s


@njit(cache=True)
def charger(
    start_s: Floats,
    dt_s: Floats,
    first: int,
    last: int,
    memory: Floats,
    sessions: Floats,
    session_first: int,
    session_last: int,
    load_w: float,
    available: float,
    asked: Singles,
    took: Singles,
) -> None:
    """Watts of a charger, which asks until its session's energy is in.

    What a session could not take is carried into the next one where the car never left.
    S0 the session that is on or next, S1 the energy it still wants [Wh], S2 the last one begun.
    """
    k, want_wh, begun = int(memory[S0]), memory[S1], memory[S2]
    idle_s = full_s = -np.inf
    cell_s = cell_wh = 0.0
    for c in range(first, last):
        asked_s, end_s = 0.0, start_s[c] + dt_s[c]
        if end_s <= idle_s:
            asked[c] = took[c] = 0.0
            continue
        if dt_s[c] != cell_s:
            cell_s, cell_wh = dt_s[c], dt_s[c] * load_w * available / 3600.0
        if end_s < full_s and want_wh > 2.0 * cell_wh:
            want_wh -= cell_wh
            asked[c] = load_w
            took[c] = load_w * available
            continue
        while session_first + k < session_last:
            row = session_first + k
            begin, leave = sessions[row, 0], sessions[row, 2]
            if begin >= end_s:
                idle_s = begin
                break
            if begun < k + 1.0:
                begun = k + 1.0
                still_here = k > 0 and sessions[row - 1, 2] >= begin
                want_wh = sessions[row, 1] + (want_wh if still_here else 0.0)
                if begin < 0.0 and load_w > 0.0:
                    want_wh = max(0.0, sessions[row, 1] + begin / 3600.0 * load_w)
            window_s = min(end_s, leave) - max(start_s[c], begin)
            if window_s > 0.0 and load_w > 0.0 and want_wh > 0.0:
                need_s = want_wh / load_w * 3600.0
                if available > 0.0:
                    need_s /= available
                on_s = min(window_s, need_s)
                asked_s += on_s
                if available > 0.0:
                    want_wh -= on_s * load_w * available / 3600.0
                    if need_s <= window_s:
                        want_wh = 0.0
            if leave > end_s:
                idle_s = leave if want_wh == 0.0 else idle_s
                full_s = leave
                break
            k += 1
        if session_first + k == session_last:
            idle_s = np.inf
        share = asked_s / dt_s[c]
        asked[c] = share * load_w
        took[c] = share * load_w * available
    memory[S0], memory[S1], memory[S2] = k, want_wh, begun


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
