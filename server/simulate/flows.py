"""Takes any minute of a run apart: who made up the amps at a limit point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from server.domain.base import Leg
from server.domain.errors import NotFoundError
from server.domain.site import Site
from server.simulate.cells import Cells
from server.simulate.network import Load, StateArrays, SwitchState
from server.simulate.results import Contributor, LimitPoint

_SMALLEST_A = 0.005


@dataclass(frozen=True)
class StepFlows:
    """What a run keeps of its march: watts by cell and load, and the network of each cell.

    ``asked_w`` and ``taken_w`` are (loads, cells), above zero for solar too; ``segment_state`` is
    (segments,).
    """

    loads: tuple[Load, ...]
    circuit_names: dict[str, str]
    points: tuple[LimitPoint, ...]
    states: tuple[StateArrays, ...]
    asked_w: NDArray[np.float32]
    taken_w: NDArray[np.float32]
    segment_state: NDArray[np.int64]
    cells: Cells

    @cached_property
    def signs(self) -> NDArray[np.float64]:
        """1 for each load, -1 for each array."""
        return np.array([load.sign for load in self.loads], dtype=np.float64)

    @property
    def nbytes(self) -> int:
        """Bytes of its arrays."""
        return self.asked_w.nbytes + self.taken_w.nbytes

    def circuit_w(self, site: Site, *, asked: bool = False) -> NDArray[np.float32]:
        """Watts taken, or asked for, by each circuit: (circuits, steps)."""
        watts = self.asked_w if asked else self.taken_w
        step_cell = self.cells.step_cell[:-1]
        out = np.zeros((len(site.circuits), len(step_cell)), dtype=np.float32)
        first = 0
        for i, circuit in enumerate(site.circuits):
            last = first + len(circuit.appliances)
            if last > first:
                total = watts[first:last].sum(axis=0, dtype=np.float64) * self.cells.weight
                out[i] = np.add.reduceat(total, step_cell)
            first = last
        return out

    def contributors(
        self, point_id: str, leg: Leg, step: int, *, steps: int = 1
    ) -> tuple[Contributor, ...]:
        """Each load's share of one leg's amps over ``steps`` steps from ``step``, largest first.

        A share is the load's phasor laid along the total, so shares sum to the total.
        """
        index = self._row_of.get(point_id)
        if index is None:
            raise NotFoundError(f"There is no limit point {point_id!r} in this run.")
        shares = np.zeros(len(self.loads))
        for s in range(step, step + steps):
            phasors = self._phasors(index, 0 if leg == "L1" else 1, s)
            total = phasors.sum()
            if abs(total) > 0.0:
                shares += (phasors * total.conjugate()).real / abs(total) / steps
        order: list[int] = np.argsort(-np.abs(shares), kind="stable").tolist()
        shares_a: list[float] = shares[order].tolist()
        return tuple(
            Contributor(*self._names[j], share_a)
            for j, share_a in zip(order, shares_a, strict=True)
            if abs(share_a) > _SMALLEST_A
        )

    def taken_by(self, appliance_id: str) -> NDArray[np.float32]:
        """Mean watts that one appliance took in each step."""
        return self._by_step(self.taken_w[self._load(appliance_id)])

    def asked_by(self, appliance_id: str) -> NDArray[np.float32]:
        """Mean watts that one appliance asked for in each step."""
        return self._by_step(self.asked_w[self._load(appliance_id)])

    def _load(self, appliance_id: str) -> int:
        return next(i for i, load in enumerate(self.loads) if load.id == appliance_id)

    def _by_step(self, watts: NDArray[np.float32]) -> NDArray[np.float32]:
        total = np.add.reduceat(watts * self.cells.weight, self.cells.step_cell[:-1])
        return total.astype(np.float32)

    def cells_by_state(self) -> tuple[tuple[SwitchState, NDArray[np.int64]], ...]:
        """Each state of the switches, and the cells it held in."""
        cells = self.cells
        of_cell = np.repeat(self.segment_state, np.diff(cells.segment_cell))
        return tuple(
            (state.switches, np.flatnonzero(of_cell == i)) for i, state in enumerate(self.states)
        )

    @cached_property
    def _names(self) -> list[tuple[str, str, str, str]]:
        """Circuit and appliance of each load, ids and names."""
        return [
            (x.circuit_id or "", self.circuit_names.get(x.circuit_id or "", ""), x.id, x.name)
            for x in self.loads
        ]

    @cached_property
    def _row_of(self) -> dict[str, int]:
        return {p.id: i for i, p in enumerate(self.points)}

    def _phasors(self, index: int, leg: int, step: int) -> NDArray[np.complex128]:
        """Mean phasor of every load at one point and leg over one step."""
        out = np.zeros(len(self.loads), dtype=np.complex128)
        point = self.points[index]
        step_cell, segment_cell = self.cells.step_cell, self.cells.segment_cell
        for cell in range(int(step_cell[step]), int(step_cell[step + 1])):
            segment = int(np.searchsorted(segment_cell, cell, side="right")) - 1
            state = self.states[int(self.segment_state[segment])]
            seen, swap = state.seen_by(index)
            watts = self.taken_w[seen, cell] * self.signs[seen] * self.cells.weight[cell]
            both = state.per_watt[:, seen] * watts
            if point.kind == "feeder_neutral" or (state.merged[index] and leg == 0):
                out[seen] += both.sum(axis=0)
            elif not state.merged[index]:
                out[seen] += both[leg ^ swap, np.arange(len(seen))]
        return out
