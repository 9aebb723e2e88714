"""What a person can change to relieve a limit, each as an edit of the site and the scenario.

Nothing here is judged: a lever only makes the site and the scenario that a run is then made of.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, get_args

import numpy as np

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.edits import put_scenario, with_changes
from server.domain.errors import EditError
from server.domain.pairs import in_role, pair_of, proposed_move
from server.domain.scenario import ApplianceEvent, KeptOff, Scenario
from server.domain.site import Site
from server.domain.topology import Bus, bus_of_circuit, buses, sources_above, without_neutral
from server.rules.no_neutral import takes_neutral
from server.rules.words import listed
from server.simulate.fed import fed_by
from server.simulate.results import Run
from server.simulate.run import cached_run

LeverKind = Literal["off", "idle", "move", "later", "on", "ready"]
LEVER_KINDS: tuple[LeverKind, ...] = get_args(LeverKind)

DELAYS_H = (1.0, 2.0, 4.0)
"""How much later a run is tried (common practice, no source). [h]"""

PLANNED = "until an electrician has fitted it, this run is not what you have"

ELECTRICIAN = f"It takes an electrician; here it is only entered as planned: {PLANNED}."
"""Of every change that is rewiring, in the one wording of every page."""

_SAID = {1.0: "an hour", 2.0: "two hours", 4.0: "four hours"}


@dataclass(frozen=True)
class Lever:
    """One change that can be tried.

    ``off`` keeps the circuit off while a generator runs; ``idle`` is the circuit left unused all
    through, which a person does and no record keeps; ``move`` puts it on the panel ``to``;
    ``later`` starts what runs on it at ``at`` later by ``hours``;
    ``on`` gives it power whenever a generator runs; ``ready`` has the scenario's sets ready to run.
    ``off``, ``on`` and ``move`` are of both circuits that share a neutral: one handle ties them.
    ``what`` names the appliances that start later. ``here`` is of a circuit kept off, or no
    longer so, in the one scenario alone, by the people in it.
    """

    kind: LeverKind
    circuit_id: str
    to: str = ""
    hours: float = 0.0
    at: datetime | None = None
    what: str = ""
    here: bool = False

    @property
    def every_day(self) -> bool:
        """Whether it changes the circuit itself, and so the run of every scenario."""
        return self.kind in {"off", "on", "move"} and not self.here

    @property
    def planned(self) -> bool:
        """Whether it is rewiring, and only entered until an electrician has done it."""
        return self.kind == "move"

    @property
    def is_kept(self) -> bool:
        """Whether it can be saved: what a person does by hand cannot."""
        return self.kind != "idle"


def levers_for(run: Run, circuit_id: str, at: datetime) -> Iterator[Lever]:
    """Every lever on one circuit that was on at a moment of a run, in the order of least loss.

    A must-serve circuit is neither delayed nor turned off; a pinned one, and one on a transfer
    handle, stays on its bus; no circuit leaves or enters a detached building, and none that takes a
    neutral goes where none comes.
    """
    circuit, pair = run.site.circuit(circuit_id), pair_of(run.site, circuit_id)
    spared = circuit.load_class == "must_serve"
    begun = [a.name for a in circuit.appliances if _start_before(run, a, at) is not None]
    if begun and not spared:
        for hours in DELAYS_H:
            if at + timedelta(hours=hours) < run.scenario.end:
                yield Lever("later", circuit_id, hours=hours, at=at, what=" and ".join(begun))
    bus = bus_of_circuit(run.site).get(circuit_id)
    if not any(c.pinned for c in pair) and bus is not None and bus.panel_ids:
        for other in buses(run.site):
            if other.id != bus.id and other.panel_ids and _one_meter(run.site, bus, other):
                to = run.site.panel_by_id[other.panel_ids[0]]
                apart = to.detached_building or run.site.panel(circuit.panel_id).detached_building
                bare = to.id in without_neutral(run.site) and any(map(takes_neutral, pair))
                if not (apart or bare):
                    yield Lever("move", circuit_id, to=to.id)
    if not spared and circuit.outage_role != "off":
        if not _on_set(run, circuit_id, at):
            yield Lever("idle", circuit_id)
        elif all(c.load_class != "must_serve" for c in pair):
            yield Lever("off", circuit_id)


def apply_lever(site: Site, scenario: Scenario, lever: Lever) -> tuple[Site, Scenario]:
    """The site and the scenario with the change made.

    Raises
    ------
    EditError       When the site cannot take it, such as a panel without a free space.
    NotFoundError   When the circuit or the panel is not on this site.
    """
    circuit = site.circuit(lever.circuit_id)
    if lever.kind == "move":
        return proposed_move(site, lever.circuit_id, lever.to), scenario
    if lever.kind == "off" and lever.here:
        return _kept(site, _off_here(site, scenario, lever.circuit_id))
    if lever.kind == "on" and lever.here:
        return _kept(site, _on_here(site, scenario, lever.circuit_id))
    if lever.kind in {"off", "on"}:
        return in_role(site, lever.circuit_id, lever.kind), scenario
    if lever.kind == "ready":
        return _kept(site, scenario.with_every_set())
    if lever.kind == "idle":
        return _idle(site, scenario, circuit)
    return _kept(site, _later(site, scenario, lever))


def _off_here(site: Site, scenario: Scenario, circuit_id: str) -> Scenario:
    """A scenario in which people keep a circuit, and what its handle opens with it, off."""
    off = {k.circuit_id for k in scenario.kept_off}
    more = [KeptOff(circuit_id=c.id) for c in pair_of(site, circuit_id) if c.id not in off]
    return scenario.model_copy(update={"kept_off": (*scenario.kept_off, *more)})


def _on_here(site: Site, scenario: Scenario, circuit_id: str) -> Scenario:
    """A scenario in which a circuit, and what its handle opens with it, is kept off no more."""
    ids = {c.id for c in pair_of(site, circuit_id)}
    left = tuple(k for k in scenario.kept_off if k.circuit_id not in ids)
    return scenario.model_copy(update={"kept_off": left})


def _kept(site: Site, scenario: Scenario) -> tuple[Site, Scenario]:
    """The scenario, put in the place it has on the site."""
    if any(s.id == scenario.id for s in site.scenarios):
        site = put_scenario(site, scenario)
    return site, scenario


_COMMANDS: dict[LeverKind, tuple[str, str]] = {
    "move": ("Move", "moving"),
    "off": ("Keep", "keeping"),
    "idle": ("Leave", "leaving"),
    "later": ("Start", "starting"),
    "on": ("Keep", "keeping"),
    "ready": ("Have", "having"),
}


def lever_words(site: Site, lever: Lever, *, doing: bool = False) -> str:
    """The change as a command, or with ``doing`` as the beginning of a sentence's middle."""
    command = _COMMANDS[lever.kind][doing]
    name = site.circuit(lever.circuit_id).name
    both = listed([c.name for c in pair_of(site, lever.circuit_id)])
    if lever.kind == "move":
        return f"{command} {both} to {site.panel(lever.to).name}"
    if lever.kind in {"off", "on"}:
        here = ", in this scenario alone" if lever.here else ""
        return f"{command} {both} {lever.kind} while the generator runs{here}"
    if lever.kind == "ready":
        return f"{command} the generator ready"
    if lever.kind == "idle":
        return f"{command} {name} unused"
    return (
        f"{command} {lever.what or name} {_SAID.get(lever.hours, f'{lever.hours:g} hours')} later"
    )


