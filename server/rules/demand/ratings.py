"""The rating each element's demand is compared with, and the volts it runs at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from server.domain.errors import NotFoundError
from server.domain.site import Site
from server.domain.supply import Feeder, Generator
from server.physics.engine_set import derated_kw, leg_limit_a
from server.rules.reach import panel_interlocked

ElementKind = Literal["service", "transfer_switch", "double_throw", "feeder", "panel", "generator"]
VOLTS = {"120/240": 240.0, "120/208": 208.0, "120": 120.0}


def kind_of(site: Site, element_id: str) -> ElementKind:
    """What an element is.

    Raises
    ------
    NotFoundError   When the site has no such element.
    """
    kinds: tuple[tuple[ElementKind, set[str]], ...] = (
        ("service", {s.id for s in site.services}),
        ("transfer_switch", {t.id for t in site.transfer_switches}),
        ("double_throw", {d.id for d in site.double_throws}),
        ("feeder", {f.id for f in site.feeders}),
        ("panel", set(site.panel_by_id)),
        ("generator", {g.id for g in site.generators}),
    )
    for kind, ids in kinds:
        if element_id in ids:
            return kind
    raise NotFoundError(f"There is no service, switch, feeder, panel or generator {element_id!r}.")


def system_volts(site: Site, element_id: str) -> float:
    """Volts of what feeds an element, between its legs; the utility where there is one. [V]"""
    feeders = {f.id: f for f in site.feeders}
    here = feeders[element_id].from_id if element_id in feeders else element_id
    while (above := _upward(site, here)) is not None:
        here = above[0]
    systems: dict[str, str] = {s.id: s.system for s in site.services}
    systems |= {g.id: g.system for g in site.generators}
    return VOLTS[systems.get(here, "120/240")]


def _upward(site: Site, element_id: str) -> list[str] | None:
    """From ends of the feeders into an element, the generator side only where there is no other."""
    into = site.feeders_into.get(element_id, ())
    if not into:
        return None
    utility = [f for f in into if f.to_input != "generator"]
    return [f.from_id for f in utility or into]


def devices_ahead(site: Site, element_id: str) -> tuple[float, ...]:
    """Nearest overcurrent device on each feed of an element, generator inputs left out. [A]"""
    return tuple(_devices(site, [element_id], own=False))


def _device_at(site: Site, element_id: str) -> tuple[float, ...]:
    """The device that protects what leaves an element: its own main, else what is ahead of it."""
    return tuple(_devices(site, [element_id], own=True))


def _devices(site: Site, waiting: list[str], *, own: bool) -> Iterator[float]:
    """Devices met on the way up, each element passed once however many ways lead through it."""
    mains = {p.id: p.main_a for p in site.panels if p.main_a is not None}
    mains |= {s.id: s.main_a for s in site.services}
    generators = {g.id: g.breaker_a for g in site.generators}
    first = None if own else waiting[0]
    seen = set(waiting)
    while waiting:
        here = waiting.pop(0)
        if here in generators:
            breaker_a = generators[here]
            if here != first and breaker_a is not None:
                yield breaker_a
            continue
        into = site.feeders_into.get(here, ())
        if here in mains and (here != first or not into):
            yield mains[here]
            continue
        for feeder in [f for f in into if f.to_input != "generator"] or into:
            if feeder.breaker_a is not None:
                yield feeder.breaker_a
            elif (at_its_end := _main_at_end_a(site, feeder)) is not None:
                yield at_its_end
            elif feeder.from_id not in seen:
                seen.add(feeder.from_id)
                waiting.append(feeder.from_id)


def feeder_device_a(site: Site, feeder: Feeder) -> float | None:
    """The device that protects a feeder: its own, else the largest that is nearest ahead. [A]

    Several sets of service conductors are each protected by the main where they end (230.90(A),
    230.40 exception 2). Wire from a portable set gets its supply through the set's own breaker, so
    that one protects it (240.21), whatever smaller one it is back-fed through at its far end.
    """
    portable = portable_set_of(site, feeder)
    if portable is not None:
        return portable.breaker_a
    if feeder.breaker_a is not None:
        return feeder.breaker_a
    at_its_end = _main_at_end_a(site, feeder)
    if at_its_end is not None:
        return at_its_end
    return max(_device_at(site, feeder.from_id), default=None)


def portable_set_of(site: Site, feeder: Feeder) -> Generator | None:
    """The portable set a feeder starts at, if its own breaker is told."""
    starts = (g for g in site.generators if g.id == feeder.from_id)
    return next((g for g in starts if g.portable and g.breaker_a is not None), None)


def _main_at_end_a(site: Site, feeder: Feeder) -> float | None:
    """The service disconnect one of several sets of service conductors ends in, if it is told.

    Behind an interlock, which ties the breakers of a panel, that panel's main.
    """
    if all(s.id != feeder.from_id or s.building_feeder for s in site.services):
        return None
    if sum(f.from_id == feeder.from_id for f in site.feeders) == 1:
        return None
    panel = panel_interlocked(site, feeder.to_id) or site.panel_by_id.get(feeder.to_id)
    if panel is not None:
        return panel.main_a
    rated = (t.rating_a for t in site.transfer_switches if t.id == feeder.to_id and t.service_rated)
    return next(rated, None)


def rating_a(site: Site, element_id: str) -> float | None:
    """The rating an element's demand is compared with, None where none is told. [A]

    Service: its main. Panel: its rating, main or the device ahead, whichever is smallest. Feeder:
    its device, else the nearest one ahead, or its stated ampacity if smaller. Switch: its rating
    or the device ahead. Generator: the limit of a leg, or its receptacle, cord or inlet.
    """
    kind = kind_of(site, element_id)
    known = list(_own_ratings(site, kind, element_id))
    if kind == "feeder":
        feeder = next(f for f in site.feeders if f.id == element_id)
        if feeder.breaker_a is None:
            at_its_end = _main_at_end_a(site, feeder)
            known += [at_its_end] if at_its_end else _device_at(site, feeder.from_id)
    elif kind not in ("service", "generator"):
        known += devices_ahead(site, element_id)
    return min(known, default=None)


def _own_ratings(site: Site, kind: ElementKind, element_id: str) -> Iterator[float]:
    """What an element itself is rated, or protected by at its own place. [A]"""
    if kind == "generator":
        yield generator_a(site, element_id)
        yield from _outlet_parts_a(site, element_id).values()
        return
    own: list[float | None] = [s.main_a for s in site.services if s.id == element_id]
    own += [t.rating_a for t in site.transfer_switches if t.id == element_id]
    own += [d.rating_a for d in site.double_throws if d.id == element_id]
    own += [a for f in site.feeders if f.id == element_id for a in (f.breaker_a, f.ampacity_a)]
    own += [a for p in site.panels if p.id == element_id for a in (p.rating_a, p.main_a)]
    yield from (a for a in own if a is not None)


def own_rating_a(site: Site, element_id: str) -> float | None:
    """The least rating of an element itself, whatever is ahead of it; None where none is told. [A]

    Where :func:`rating_a` is less, that is of the device ahead.
    """
    return min(_own_ratings(site, kind_of(site, element_id), element_id), default=None)


def binding_part(site: Site, generator_id: str) -> tuple[str, float] | None:
    """The least of a set's receptacle, cord and inlet, by its word, where it limits the set. [A]"""
    parts = _outlet_parts_a(site, generator_id)
    word, amps = min(parts.items(), key=lambda part: part[1], default=("", 0.0))
    return (word, amps) if word and amps < generator_a(site, generator_id) else None


def _outlet_parts_a(site: Site, generator_id: str) -> dict[str, float]:
    return next((g.outlet_parts_a for g in site.generators if g.id == generator_id), {})


def generator_a(site: Site, generator_id: str) -> float:
    """Amps a leg of a set can give at the site's altitude and design heat, as a run limits it.

    The lesser of kVA and derated kW, over the volts of the legs. [A]
    """
    generator = next(g for g in site.generators if g.id == generator_id)
    left_kw = derated_kw(
        rated_kw=generator.rated_kw,
        altitude_ft=site.place.altitude_ft,
        outdoor_f=site.design_high_f,
        altitude_derate_per_1000ft=generator.altitude_derate_per_1000ft,
        altitude_free_ft=generator.altitude_free_ft,
        heat_derate_per_10f=generator.heat_derate_per_10f,
        heat_free_f=generator.heat_free_f,
    )
    return max(1.0, leg_limit_a(kva=min(generator.kva, left_kw), system=generator.system))
