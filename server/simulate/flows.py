"""Takes any minute of a run apart: who made up the amps at a limit point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from server.domain.base import Leg
from server.domain.errors import NotFoundError
from server.simulate.network import Load, StateArrays
from server.simulate.results import Contributor, LimitPoint

_SMALLEST_A = 0.005


@dataclass(frozen=True)
class StepFlows:
    """What a run keeps of its march: watts by cell and load, and the network of each cell.

    ``taken_w`` is (cells, loads), above zero for solar too.
    """

    loads: tuple[Load, ...]
    circuit_names: dict[str, str]
    points: tuple[LimitPoint, ...]
    states: tuple[StateArrays, ...]
    taken_w: NDArray[np.float32]
    cell_state: NDArray[np.int64]
    cell_weight: NDArray[np.float64]
    step_cell: NDArray[np.int64]

    @cached_property
    def signs(self) -> NDArray[np.float64]:
        """1 for each load, -1 for each array."""
        return np.array([load.sign for load in self.loads], dtype=np.float64)

    def contributors(
        self, point_id: str, leg: Leg, step: int, *, steps: int = 1
    ) -> tuple[Contributor, ...]:
        """Each load's share of one leg's amps over ``steps`` steps from ``step``, largest first.

        A share is the load's phasor laid along the total, so shares sum to the total.
        """
        index = next((i for i, p in enumerate(self.points) if p.id == point_id), None)
        if index is None:
            raise NotFoundError(f"There is no limit point {point_id!r} in this run.")
        shares = np.zeros(len(self.loads))
        for s in range(step, step + steps):
            phasors = self._phasors(index, 0 if leg == "L1" else 1, s)
            total = phasors.sum()
            if abs(total) > 0.0:
                shares += (phasors * total.conjugate()).real / abs(total) / steps
        order = np.argsort(-np.abs(shares), kind="stable")
        return tuple(
            Contributor(
                circuit_id=self.loads[j].circuit_id or "",
                circuit_name=self.circuit_names.get(self.loads[j].circuit_id or "", ""),
                appliance_id=self.loads[j].id,
                appliance_name=self.loads[j].name,
                amps_a=float(shares[j]),
            )
            for j in order
            if abs(shares[j]) > _SMALLEST_A
        )

    def taken_by(self, appliance_id: str) -> NDArray[np.float32]:
        """Mean watts that one appliance took in each step."""
        column = next(i for i, load in enumerate(self.loads) if load.id == appliance_id)
        watts = self.taken_w[:, column] * self.cell_weight
        return np.add.reduceat(watts, self.step_cell[:-1]).astype(np.float32)

    def _phasors(self, index: int, leg: int, step: int) -> NDArray[np.complex128]:
        """Mean phasor of every load at one point and leg over one step."""
        out = np.zeros(len(self.loads), dtype=np.complex128)
        point = self.points[index]
        for cell in range(int(self.step_cell[step]), int(self.step_cell[step + 1])):
            state = self.states[int(self.cell_state[cell])]
            entries = np.flatnonzero(state.point == index)
            owners = np.searchsorted(state.start, entries, side="right") - 1
            both = state.per_watt[:, owners] * (
                self.taken_w[cell, owners] * self.signs[owners] * self.cell_weight[cell]
            )
            if point.kind == "feeder_neutral" or (state.merged[index] and leg == 0):
                out[owners] += both.sum(axis=0)
            elif not state.merged[index]:
                out[owners] += both[leg ^ state.swap[entries], np.arange(len(owners))]
        return out
