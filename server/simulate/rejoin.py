"""What waits before it draws or gives again once power is back: solar, and appliances with a delay.

Until its wait is over an appliance has no power in the march, so what delays keep apart is apart in
every sum. A loss of power within the wait begins it anew; one before the run counts too.
"""

from __future__ import annotations

from itertools import pairwise

from server.domain.circuit import Circuit
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.simulate.network import Load, Network, SwitchState
from server.simulate.timeline import Interval, Timeline, holds


def state_at(site: Site, timeline: Timeline, at_s: float) -> SwitchState:
    """Sources and switches at one instant."""
    live: set[str] = set()
    if not holds(timeline.outages, at_s):
        live.update(s.id for s in site.services)
    live.update(g.id for g in site.generators if holds(timeline.giving[g.id], at_s))
    return SwitchState(
        live_sources=frozenset(live),
        on_generator=frozenset(
            key for key, spans in timeline.on_generator.items() if holds(spans, at_s)
        ),
        moving=frozenset(key for key, spans in timeline.moving.items() if holds(spans, at_s)),
        thrown_backed_up=frozenset(
            d.id for d in site.double_throws if timeline.position(d.id, at_s) == "backed_up"
        ),
    )


def may_run(circuit: Circuit, timeline: Timeline, at_s: float) -> bool:
    """Whether a circuit's outage role lets it run on a generator at this instant."""
    if circuit.outage_role == "off":
        return False
    if circuit.outage_role == "by_hand":
        return holds(timeline.hand.get(circuit.id, ()), at_s)
    return True


def rejoin_times(
    network: Network, timeline: Timeline, scenario: Scenario
) -> dict[str, tuple[Interval, ...]]:
    """When what waits has waited, by load; what never waits is not in it. [s]

    An array gives once its panel is on the grid without a break for its wait; an appliance draws
    once its circuit has had power for its delay.
    """
    site = network.site
    waits = {array.id: array.reconnect_s for array in site.solar}
    waits |= {
        a.id: a.restart_delay_s for c in site.circuits for a in c.appliances if a.restart_delay_s
    }
    if not waits:
        return {}
    before_s = -max(waits.values()) - 1.0
    marks = [before_s, *timeline.edges(after_s=before_s), timeline.span_s]
    spans = list(pairwise(marks))
    middles = [(start + end) / 2.0 for start, end in spans]
    states = [state_at(site, timeline, at_s) for at_s in middles]
    found: dict[str, tuple[Interval, ...]] = {}
    for load in network.loads:
        wait_s = waits.get(load.id)
        if wait_s is None:
            continue
        fed = [
            _fed(network, timeline, scenario, load, state=state, at_s=at_s)
            for state, at_s in zip(states, middles, strict=True)
        ]
        found[load.id] = tuple(_waited(spans, fed, wait_s))
    return found


def _fed(
    network: Network,
    timeline: Timeline,
    scenario: Scenario,
    load: Load,
    *,
    state: SwitchState,
    at_s: float,
) -> bool:
    """Whether a load has what its wait is counted by: the grid for an array, else any power."""
    site = network.site
    source_id = network.way_of(load.panel_id, load.handle_switch_id, state).source_id
    on_grid = source_id in {s.id for s in site.services}
    if load.circuit_id is None:
        return on_grid and not generator_can_energise(site, load.panel_id)
    if on_grid or source_id is None:
        return on_grid
    circuit = site.circuit_by_id[load.circuit_id]
    kept_off = any(k.circuit_id == circuit.id for k in scenario.kept_off)
    return not kept_off and may_run(circuit, timeline, at_s)


def _waited(spans: list[Interval], fed: list[bool], wait_s: float) -> list[Interval]:
    """Those spans from where it has been fed for so long. What was fed from the first has been."""
    found: list[Interval] = []
    from_s: float | None = None
    for k, (start, end) in enumerate(spans):
        if not fed[k]:
            from_s = None
            continue
        if from_s is None:
            from_s = start + wait_s if k else start
        if from_s < end:
            found.append((max(start, from_s), end))
    return found
