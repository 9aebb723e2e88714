"""Pits that run over in a run: water on the floor, however short the gap that a circuit can wait.

A gap that was typed says how long somebody means to leave a pump dead, not what its pit holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from server.domain.behaviour import SumpPump
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.cells import Cells

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPILT = 4
"""Column of a pump's ledger: gallons past the brim of its pit."""

LEAST_SPILT_GAL = 0.01
"""Less than this is rounding, not water on the floor. [gal]"""

_BRIM_GAL = 0.01
_LEAST_TOLD_GAL = 0.05


@dataclass(frozen=True)
class PitOver:
    """A pit that ran over, first at ``at``, and the gallons that went past its brim.

    ``before_gal`` of them went before the run, which begins with them on the floor. Its level is
    taken as straight up to its brim, as the harm clock does, so both tell one minute.
    """

    appliance_id: str
    name: str
    at: datetime
    spilt_gal: float
    before_gal: float = 0.0

    @property
    def gallons(self) -> str:
        """All of them, to the gallon where they are many; never none. [gal]"""
        return _told(self.spilt_gal)

    @property
    def on_floor(self) -> str:
        """How much is on the floor, with what of it was before the run."""
        if self.before_gal < LEAST_SPILT_GAL:
            return f"{self.gallons} gal on the floor in this scenario"
        return (
            f"{self.gallons} gal on the floor, {_told(self.before_gal)} of them before this "
            "run begins"
        )


def _told(gallons: float) -> str:
    if gallons < _LEAST_TOLD_GAL:
        return "less than 0.1"
    return f"{gallons:,.0f}" if gallons >= 9.5 else f"{gallons:.1f}"


def full_share(level: NDArray[np.float32], dt_s: Floats, k: int, brim_gal: float) -> float:
    """The share of a cell after which a pit is full that rises to its brim in it.

    It ends no higher than the brim, so it rises as fast as in the cell before, where that is more.

    >>> pit, minute = np.array([16.0, 17.6, 18.0], dtype=np.float32), np.full(3, 60.0)
    >>> round(full_share(pit, minute, 2, 18.0), 3)
    0.25
    """
    before = float(level[max(k - 1, 0)])
    rise = float(level[k]) - before
    if k > 1:
        rise = max(rise, (before - float(level[k - 2])) / float(dt_s[k - 1]) * float(dt_s[k]))
    return min(max((brim_gal - before) / rise, 0.0), 1.0) if rise > 0.0 else float(k > 0)


def pits_over(
    site: Site,
    scenario: Scenario,
    cells: Cells,
    *,
    ledger: Floats,
    level: NDArray[np.float32],
    watch_of: Ints,
) -> tuple[PitOver, ...]:
    """Every pit that spilt, the first in front.

    ``ledger`` (loads, 5) and ``level`` (watched, cells) are those of ``kernel.march``,
    ``watch_of`` (loads,) the row of ``level`` of each load.
    """
    found = []
    appliances = [a for c in site.circuits for a in c.appliances]
    for row, appliance in enumerate(appliances):
        pit = appliance.behaviour
        spilt_gal = float(ledger[row, SPILT])
        if not isinstance(pit, SumpPump) or spilt_gal < LEAST_SPILT_GAL:
            continue
        brim_gal = pit.cycle_gal + pit.reserve_gal
        full = np.flatnonzero(level[watch_of[row]] >= brim_gal - _BRIM_GAL)
        if not full.size:
            continue
        first = int(full[0])
        share = full_share(level[watch_of[row]], cells.dt_s, first, brim_gal - _BRIM_GAL)
        at_s = float(cells.start_s[first] + share * cells.dt_s[first])
        at = scenario.start + timedelta(seconds=round(at_s))
        found.append(PitOver(appliance.id, appliance.name, at, spilt_gal))
    return tuple(sorted(found, key=lambda one: one.at))


def spilt_by_circuit(site: Site, ledger: Floats) -> Floats:
    """Gallons that the pits of each circuit spilt, (circuits,). [gal]"""
    spilt_gal = np.zeros(len(site.circuits))
    row = 0
    for c, circuit in enumerate(site.circuits):
        for appliance in circuit.appliances:
            if isinstance(appliance.behaviour, SumpPump):
                spilt_gal[c] += ledger[row, SPILT]
            row += 1
    return spilt_gal
