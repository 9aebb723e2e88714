"""One draw as the harm clock reads it: a run has this of its only draw, many draws have it each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from server.simulate.flows import StepFlows
from server.simulate.harm import Seen
from server.simulate.held import Span, Stretches
from server.simulate.loads import watched
from server.simulate.prepared import Marched, Prepared
from server.simulate.results import Flows
from server.simulate.room_rows import room_plan
from server.simulate.served import Served

if TYPE_CHECKING:
    from server.simulate.hours_before import HoursBefore


def flows_of(ready: Prepared, marched: Marched) -> StepFlows:
    """What a run keeps of its march, to take any minute apart."""
    network, supply = ready.network, ready.supply
    return StepFlows(
        loads=network.loads,
        circuit_names={c.id: c.name for c in ready.site.circuits},
        points=ready.points,
        states=supply.states,
        asked_w=marched.asked_w,
        taken_w=marched.taken_w,
        segment_state=supply.segment_state,
        cells=supply.cells,
    )


def seen_of(
    ready: Prepared,
    marched: Marched,
    stretches: Stretches,
    *,
    quiet: Mapping[int, tuple[Span, ...]],
    flows: Flows,
    before: HoursBefore | None = None,
) -> Seen:
    """A marched draw at the end of each output step, with when each circuit had power."""
    site, scenario, cells = ready.site, ready.scenario, ready.supply.cells
    last = cells.step_cell[1:] - 1
    run_s = scenario.steps * float(scenario.step_s)
    return Seen(
        site=site,
        scenario=scenario,
        served=Served(
            edge_s=stretches.edge_s,
            live=stretches.live,
            fed=stretches.fed,
            powered=stretches.powered,
            held=stretches.spans,
            outages=tuple(o for o in ready.timeline.outages if o[0] < run_s and o[1] > 0.0),
            running=ready.timeline.running,
            cell_end_s=cells.start_s + cells.dt_s,
            set_w=marched.source_w[len(site.services) :].astype(np.float32),
            quiet=dict(quiet),
            since_s=-scenario.dark_before_s,
        ),
        watched=watched(site),
        level=marched.level[:, last],
        zone_f=marched.zone_f[: len(site.zones), last],
        own_room_f=marched.zone_f[len(site.zones) :, last],
        own_room_units=room_plan(site).own_rooms,
        flows=flows,
        before=before,
    )