def _one_meter(site: Site, one: Bus, other: Bus) -> bool:
    """Whether two buses hang on the same meter, where they hang on one at all."""
    services = {s.id for s in site.services}
    above = [sources_above(site, b.panel_ids[0]) & services for b in (one, other)]
    return not all(above) or bool(above[0] & above[1])


def _on_set(run: Run, circuit_id: str, at: datetime) -> bool:
    """Whether a generator feeds the circuit at a moment."""
    bus = bus_of_circuit(run.site).get(circuit_id)
    row = next((i for i, b in enumerate(run.buses) if bus and b.id == bus.id), None)
    if row is None:
        return False
    sets = {g.id for g in run.site.generators}
    return bool(fed_by(run, sets)[row, run.step_of(at)])


def _idle(site: Site, scenario: Scenario, circuit: Circuit) -> tuple[Site, Scenario]:
    gone = {a.id for a in circuit.appliances}

    def without(day: Scenario) -> Scenario:
        kept = tuple(e for e in day.events if e.appliance_id not in gone)
        return day.model_copy(update={"events": kept})

    idle = circuit.model_copy(update={"appliances": ()})
    changed = with_changes(
        site,
        circuits=tuple(idle if c.id == circuit.id else c for c in site.circuits),
        scenarios=tuple(without(s) for s in site.scenarios),
    )
    return changed, without(scenario)


def _later(site: Site, scenario: Scenario, lever: Lever) -> Scenario:
    if lever.at is None or lever.hours <= 0:
        raise EditError("Say what is to start later, and by how much.", field="hours")
    run = cached_run(site, scenario)
    circuit = site.circuit(lever.circuit_id)
    events = list(scenario.events)
    shift = timedelta(hours=lever.hours)
    for appliance in circuit.appliances:
        begun = _start_before(run, appliance, lever.at)
        if begun is None:
            continue
        own = [e for e in events if e.appliance_id == appliance.id]
        events = [e for e in events if e.appliance_id != appliance.id]
        starts = own or [
            ApplianceEvent(appliance_id=appliance.id, at=t) for t in _starts(run, appliance)
        ]
        events += [
            e.model_copy(update={"at": e.at + shift}) if e.at == begun else e for e in starts
        ]
    if tuple(events) == scenario.events:
        raise EditError(
            f"Nothing on {circuit.name} starts at a time that can be moved.", field="at"
        )
    return scenario.model_copy(update={"events": tuple(sorted(events, key=lambda e: e.at))})


def _start_before(run: Run, appliance: Appliance, at: datetime) -> datetime | None:
    """The start that is under way at a moment, None where it does not run by starts."""
    if appliance.behaviour.model not in {"timed", "charger"}:
        return None
    own = [e.at for e in run.scenario.events if e.appliance_id == appliance.id]
    begun = [t for t in own or _starts(run, appliance) if t <= at]
    if not begun:
        return None
    on = run.flows.taken_by(appliance.id)[run.step_of(begun[-1]) : run.step_of(at) + 1]
    return begun[-1] if (on > 0.0).any() and on[-1] > 0.0 else None


def _starts(run: Run, appliance: Appliance) -> list[datetime]:
    """When an appliance without events began in this run, to the step.

    A timed one begins where it takes power after the stages of the start before are over; a
    charger wherever it goes from nothing to something.
    """
    on = np.flatnonzero(run.flows.taken_by(appliance.id) > 0.0)
    gap = 1.0
    if appliance.behaviour.model == "timed":
        length_min = sum(stage.minutes for stage in appliance.behaviour.stages)
        gap = length_min * 60.0 / run.scenario.step_s
    found: list[int] = []
    last = -np.inf
    for step in on.tolist():
        fresh = step - last > 1 if appliance.behaviour.model == "charger" else step - last > gap
        if fresh:
            found.append(step)
        if fresh or appliance.behaviour.model == "charger":
            last = step
    return [run.time_of(step) for step in found]
