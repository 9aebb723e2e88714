"""When load managers held each circuit off, and the supply of a run cut there too."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.domain.site import Site
from server.simulate.cells import Cells
from server.simulate.supply import Supply, gap_wait_s

Span = tuple[float, float]


@dataclass(frozen=True)
class Stretches:
    """The supply of every circuit, cut where it changes and where a manager acts.

    start_s, length_s (stretches,)     Start and length; those of a run with hours before it begin
                                       with them, before 0 s. [s]
    live, fed (stretches, circuits)    Has power to use; has power at its breaker.
    powered (stretches, circuits)      Has power as delays count it: before they are over too, and
                                       whatever a manager holds off.
    spans                              By circuit, in the order of the site: when it was held off.
    """

    start_s: NDArray[np.float64]
    length_s: NDArray[np.float64]
    live: NDArray[np.bool_]
    fed: NDArray[np.bool_]
    powered: NDArray[np.bool_]
    spans: dict[int, tuple[Span, ...]]

    @property
    def edge_s(self) -> NDArray[np.float64]:
        """Where they begin, and the end, (stretches + 1,). [s]"""
        return np.append(self.start_s, self.start_s[-1:] + self.length_s[-1:])

    def since(self, at_s: float) -> Stretches:
        """Those that end after a second of the run."""
        kept = self.start_s + self.length_s > at_s + 1e-6
        return Stretches(
            start_s=self.start_s[kept],
            length_s=self.length_s[kept],
            live=self.live[kept],
            fed=self.fed[kept],
            powered=self.powered[kept],
            spans=self.spans,
        )

    def after(self, before: Stretches | None) -> Stretches:
        """The same with those of the hours before, which begin before 0 s."""
        if before is None:
            return self
        return Stretches(
            start_s=np.append(before.start_s, self.start_s),
            length_s=np.append(before.length_s, self.length_s),
            live=np.vstack((before.live, self.live)),
            fed=np.vstack((before.fed, self.fed)),
            powered=np.vstack((before.powered, self.powered)),
            spans=self.spans,
        )


def held_spans(cells: Cells, held_s: NDArray[np.float32]) -> tuple[Span, ...]:
    """Stretches in which one circuit was held off; ``held_s`` is (cells,), to each cell's end. [s]

    >>> import numpy as np
    >>> one = np.array([0.0, 60.0, 120.0, 180.0])
    >>> cells = Cells(one, np.full(4, 60.0), one, one, one)
    >>> held_spans(cells, np.array([0, 50, 60, 0], dtype=np.float32))
    ((70.0, 180.0),)
    """
    found: list[Span] = []
    for c in np.flatnonzero(held_s > 0.0):
        end = float(cells.start_s[c] + cells.dt_s[c])
        begin = float(end - min(held_s[c], cells.dt_s[c]))
        if found and begin - found[-1][1] < 1e-3:
            found[-1] = (found[-1][0], end)
        else:
            found.append((begin, end))
    return tuple(found)


def with_held(site: Site, supply: Supply, held_s: NDArray[np.float32] | None) -> Stretches:
    """The supply of a run, with what managers held off; (managed circuits, cells). [s]

    What waits after a loss of power is without it for its delay after a manager's return as well.
    """
    if held_s is None:
        return Stretches(
            start_s=supply.segment_start_s,
            length_s=supply.segment_s,
            live=supply.live,
            fed=supply.fed,
            powered=supply.powered,
            spans={},
        )
    managed = [i for i, c in enumerate(site.circuits) if c.energy_group_id is not None]
    spans = {i: held_spans(supply.cells, row) for i, row in zip(managed, held_s, strict=True)}
    end_s = supply.segment_start_s[-1] + supply.segment_s[-1]
    dark = {
        i: [(a, b + gap_wait_s(site.circuits[i])) for a, b in found] for i, found in spans.items()
    }
    cuts = [min(at, end_s) for found in dark.values() for span in found for at in span]
    starts = np.union1d(supply.segment_start_s, np.array(cuts, dtype=np.float64))
    starts = starts[starts < end_s - 1e-6]
    segment = np.searchsorted(supply.segment_start_s, starts, side="right") - 1
    live = supply.live[segment].copy()
    for i, waited in dark.items():
        for begin, end in waited:
            live[(starts >= begin - 1e-6) & (starts < end - 1e-6), i] = False
    lengths = np.diff(np.append(starts, end_s))
    return Stretches(
        start_s=starts,
        length_s=lengths,
        live=live,
        fed=supply.fed[segment],
        powered=supply.powered[segment],
        spans=spans,
    )
