"""What cuts off another building, whatever feeds it: 225.39, 225.40, and of a dwelling 225.41."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.editions import Figure, Rulebook
from server.rules.words import listed

MOST_SMALL = 2
"""More branch circuits than these ask for what any other building does."""


def building_disconnect_checks(site: Site, panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """A main of a detached building, or its breakers together, too small; a dwelling’s outdoors.

    Only where the feeder comes from another place: a second panel of the building is no disconnect
    of it.
    """
    here = [c for c in site.circuits if c.panel_id == panel.id]
    if not here or not _fed_from_elsewhere(site, panel):
        return
    yield from _of_a_dwelling(panel, rules)
    onward = [f.breaker_a for f in site.feeders_from.get(panel.id, ())]
    figure, what = _asked(panel, here, further=bool(onward), rules=rules)
    if panel.main_a is not None:
        rated_a, its = panel.main_a, f"its main is {panel.main_a:g} A"
    elif None in onward:
        return
    else:
        rated_a = sum(_once(here)) + sum(a for a in onward if a)
        its = f"its breakers, which cut it off, come to {rated_a:g} A together"
    if rated_a >= figure.value:
        return
    yield made(
        "detached-disconnect-small",
        "warning",
        panel.id,
        text=f"{panel.name} stands in another building and {its}. What cuts off a building "
        f"{what} is rated {figure.value:g} A or more, however small its load and its feeder.",
        mend=f"Use a main or a switch of {figure.value:g} A or more there. The breaker that "
        "protects its feeder may stay as it is.",
        figure=figure,
        value=rated_a,
        limit=figure.value,
        unit="A",
    )


def _fed_from_elsewhere(site: Site, panel: Panel) -> bool:
    """Whether a feeder comes in from a panel that stands in no other building."""
    from_ids = [f.from_id for f in site.feeders_into.get(panel.id, ())]
    starts = [site.panel_by_id[i] for i in from_ids if i in site.panel_by_id]
    return bool(starts) and not any(p.detached_building for p in starts)


def _of_a_dwelling(panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """The emergency disconnect of a dwelling on a feeder, as 230.85 has it at a service."""
    if not panel.dwelling.strip() or not rules.on("building_emergency_disconnect"):
        return
    yield made(
        "emergency-disconnect-feeder",
        "note",
        panel.id,
        text=f"{panel.name} is of a dwelling in another building, fed by a feeder: that needs an "
        "emergency disconnect outdoors, within reach and marked as such, when it is new or "
        "replaced.",
        mend="Show it on the one-line, outdoors on or within sight of that building, or ask "
        "whether this work triggers it. One that is rated for it may be what cuts the building "
        "off as well.",
        figure=rules.figure("building_emergency_disconnect"),
    )


def _asked(
    panel: Panel, here: list[Circuit], *, further: bool, rules: Rulebook
) -> tuple[Figure, str]:
    """The least rating, and the words of the building it is for."""
    if panel.dwelling.strip():
        return rules.figure("building_disconnect_dwelling_a"), "that is a dwelling"
    shared = [c for c in here if c.multiwire_partner_id is not None or _has_neutral_too(c)]
    if further or shared or len(here) > MOST_SMALL:
        number = (
            f"of {len(here)} circuits"
            if len(here) > MOST_SMALL
            else "with a panel further on"
            if further
            else "with a circuit of two hot wires and a neutral"
        )
        return rules.figure("building_disconnect_least_a"), number
    if len(here) == 1:
        return rules.figure("building_disconnect_one_a"), "of one circuit"
    return rules.figure("building_disconnect_two_a"), "of two circuits of two wires"


def _has_neutral_too(circuit: Circuit) -> bool:
    """Whether a circuit of two legs has a neutral, and so three wires."""
    return circuit.poles > 1 and any(a.volts == 120 or a.part_120_w for a in circuit.appliances)


def _once(circuits: list[Circuit]) -> list[float]:
    """The breakers of a building, of two that share a neutral and a handle one. [A]"""
    found: dict[str, float] = {}
    for circuit in circuits:
        pair = sorted((circuit.id, circuit.multiwire_partner_id or circuit.id))
        found.setdefault(listed(pair), circuit.breaker_a)
    return list(found.values())
