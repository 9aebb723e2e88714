"""What an automatic set finds on as it takes over, where a run has it off: nobody is asked then."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime

from server.advise.plan_harms import medical_of
from server.advise.plan_managers import paused_ids
from server.advise.plan_task import Task, joined
from server.domain.circuit import Circuit
from server.domain.supply import Generator, TransferSwitch
from server.domain.topology import root_of, sources_above
from server.simulate.results import Run
from server.simulate.timeline import lost_s


def taken_by_itself(run: Run, generator: Generator) -> tuple[Circuit, ...]:
    """The circuits that a set carries from its takeover on without a person.

    An automatic set behind an automatic switch; a double-throw below it is thrown by hand.
    """
    if generator.start != "automatic":
        return ()
    site = run.site
    alone = {t.id for t in site.transfer_switches if _takes(run, t, generator)}
    return tuple(c for c in site.circuits if root_of(site, c.panel_id) in alone)


def _takes(run: Run, switch: TransferSwitch, generator: Generator) -> bool:
    return switch.automatic and generator.id in sources_above(run.site, switch.id)


def left_by_hand(run: Run, used: Collection[Generator], by: datetime) -> Iterator[Task]:
    """Circuits of an automatic set that are on by hand at some hours: off as it takes over."""
    kept_off = {k.circuit_id for k in run.scenario.kept_off}
    taken = {c.id for g in used for c in taken_by_itself(run, g)}
    hand = [
        c
        for c in run.site.circuits
        if c.id in taken and c.outage_role == "by_hand" and c.id not in kept_off
    ]
    if hand:
        names = ", ".join(c.name for c in hand)
        yield Task(by, f"Switch off, to be on by hand at some hours only: {names}.")


def unannounced(run: Run, used: Collection[Generator], off: Collection[Circuit]) -> Iterator[Task]:
    """What is on at the takeover of an outage that nobody announced, and what keeps it off.

    ``off`` are circuits that the run has off until the end; those put on by hand count too. What a
    manager keeps off while a set feeds it needs nobody.
    """
    off_ids = {c.id for c in off}
    paused = paused_ids(run)
    for generator in used:
        found = [
            c
            for c in taken_by_itself(run, generator)
            if (c.id in off_ids or c.outage_role == "by_hand")
            and not medical_of(c)
            and c.id not in paused
        ]
        if not found:
            continue
        names = joined([c.name for c in found])
        it, them = ("it is", "it") if len(found) == 1 else ("they are", "them")
        yield Task(
            None,
            f"{generator.name} takes over by itself about {_after_s(run, generator):.0f} s after "
            f"the power fails, and this run has {names} off by then. In an outage that nobody "
            f"announced {it} on: leave {them} off from now on, have a relay or a load manager "
            f"hold {them} off while {generator.name} carries the house, or open {them} at once; "
            f"until then {generator.name} may carry more than this run counts.",
        )


def _after_s(run: Run, generator: Generator) -> float:
    """From the loss of the utility until the quickest switch is over. [s]"""
    switches = [t for t in run.site.transfer_switches if _takes(run, t, generator)]
    wait_s = min((t.transfer_delay_s for t in switches), default=0.0)
    return generator.start_delay_s + wait_s + lost_s(run.scenario, generator)
