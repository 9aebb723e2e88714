"""Load managers and double-throws that have nothing left to act on."""

from __future__ import annotations

from server.domain.circuit import Circuit
from server.domain.edits import with_changes
from server.domain.site import Site
from server.domain.supply import DoubleThrow, EnergyGroup
from server.domain.topology import buses, generator_can_energise
from server.rules.mends.offer import with_circuits
from server.rules.reach import below
from server.rules.words import listed

Idle = tuple[EnergyGroup, tuple[Circuit, ...]]


def idle_under(site: Site) -> tuple[Idle, ...]:
    """Managers with the circuits under them that they can do nothing for.

    A manager that measures a part can relieve it of what hangs on it and of nothing else; one that
    keeps circuits off on a generator does so only where a generator can feed them.
    """
    found = []
    for group in site.energy_groups:
        mine = tuple(c for c in site.circuits if c.energy_group_id == group.id)
        idle = tuple(c for c in mine if not _acts(site, group, c))
        if idle:
            found.append((group, idle))
    return tuple(found)


def _acts(site: Site, group: EnergyGroup, circuit: Circuit) -> bool:
    if group.watch_id is not None:
        ends = {f.id: f.to_id for f in site.feeders}
        return circuit.panel_id in below(site, ends.get(group.watch_id, group.watch_id))
    return not group.off_on_generator or generator_can_energise(site, circuit.panel_id)


def without_idle(site: Site) -> Site:
    """The site with such circuits out of their managers, and no planned manager left with none."""
    idle = idle_under(site)
    for _, circuits in idle:
        for circuit in circuits:
            role = "on" if circuit.outage_role == "managed" else circuit.outage_role
            site = with_circuits(site, [circuit], energy_group_id=None, outage_role=role)
    used = {c.energy_group_id for c in site.circuits}
    gone = {group.id for group, _ in idle if group.planned and group.id not in used}
    kept = tuple(g for g in site.energy_groups if g.id not in gone)
    return with_changes(site, energy_groups=kept) if gone else site


def idle_words(site: Site) -> str:
    """Which managers can do nothing for what is under them, as sentences; empty where none."""
    return " ".join(_said(site, group, circuits) for group, circuits in idle_under(site))


def idle_command(site: Site) -> str:
    """What takes those circuits out of their managers, as a command."""
    outs = [
        f"{listed([c.name for c in circuits])} out of {group.name}"
        for group, circuits in idle_under(site)
    ]
    return f"Take {'; '.join(outs)}"


def _said(site: Site, group: EnergyGroup, circuits: tuple[Circuit, ...]) -> str:
    names = listed([c.name for c in circuits])
    hang = "hangs" if len(circuits) == 1 else "hang"
    they = "it" if len(circuits) == 1 else "them"
    where = listed(list(dict.fromkeys(site.panel(c.panel_id).name for c in circuits)))
    on = site.name_of[group.watch_id] if group.watch_id else "a generator"
    all_idle = sum(c.energy_group_id == group.id for c in site.circuits) == len(circuits)
    need = (
        f"{group.name} is for nothing and need not be bought"
        if all_idle and group.planned
        else f"{group.name} is for nothing"
        if all_idle
        else f"{group.name} need not reach {they}"
    )
    return f"{names} {hang} on {where}, which {on} does not feed, so {need}."


def behind(site: Site, throw_id: str) -> list[Circuit]:
    """The circuits behind a double-throw, those without appliances too."""
    ids = {i for bus in buses(site) if bus.root_id == throw_id for i in bus.circuit_ids}
    return [c for c in site.circuits if c.id in ids]


def bare_throws(site: Site) -> tuple[DoubleThrow, ...]:
    """Double-throws behind which nothing draws power, in a house in which something does."""
    if not any(c.appliances for c in site.circuits):
        return ()
    bare = (t for t in site.double_throws if not any(c.appliances for c in behind(site, t.id)))
    return tuple(bare)


def bare_words(site: Site) -> str:
    """That such switches are for nothing, as a sentence; empty where there is none."""
    names = [t.name for t in bare_throws(site)]
    if not names:
        return ""
    is_ = "is" if len(names) == 1 else "are"
    return (
        f"Nothing draws power behind {listed(names)} any more: {'it' if is_ == 'is' else 'they'} "
        f"{is_} for nothing, and need not be thrown, until a circuit is put there."
    )
