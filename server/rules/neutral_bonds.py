"""Where neutral and ground join, for each source in use."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass

from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import DoubleThrow, Feeder, Generator, TransferSwitch
from server.domain.topology import without_neutral
from server.rules.raceway_metal import all_in_metal
from server.rules.reach import below, panel_interlocked

POLES_WITH_NEUTRAL = 3


@dataclass(frozen=True)
class BondCount:
    """The bonds that stand together while one source feeds what is below ``element_id``.

    A feeder among ``bonded_ids`` stands for the service disconnect it starts at, a service for
    that of the building it comes from.
    """

    source_id: str
    element_id: str
    bonded_ids: tuple[str, ...]


def opens_neutral(switch: TransferSwitch | DoubleThrow) -> bool:
    """Whether a switch says that it opens the neutral and has a pole for it beside both legs."""
    return switch.switches_neutral and switch.poles >= POLES_WITH_NEUTRAL


def derives_its_own(site: Site, generator: Generator) -> bool:
    """Whether a set is a source of its own: no switch joins its neutral to a service's."""
    fed = _joined_to(site, generator)
    return all(opens_neutral(t) for t in site.transfer_switches if t.id in fed)


def _joined_to(site: Site, generator: Generator) -> set[str]:
    """What a set feeds with its neutral in the feeder."""
    return {f.to_id for f in site.feeders if f.from_id == generator.id and not f.no_neutral}


def bond_counts(site: Site) -> tuple[BondCount, ...]:
    """Bonds in force for each disconnect of each service, and for each separately derived set.

    A service disconnect ahead of the first panel holds its service's bond; else a service-rated
    switch does on its utility side. A generator whose switch leaves the neutral alone uses the
    service's bond, so a bond of its own is a second one; where the switch opens the neutral, or
    none stands between, the set needs one of its own. The bond of another building on an old
    three-wire feeder is asked about, not counted.

    Source: a trade-magazine article on standby bonding (250.30); the rest from memory.
    """
    return (*_of_services(site), *_of_generators(site))


def house_bonds(site: Site, generator: Generator) -> tuple[str, ...]:
    """What besides the set joins neutral and ground while a set that derives its own feeds it."""
    found = (b.bonded_ids for b in _of_generators(site) if b.source_id == generator.id)
    return tuple(i for ids in found for i in ids if i != generator.id)


def on_old_three_wire_feeder(site: Site, panel: Panel) -> bool:
    """Whether a bonded panel of another building hangs on a feeder entered without a ground wire.

    Only a run that is entered tells: a feeder without segments may have four wires. One in metal
    all the way has its ground in that, and a metal path between the buildings (250.32(B)(1)
    exception, 250.118(A); from memory). One without a neutral has a ground as its third wire.
    """
    into = site.feeders_into.get(panel.id, ())
    return (
        panel.detached_building
        and panel.neutral_bonded
        and panel.id not in without_neutral(site)
        and bool(into)
        and all(f.from_id in site.panel_by_id for f in into)
        and all(f.segments and not any(s.ground_size for s in f.segments) for f in into)
        and not all(all_in_metal(f) for f in into)
    )


def bond_places(site: Site, count: BondCount) -> tuple[str, ...]:
    """Where the bonds of a count lie, each of which has a section of its own.

    At the ``service``, at a ``set``, in another ``building``, in a ``subpanel`` of this one.
    """
    at = set(count.bonded_ids)
    sets = {g.id for g in site.generators}
    panels = [p for p in site.panels if p.id in at]
    apart = [p for p in panels if p.detached_building]
    # Where nothing ahead of them holds the service's bond, the first panel does.
    beyond = [p for p in panels if not p.detached_building]
    derived = count.source_id in sets
    ahead = at & sets if derived else at - sets - {p.id for p in panels}
    if not ahead:
        beyond = beyond[1:]
    found = {
        "service": not derived,
        "set": bool(at & sets) or derived,
        "building": bool(apart),
        "subpanel": bool(beyond),
    }
    return tuple(place for place, there in found.items() if there)


def _bonded_panels(site: Site, element_ids: Set[str]) -> list[str]:
    """Panels that join a neutral which comes there to ground."""
    reached = element_ids - without_neutral(site)
    return [
        p.id
        for p in site.panels
        if p.neutral_bonded and p.id in reached and not on_old_three_wire_feeder(site, p)
    ]


def _joins_neutral(site: Site, generator: Generator, element_ids: Set[str]) -> bool:
    """Whether the set's neutral is wired through, unswitched, to one of these elements."""
    fed = _joined_to(site, generator)
    for switch in site.transfer_switches:
        if switch.id not in fed or opens_neutral(switch):
            continue
        panels = {site.circuit(h.circuit_id).panel_id for h in switch.handles}
        if switch.id in element_ids or panels & element_ids:
            return True
    return False


def service_disconnects(site: Site) -> tuple[Feeder, ...]:
    """Feeders that start at a service disconnect: from a service, with a breaker where they start.

    That of a feeder to an interlock is the main in the panel, which the interlock holds, unless
    the panel behind it has a main of its own: then it is a disconnect ahead.
    """
    services = {s.id for s in site.services if not s.building_feeder}
    mains = {f.from_id for f in site.feeders if _has_main(site, f.to_id)}
    locks = {t.id for t in site.transfer_switches if t.kind == "interlock"}
    held = locks - mains
    return tuple(
        f
        for f in site.feeders
        if f.breaker_a is not None and f.from_id in services and f.to_id not in held
    )


def _has_main(site: Site, element_id: str) -> bool:
    panel = site.panel_by_id.get(element_id)
    return panel is not None and panel.main_a is not None


def _in_bonded_panel(site: Site, switch: TransferSwitch) -> bool:
    """Whether it is an interlock in a panel where neutral and ground join: one case, one joint."""
    panel = panel_interlocked(site, switch.id)
    return panel is not None and panel.neutral_bonded


def _of_services(site: Site) -> Iterator[BondCount]:
    disconnects = service_disconnects(site)
    for service in site.services:
        for feeder in site.feeders:
            if feeder.from_id != service.id:
                continue
            reached = below(site, feeder.to_id)
            if service.building_feeder:
                bonded = [service.id]
            elif feeder in disconnects:
                bonded = [feeder.id]
            else:
                rated = (t for t in site.transfer_switches if t.service_rated)
                bonded = [t.id for t in rated if t.id in reached and not _in_bonded_panel(site, t)]
            bonded += _bonded_panels(site, reached)
            bonded += [
                g.id
                for g in site.generators
                if g.neutral_bonded and _joins_neutral(site, g, reached)
            ]
            yield BondCount(service.id, feeder.to_id, tuple(bonded))


def _of_generators(site: Site) -> Iterator[BondCount]:
    switched = {t.id for t in site.transfer_switches if opens_neutral(t)}
    panels = set(site.panel_by_id)
    for generator in site.generators:
        derived: set[str] = set()
        for feeder in site.feeders:
            if feeder.from_id != generator.id:
                continue
            if feeder.no_neutral or feeder.to_id in switched | panels:
                derived |= below(site, feeder.to_id)
        if derived:
            bonded = _bonded_panels(site, derived)
            bonded += [generator.id] if generator.neutral_bonded else []
            yield BondCount(generator.id, generator.id, tuple(bonded))
