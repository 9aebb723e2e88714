"""Uses that lost power or were due while dead, with power back before they would have ended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from server.domain.finding import Finding
from server.simulate.kernel import begin_loads
from server.simulate.loads import Model
from server.simulate.models import STATES
from server.simulate.prepared import Prepared
from server.simulate.verdict import moment

_TOLD = 3


@dataclass(frozen=True)
class CutUse:
    """A use of an appliance that is without power from ``at_s`` on, for a while. [s]

    ``due`` where it should begin then and never does.
    """

    element_id: str
    name: str
    at_s: float
    due: bool = False


def cut_uses(ready: Prepared, seed: int, draw: int) -> tuple[CutUse, ...]:
    """Every use of a draw that nobody took up again, though power was back in its time."""
    packed, supply = ready.packed, ready.supply
    dead = supply.available <= 0.0
    lost = (packed.model == Model.TIMED) & (packed.params[:, 0] == 0.0) & (packed.load_w > 0.0)
    if not dead[:, lost].any():
        return ()
    state = np.zeros((len(packed.model), STATES))
    begins, counts, run_s = begin_loads(packed, seed, draw, state)
    ends_s = np.append(supply.segment_start_s[1:], packed.span_s)
    found: list[CutUse] = []
    for i in np.flatnonzero(lost & dead.any(axis=0)):
        load = ready.network.loads[i]
        for begin in begins[i, : counts[i]].tolist():
            end = begin + float(run_s[i])
            cut = dead[:, i] & (supply.segment_start_s < end) & (ends_s > max(begin, 0.0))
            if cut.any() and ends_s[cut].max() < min(end, packed.span_s):
                lost_s = float(supply.segment_start_s[cut].min())
                due = begin >= max(lost_s, 0.0)
                found.append(CutUse(load.id, load.name, max(begin, lost_s), due))
    return tuple(sorted(found, key=lambda use: use.at_s))


def cut_findings(ready: Prepared, seed: int, draw: int) -> tuple[Finding, ...]:
    """One note of the uses that were cut and not taken up again, the first of them by name."""
    cut = cut_uses(ready, seed, draw)
    if not cut:
        return ()
    start = ready.scenario.start
    lost, due = [u for u in cut if not u.due], [u for u in cut if u.due]
    said = []
    for uses, words in (
        (lost, "Lost power in their use and stayed off in this run"),
        (due, "Were due while dead and never began in this run"),
    ):
        told = [f"{u.name}, {moment(start + timedelta(seconds=u.at_s))}" for u in uses[:_TOLD]]
        more = f"; and {len(uses) - _TOLD} more" if len(uses) > _TOLD else ""
        if told:
            said.append(
                f"{words}, though power was back before they would have been done: "
                f"{'; '.join(told)}{more}."
            )
    return (
        Finding(
            code="uses-cut-short",
            severity="note",
            element_id=cut[0].element_id,
            text=(f"{' '.join(said)} What they would draw then is not in the run."),
            mend=(
                "What has knobs comes on again by itself: say so in the form of the appliance. "
                "For what somebody begins anew, enter a start after the outage in the scenario."
            ),
            source="Starts and lengths of use of this draw beside when there is power.",
            value=len(cut),
            unit="uses",
        ),
    )
