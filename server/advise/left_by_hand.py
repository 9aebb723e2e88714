"""The breakers that a set worked by hand must be run without by the code, entered all at once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from functools import lru_cache

from server.advise.by_code import MOST_SCENARIOS, MOST_TOLD, tried_in
from server.advise.longer import longer_in, told_in
from server.advise.plan_ahead import left_by_code, too_much_by_code
from server.advise.step import NextStep, Where
from server.domain.circuit import Circuit
from server.domain.errors import InputError
from server.domain.pairs import in_role
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import can_move
from server.rules.demand.left_off import left_off
from server.simulate.results import Run

_HOLDS = "In amps this scenario holds, but: "


def barred_step(run: Run, set_ids: Collection[str]) -> NextStep | None:
    """What the code forbids of a run that holds, with a change that enters what is left off.

    The change acts in every scenario and is held to them all: one that makes any do worse is told
    and not offered. None where the sets of the run carry what they may.
    """
    barred = next(too_much_by_code(run, set_ids), "")
    if not barred:
        return None
    sentence = f"{_HOLDS}{barred}"
    where: Where = "buses" if can_move(run.site) else "roles"
    circuits = _circuits(run, set_ids)
    if not circuits:
        return NextStep(sentence, where=where)
    days = run.site.scenarios[:MOST_SCENARIOS]
    then, worse, costs = _left(run.site, circuits, days)
    if worse:
        told = f"With all of them off, {worse}: so choose by yourself which are off when."
        return NextStep(f"{sentence} {told}", where=where)
    waits = "".join(f" {cost}." for cost in costs)
    count = f"these {len(circuits)} breakers" if len(circuits) > 1 else "this breaker"
    command = f"Leave {count} off until switched on by hand"
    return NextStep(f"{sentence}{waits}", command, where=where, changed=then, names_code=True)


def and_barred(step: NextStep, barred: NextStep | None) -> NextStep:
    """A step on a run that holds, with what the code forbids of it after it.

    A step that has a change of its own keeps it.
    """
    if barred is None:
        return step
    sentence = f"{step.sentence} {barred.sentence.removeprefix(_HOLDS)}"
    if step.lever or step.changed or not barred.changed:
        return replace(step, sentence=sentence)
    return replace(
        step,
        sentence=sentence,
        command=barred.command,
        changed=barred.changed,
        names_code=True,
    )


def _circuits(run: Run, set_ids: Collection[str]) -> tuple[Circuit, ...]:
    """What is left off the first of the sets, where that is so in every scenario alike."""
    one = next((o for o in left_off(run.site) if o.set_id in set_ids and o.fits), None)
    if one is None or {c.id for c in one.circuits} != left_by_code(run, {one.set_id}):
        return ()
    return one.circuits


@lru_cache(maxsize=16)
def _left(
    site: Site, circuits: tuple[Circuit, ...], days: tuple[Scenario, ...]
) -> tuple[Site, str, tuple[str, ...]]:
    """The site with them off until a hand, what that brings, and what of it a house lives by."""
    then = site
    for circuit in circuits:
        then = in_role(then, circuit.id, "by_hand")
    try:
        worse, _ = tried_in(site, then, days)
        return then, worse, () if worse else told_in(longer_in(site, then, days), most=MOST_TOLD)
    except InputError as error:
        return then, f"a scenario of this site cannot be run: {error}", ()
