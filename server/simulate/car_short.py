"""Cars that leave with less than what was wanted: kept from it, or too slow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from server.domain.finding import Finding
from server.simulate.loads import Model
from server.simulate.prepared import Marched, Prepared
from server.simulate.verdict import moment

Floats = NDArray[np.float64]

LEAST_SHARE, LEAST_KWH = 0.05, 0.5
"""A car that lacks no more than this of what was wanted is as good as done (common practice, no
source)."""


@dataclass(frozen=True)
class Departure:
    """A car that leaves ``at_s`` with ``had_kwh`` of what was wanted from the wall.

    ``could_kwh`` is what its charger gives in the time it was there, were there always power.
    """

    at_s: float
    wanted_kwh: float
    had_kwh: float
    could_kwh: float

    @property
    def short_kwh(self) -> float:
        """What it lacks. [kWh]"""
        return self.wanted_kwh - self.had_kwh

    @property
    def short(self) -> bool:
        """Whether it lacks more than what does not matter."""
        return self.short_kwh > max(LEAST_KWH, LEAST_SHARE * self.wanted_kwh)


def departures(
    sessions: Floats, *, load_w: float, edge_s: Floats, had_ws: Floats, span_s: float
) -> tuple[Departure, ...]:
    """Every time a car leaves within a run.

    sessions : (sessions, 3)   Begun at, energy wanted, ended at, as ``loads`` packs them. What one
                               lacks is wanted in the next where the car never left. [s, Wh, s]
    edge_s, had_ws : (edges,)  Instants, and what the charger took by then. [s, Ws]

    One begun before the run had all its watts until then.

    >>> edge, had = np.array([0.0, 36_000.0]), np.array([0.0, 7.2e6])
    >>> one, = departures(np.array([[3600.0, 3000.0, 32_400.0]]), load_w=1000.0, edge_s=edge,
    ...     had_ws=had, span_s=36_000.0)
    >>> one.wanted_kwh, one.had_kwh, one.could_kwh, one.short
    (3.0, 1.6, 8.0, True)
    """
    found: list[Departure] = []
    carried_wh = carried_h = 0.0
    for k, (begin, wanted, end) in enumerate(sessions.tolist()):
        before_wh = max(0.0, -begin) / 3600.0 * load_w
        want_wh = max(0.0, wanted - before_wh) + carried_wh
        had_wh = float(np.interp(end, edge_s, had_ws) - np.interp(begin, edge_s, had_ws)) / 3600.0
        there_h = (end - max(begin, 0.0)) / 3600.0 + carried_h
        stays = k + 1 < len(sessions) and bool(sessions[k + 1, 0] <= end)
        carried_wh = max(0.0, want_wh - had_wh) if stays else 0.0
        carried_h = there_h if stays else 0.0
        if not stays and 0.0 < end <= span_s and want_wh > 0.0:
            could_kwh = there_h * load_w / 1000.0
            found.append(Departure(end, want_wh / 1000.0, had_wh / 1000.0, could_kwh))
    return tuple(found)


def car_findings(ready: Prepared, marched: Marched) -> tuple[Finding, ...]:
    """A note for each charger whose car leaves short, with the time it lacks most."""
    packed, cells = ready.packed, ready.supply.cells
    edge_s = np.append(0.0, cells.start_s + cells.dt_s)
    found: list[Finding] = []
    for i in np.flatnonzero(packed.model == Model.CHARGER):
        had_ws = np.append(0.0, np.cumsum(marched.taken_w[i] * cells.dt_s, dtype=np.float64))
        sessions = packed.starts[packed.start_ptr[i] : packed.start_ptr[i + 1]]
        left = departures(
            sessions,
            load_w=float(packed.load_w[i]),
            edge_s=edge_s,
            had_ws=had_ws,
            span_s=float(edge_s[-1]),
        )
        short = [one for one in left if one.short]
        if short:
            load = ready.network.loads[i]
            found.append(_note(load.id, load.name, short, ready.scenario.start))
    return tuple(found)


def _note(element_id: str, name: str, short: list[Departure], start: datetime) -> Finding:
    worst = max(short, key=lambda one: one.short_kwh)
    others = f", and short {len(short) - 1} more time{'s' * (len(short) > 2)}" * (len(short) > 1)
    slow = worst.could_kwh < worst.wanted_kwh - LEAST_KWH
    most = f" In the time it is there its charger gives {worst.could_kwh:.1f} kWh at most." * slow
    return Finding(
        code="car-leaves-short",
        severity="note",
        element_id=element_id,
        text=(
            f"{name}: its car leaves {moment(start + timedelta(seconds=worst.at_s))} with "
            f"{worst.had_kwh:.1f} of the {worst.wanted_kwh:.1f} kWh that it wants from the wall"
            f"{others}.{most}"
        ),
        mend="Plug it in sooner, set it to more amperes, or charge it elsewhere that day.",
        source="Energy wanted less energy taken by its departure.",
        value=worst.short_kwh,
        unit="kWh",
    )
