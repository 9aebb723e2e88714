"""Which motors come on at the same instant on a set, read from the march.

A motor is bound to come on where its wait ends: as its circuit has power, its delay after that, or
its least time off after it lost it, whichever the march kept it to. Two whose waits end together
start together, whatever keeps each. What one thermostat calls, starts together at every call.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit
from server.domain.site import Site
from server.simulate.cells import Cells
from server.simulate.flows import StepFlows
from server.simulate.results import Run
from server.simulate.room_rows import room_plan

TOGETHER_S = 2.0
"""Starts nearer than this count as one (common practice, no source)."""

_EXACT_S = 1e-3


@dataclass(frozen=True)
class Together:
    """Motors, by id, that come on at one instant.

    ``at_s`` is the instant from the scenario's start [s]; None of what one thermostat calls, which
    starts together whenever it does.
    """

    ids: tuple[str, ...]
    at_s: float | None = None


@dataclass(frozen=True)
class _Begin:
    """One start: the cell it came in, and when it was bound to come, None where by chance."""

    part_id: str
    cell: int
    due_s: float | None


@dataclass(frozen=True)
class Power:
    """Of one circuit: when power came to it, a manager's return too, and when it went. [s]"""

    came_s: NDArray[np.float64]
    lost_s: NDArray[np.float64]


def came_together(run: Run, source_id: str, motors: Iterable[Appliance]) -> tuple[Together, ...]:
    """Every group of these motors that comes on together while a source feeds them.

    Groups of one thermostat first, then those whose waits end together by their time; single
    motors whose wait ended are groups of one.

    Raises
    ------
    TypeError   For a run whose march was not kept.
    """
    flows = run.flows
    if not isinstance(flows, StepFlows):
        raise TypeError("The march of this run was not kept.")
    rooms = room_plan(run.site).room_of
    wanted = {a.id: a for a in motors}
    source = _sources(run.site).index(source_id)
    begins = [
        begin
        for row, load in enumerate(flows.loads)
        if load.id in wanted
        for begin in _begins(run, flows, row, wanted[load.id], source)
    ]
    called = _by_thermostat(begins, rooms)
    begins = _as_their_room(begins, rooms)
    bound = [b for b in begins if b.due_s is not None and wanted[b.part_id].restart != "by_hand"]
    return (*called, *_by_time(bound))


def _sources(site: Site) -> tuple[str, ...]:
    return (*(s.id for s in site.services), *(g.id for g in site.generators))


def _begins(
    run: Run, flows: StepFlows, row: int, appliance: Appliance, source: int
) -> Iterable[_Begin]:
    """Where one motor comes on after it had nothing, while the source feeds it."""
    cells = flows.cells
    on = flows.taken_w[row] > 0.0
    fed = np.repeat(
        np.array([flows.states[k].source[row] == source for k in flows.segment_state]),
        np.diff(cells.segment_cell),
    )
    found = np.flatnonzero(on[1:] & ~on[:-1] & fed[1:]) + 1
    if not found.size:
        return
    power = power_of(run, flows.loads[row].circuit_id or "")
    unit = appliance.behaviour
    rest_s = 60.0 * unit.min_off_min if isinstance(unit, RoomUnit) else 0.0
    last_on = np.where(on, np.arange(on.size), -1)
    last_on = np.maximum.accumulate(last_on)
    for cell in found:
        start_s = float(cells.start_s[cell])
        end_s = start_s + float(cells.dt_s[cell])
        lost = _lost_in(cells, int(last_on[cell - 1]), power.lost_s) if rest_s else None
        waits = power.came_s + appliance.restart_delay_s
        waits = waits[(waits >= start_s - _EXACT_S) & (waits < end_s - _EXACT_S)]
        due_s = float(waits.min()) if waits.size else None
        if lost is not None and start_s - _EXACT_S <= lost + rest_s < end_s:
            due_s = lost + rest_s if due_s is None else max(due_s, lost + rest_s)
        yield _Begin(appliance.id, int(cell), due_s)


def power_of(run: Run, circuit_id: str) -> Power:
    """When a circuit came to have power, and lost it; each load's delay counts from there."""
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == circuit_id)
    powered, held = run.served.powered[:, row], run.served.held.get(row, ())
    edge_s = run.served.edge_s[1:-1]
    fed_s = edge_s[powered[1:] & ~powered[:-1]]
    lost_s = edge_s[powered[:-1] & ~powered[1:]]
    return Power(
        came_s=np.append(fed_s, [end for _, end in held]),
        lost_s=np.sort(np.append(lost_s, [begin for begin, _ in held])),
    )


def _lost_in(cells: Cells, cell: int, lost_s: NDArray[np.float64]) -> float | None:
    """When power was lost in a motor's last cell on, None where it stopped by itself."""
    if cell < 0:
        return None
    begin_s = float(cells.start_s[cell])
    end_s = begin_s + float(cells.dt_s[cell])
    inside = lost_s[(lost_s > begin_s) & (lost_s <= end_s + _EXACT_S)]
    return float(inside[-1]) if inside.size else None


def _by_room(
    begins: Iterable[_Begin], rooms: Mapping[str, int]
) -> dict[tuple[int, int], list[_Begin]]:
    """Starts of one room in one cell."""
    found: dict[tuple[int, int], list[_Begin]] = defaultdict(list)
    for begin in begins:
        if begin.part_id in rooms:
            found[begin.cell, rooms[begin.part_id]].append(begin)
    return found


def _by_thermostat(begins: list[_Begin], rooms: Mapping[str, int]) -> list[Together]:
    """The largest groups that one room's thermostat calls at once."""
    groups = {
        tuple(sorted(b.part_id for b in group))
        for group in _by_room(begins, rooms).values()
        if len(group) > 1 and any(b.due_s is None for b in group)
    }
    largest = [g for g in groups if not any(set(g) < set(other) for other in groups)]
    return [Together(ids) for ids in sorted(largest)]


def _as_their_room(begins: list[_Begin], rooms: Mapping[str, int]) -> list[_Begin]:
    """What comes on with another of its room, as a fan with its compressor, is bound as that is."""
    due: dict[tuple[int, str], float] = {}
    for (cell, _), group in _by_room(begins, rooms).items():
        latest_s = max((b.due_s for b in group if b.due_s is not None), default=None)
        if latest_s is not None:
            due |= {(cell, b.part_id): latest_s for b in group}
    return [_Begin(b.part_id, b.cell, due.get((b.cell, b.part_id), b.due_s)) for b in begins]


def _by_time(bound: list[_Begin]) -> list[Together]:
    """Groups of starts that come nearer than ``TOGETHER_S`` to the one before."""
    ordered = sorted((b.due_s, b.part_id) for b in bound if b.due_s is not None)
    if not ordered:
        return []
    groups = [[ordered[0]]]
    for before, one in pairwise(ordered):
        if one[0] - before[0] < TOGETHER_S:
            groups[-1].append(one)
        else:
            groups.append([one])
    return [Together(tuple(sorted({i for _, i in g})), g[0][0]) for g in groups]
