"""Mends of solar, switches, panels and their devices."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.edits import free_spaces, pairs_of_spaces, with_changes
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.rules.checks.busbar import busbar, main_needed_a
from server.rules.demand.ratings import portable_set_of
from server.rules.editions import Rulebook
from server.rules.mends.offer import Maker, Offer, changed
from server.rules.reach import below
from server.rules.switch_hazards import unopened_by_service
from server.rules.words import a_rating, listed

TWO_POLES = 2


def solar_at_far_end(site: Site, finding: Finding, rules: Rulebook) -> Iterator[Offer]:
    """The breaker of solar at the far end; else, or with it, a main the bus can stand it beside."""
    panel = site.panel(finding.element_id)
    bus = busbar(site, panel, rules)
    if bus is None:
        return
    moved = None if bus.at_far_end else _moved_to_far_end(site, panel)
    if moved is not None and bus.within_far_share:
        yield moved
    needed_a = main_needed_a(site, panel, rules)
    far, plain = (bus.largest_main_a(far_end=f, needed_a=needed_a) for f in (True, False))
    if panel.main_a is None:
        return
    if far is not None and not bus.within_far_share and bus.at_far_end is None and moved is None:
        words = f"a main of {far:g} A in {panel.name}, its sources at the far end"
        yield Offer(words, changed(site, "panels", [panel.id], main_a=far))
    if far is not None and not bus.within_far_share and (bus.at_far_end or moved is not None):
        words = f"a main of {far:g} A in {panel.name}"
        if moved is None:
            yield Offer(words, changed(site, "panels", [panel.id], main_a=far))
        else:
            both = changed(moved.site, "panels", [panel.id], main_a=far)
            yield Offer(f"{moved.words}, and {words}", both)
    if plain is not None and not bus.at_far_end:
        yield Offer(
            f"a main of {plain:g} A in {panel.name}",
            changed(site, "panels", [panel.id], main_a=plain),
        )


def _moved_to_far_end(site: Site, panel: Panel) -> Offer | None:
    """The one breaker that a source comes in by, in the last spaces; what lies there in its place.

    None where several come in, where one has no place, or where the last spaces cannot be cleared.
    """
    below_of = {f.id: below(site, f.to_id) for f in site.feeders if f.from_id == panel.id}
    at_panels = {a.panel_id for a in site.solar} | {b.panel_id for b in site.batteries}
    if any(b.panel_id == panel.id for b in site.batteries):
        return None
    arrays = [a for a in site.solar if a.panel_id == panel.id]
    feeders = [f for f in site.feeders if not at_panels.isdisjoint(below_of.get(f.id, ()))]
    if len(arrays) + len(feeders) != 1:
        return None
    part, one = ("solar", arrays[0]) if arrays else ("feeders", feeders[0])
    end = {panel.spaces, panel.spaces - 1}
    free = free_spaces(site, panel, leaving=frozenset({one.id}))
    last = [p for p in pairs_of_spaces(free) if set(p) & end]
    if last:
        return _offer_of_place(one.name, last[-1], changed(site, part, [one.id], spaces=last[-1]))
    if len(one.spaces) != TWO_POLES:
        return None
    for circuit in site.circuits:
        if (
            circuit.panel_id == panel.id
            and circuit.poles == TWO_POLES
            and set(circuit.spaces) & end
        ):
            cleared = with_changes(
                site,
                circuits=tuple(
                    c.model_copy(update={"spaces": one.spaces}) if c is circuit else c
                    for c in site.circuits
                ),
                **{
                    part: tuple(
                        p.model_copy(update={"spaces": circuit.spaces}) if p.id == one.id else p
                        for p in getattr(site, part)
                    )
                },
            )
            return _offer_of_place(one.name, circuit.spaces, cleared, circuit.name)
    return None


def _offer_of_place(name: str, spaces: tuple[int, ...], site: Site, in_return: str = "") -> Offer:
    swapped = f" and {in_return} where it was" if in_return else ""
    words = f"the breaker of {name} in spaces {spaces[0]} and {spaces[1]}, at the far end from the"
    return Offer(f"{words} main{swapped}", site)


def solar_breaker(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """The breaker that the mend names."""
    array = next(a for a in site.solar if a.id == finding.element_id)
    if finding.advised is None or finding.advised.amps is None:
        return
    device = finding.advised.amps
    yield Offer(
        f"{a_rating(device)} breaker for {array.name}",
        changed(site, "solar", [array.id], breaker_a=device),
    )


def solar_to_normal(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """Solar in a panel that no generator can energise."""
    array = next(a for a in site.solar if a.id == finding.element_id)
    for panel in site.panels:
        if generator_can_energise(site, panel.id):
            continue
        pairs = tuple(pairs_of_spaces(free_spaces(site, panel)))
        if pairs:
            moved = changed(site, "solar", [array.id], panel_id=panel.id, spaces=pairs[-1])
            yield Offer(f"{array.name} tied to {panel.name}", moved)


def rest_on_normal(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """The switch left on NORMAL."""
    name = site.name_of[finding.element_id]
    yield Offer(
        f"{name} resting on NORMAL",
        changed(site, "double_throws", [finding.element_id], resting="normal"),
    )


def neutral_pole(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A switch that opens the neutral as well."""
    for part in ("double_throws", "transfer_switches"):
        if any(s.id == finding.element_id for s in getattr(site, part)):
            yield Offer(
                f"three poles in {site.name_of[finding.element_id]}, the neutral among them",
                changed(site, part, [finding.element_id], poles=3, switches_neutral=True),
            )


