"""One change that keeps a house from the first harm that fails a run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from server.advise.advice import all_holds
from server.advise.levers import Lever, apply_lever, lever_words
from server.domain.behaviour import RoomUnit
from server.domain.errors import InputError
from server.domain.pairs import pair_of
from server.domain.topology import bus_of_circuit, buses, generator_can_energise
from server.simulate.harm_told import HarmTold
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.verdict import into_outage


@dataclass(frozen=True)
class HarmMend:
    """What to do, with the lever that does it where one circuit is enough."""

    words: str
    command: str = ""
    lever: Lever | None = None
    where: Literal["run", ""] = ""


def harm_mend(run: Run) -> HarmMend | None:
    """What keeps the first harm off that fails a run; None where none does."""
    first = next((one for one in run.verdict.harms if one.fails), None)
    if first is None:
        return None
    key = first.kind, first.element_id
    for circuit_id in circuits_of(run, first):
        for lever in feeding(run, circuit_id):
            try:
                after = simulate(*apply_lever(run.site, run.scenario, lever))
            except InputError:
                continue
            still = any((h.kind, h.element_id) == key for h in after.verdict.harms)
            if still or len(after.verdict.over) > len(run.verdict.over):
                continue
            words = lever_words(run.site, lever)
            holds = all_holds(after)
            tail = f" Then {holds}." if holds else ""
            said = f"{words}. It mends this: {first.clause}.{tail}"
            return HarmMend(said, words, lever)
    return HarmMend(
        f"{first.clause} {into_outage(run.scenario, first.at)}, and no single change to one "
        "circuit mends that: it needs power sooner, longer or more of it, or another way to be "
        "carried through.",
        where="run",
    )


def circuits_of(run: Run, harm: HarmTold) -> tuple[str, ...]:
    """Its circuit, or those of what heats or cools its room."""
    if harm.circuit_id:
        return (harm.circuit_id,)
    mode = "cool" if harm.kind == "room_hot" else "heat"
    return tuple(
        circuit.id
        for circuit in run.site.circuits
        if any(
            isinstance(one.behaviour, RoomUnit)
            and one.behaviour.zone_id == harm.element_id
            and one.behaviour.mode == mode
            for one in circuit.appliances
        )
    )


def feeding(run: Run, circuit_id: str) -> Iterator[Lever]:
    """Changes that give a circuit power in an outage: kept on, a set made ready, a fed panel."""
    circuit = run.site.circuit(circuit_id)
    if circuit.outage_role != "on":
        yield Lever("on", circuit_id)
    if any(run.scenario.state_of(g.id) != "ready" for g in run.site.generators):
        yield Lever("ready", circuit_id)
    own = bus_of_circuit(run.site).get(circuit_id)
    pinned = any(c.pinned for c in pair_of(run.site, circuit_id))
    if pinned or own is None or not own.panel_ids:
        return
    for bus in buses(run.site):
        if (
            bus.id != own.id
            and bus.panel_ids
            and generator_can_energise(run.site, bus.panel_ids[0])
        ):
            yield Lever("move", circuit_id, to=bus.panel_ids[0])