def set_of_its_own(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """Switches that open the neutral, and the set bonded as a source of its own."""
    generator = next(g for g in site.generators if g.id == finding.element_id)
    behind = unopened_by_service(site, generator)
    ids = {t.id for found in behind.values() for t in found}
    opened = changed(site, "transfer_switches", ids, poles=3, switches_neutral=True)
    yield Offer(
        f"three poles in each of its switches, and neutral and ground joined at {generator.name}",
        changed(opened, "generators", [generator.id], neutral_bonded=True),
    )


def smaller_feeder_device(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A device of the feeder that its wire can stand."""
    advised = finding.advised
    if advised is not None and advised.of == "breaker":
        device = advised.amps or 0.0
        feeder = next(f for f in site.feeders if f.id == finding.element_id)
        portable = portable_set_of(site, feeder)
        if portable is not None:
            yield Offer(
                f"{a_rating(device)} breaker at {portable.name}",
                changed(site, "generators", [portable.id], breaker_a=device),
            )
            return
        yield Offer(
            f"{a_rating(device)} breaker on {site.name_of[finding.element_id]}",
            changed(site, "feeders", [finding.element_id], breaker_a=device),
        )


def switch_as_service_equipment(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A service-rated switch, or a service disconnect of the main's size ahead of it.

    The bond goes there, so the panels behind it keep neutral and ground apart.
    """
    name = site.name_of[finding.element_id]
    behind = below(site, finding.element_id)
    bonded = [p for p in site.panels if p.neutral_bonded and p.id in behind]
    apart = changed(site, "panels", [p.id for p in bonded], neutral_bonded=False)
    words = ""
    if bonded:
        words = f", neutral and ground kept apart in {listed([p.name for p in bonded])}"
    yield Offer(
        f"a service-rated switch for {name}{words}",
        changed(apart, "transfer_switches", [finding.element_id], service_rated=True),
    )
    feeder = site.feeder_into(finding.element_id, "utility")
    service = next((s for s in site.services if feeder and s.id == feeder.from_id), None)
    if feeder is not None and service is not None:
        yield Offer(
            f"a service disconnect of {service.main_a:g} A ahead of {name}{words}",
            changed(apart, "feeders", [feeder.id], breaker_a=service.main_a),
        )


def neutral_kept_apart(site: Site, finding: Finding, _rules: Rulebook) -> Iterator[Offer]:
    """A four-wire feeder with neutral and ground apart in the other building."""
    yield Offer(
        f"four wires to {site.name_of[finding.element_id]} and its neutral apart from ground",
        changed(site, "panels", [finding.element_id], neutral_bonded=False),
    )


SUPPLY_MENDS: dict[str, Maker] = {
    "solar-busbar": solar_at_far_end,
    "solar-breaker-small": solar_breaker,
    "solar-breaker-large": solar_breaker,
    "solar-on-generator": solar_to_normal,
    "rests-on-backed-up": rest_on_normal,
    "parallel-neutral": neutral_pole,
    "neutral-without-a-pole": neutral_pole,
    "neutrals-joined-by-set": set_of_its_own,
    "device-above-ampacity": smaller_feeder_device,
    "switch-not-service-rated": switch_as_service_equipment,
    "detached-neutral-bonded": neutral_kept_apart,
}
