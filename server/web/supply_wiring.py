"""How a part of the supply is joined to the rest: the choices, and the additions they make.

A part is added with the feeders it needs in one edit, so nothing is ever fed by nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from server.domain.current_path import (
    NODES,
    SupplyGroup,
    SupplyPart,
    input_words,
    members,
)
from server.domain.edits import free_name
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import (
    Battery,
    DoubleThrow,
    Feeder,
    Generator,
    Service,
    SolarArray,
    TransferSwitch,
)
from server.web.supply_fields import Ask
from server.web.words import Options

NEW = "new"
NOTHING = ""
USUAL = "usual"
NEW_PANEL: Options = ((NEW, "a new panel"),)
NEW_GENERATOR: Options = ((NEW, "a new generator, 16 kW, a guess"),)
NOTHING_YET: Options = ((NOTHING, "nothing yet"),)

BLANK: Mapping[SupplyGroup, SupplyPart] = {
    "services": Service(id="new", name="Utility service", main_a=200),
    "generators": Generator(id="new", name="Generator", rated_kw=16, fuel="propane"),
    "transfer_switches": TransferSwitch(id="new", name="Transfer switch", rating_a=100),
    "double_throws": DoubleThrow(
        id="new", name="Double-throw switch", rating_a=100, poles=3, switches_neutral=True
    ),
    "panels": Panel(id="new", name="Panel", rating_a=100, spaces=24),
    "feeders": Feeder(id="new", name="Feeder", from_id="new", to_id="new"),
    "solar": SolarArray(
        id="new", name="Roof solar", panel_id="new", dc_kw=6, ac_kw=5, breaker_a=30
    ),
    "batteries": Battery(id="new", name="Battery", panel_id="new", usable_kwh=13, inverter_kw=5),
}
"""What the form of a new part begins with: usual figures, common practice, no source."""


def blank_part(site: Site, group: SupplyGroup) -> SupplyPart:
    """A new part with usual figures, marked as a guess, and a name that is free."""
    part = BLANK[group]
    changes: dict[str, Any] = {"name": free_name(part.name, set(site.name_of.values()))}
    if "figure_source" in type(part).model_fields:
        changes["figure_source"] = "guess"
    return part.model_copy(update=changes)


def starts(site: Site) -> Options:
    """What a feeder can start at: every source, panel and switch that feeds whole panels."""
    handle_sets = {t.id for t in site.transfer_switches if t.kind == "handles"}
    return tuple(
        (part.id, part.name)
        for group in NODES
        for part in members(site, group)
        if part.id not in handle_sets
    )


def ends(site: Site) -> Options:
    """What a feeder can land on: every panel, and every input of every switch."""
    found = [(panel.id, panel.name) for panel in site.panels]
    for switch in site.transfer_switches:
        sides = ("generator",) if switch.kind == "handles" else ("utility", "generator")
        found += _inputs(switch, sides)
    for throw in site.double_throws:
        found += _inputs(throw, ("normal", "backed_up"))
    return tuple(found)


def _inputs(switch: TransferSwitch | DoubleThrow, sides: tuple[str, ...]) -> Options:
    return tuple((f"{switch.id}/{side}", f"{switch.name}, {input_words(side)}") for side in sides)


def _panels(site: Site) -> Options:
    return tuple((panel.id, panel.name) for panel in site.panels)


def _sets(site: Site) -> Options:
    return tuple((generator.id, generator.name) for generator in site.generators)


def _choice(name: str, label: str, options: Options, hint: str = "") -> Ask:
    return Ask(name, label, kind="choice", options=options, hint=hint)


def usual_start(site: Site) -> tuple[str, str] | None:
    """Id and name of what usually feeds a new panel or switch: the first panel, else a service."""
    found = [(panel.id, panel.name) for panel in site.panels]
    found += [(service.id, service.name) for service in site.services]
    return found[0] if found else None


def wiring_asks(site: Site, group: SupplyGroup, *, new: bool) -> tuple[Ask, ...]:
    """The questions about how a part is joined; a saved one is moved by its feeders."""
    if group == "feeders":
        return (
            _choice("from_id", "From", starts(site)),
            _choice(
                "to",
                "To",
                ends(site),
                "A panel or input takes one feeder; a new one replaces the one there."
                if new
                else "",
            ),
        )
    if group in {"solar", "batteries"}:
        return (_choice("panel_id", "Tied into", _panels(site)),)
    if not new:
        return ()
    ahead = tuple((i, f"{name}, ahead of it") for i, name in _panels(site))
    instead = tuple((i, f"{name}, instead of what feeds it now") for i, name in _panels(site))
    breaker = Ask("feed_breaker_a", "Breaker it is fed by", "A", hint="Empty: none there.")
    if group == "panels":
        return (_choice("fed_from", "What feeds it", starts(site)), breaker)
    if group == "services":
        return (_choice("feeds", "It feeds", NEW_PANEL + instead + NOTHING_YET),)
    if group == "generators":
        sides = tuple(
            (f"{t.id}/generator", f"{t.name}, instead of what is there now")
            for t in site.transfer_switches
        )
        return (
            _choice(
                "feeds",
                "It feeds",
                NOTHING_YET + sides,
                "Add it first, then the transfer switch that joins it to the house.",
            ),
        )
    start = usual_start(site)
    first = start[1] if start else "nothing, for there is none"
    usual = ((USUAL, "the usual"),)
    hint = f"The usual: ahead of a panel, what feeds it now; else {first}."
    if group == "transfer_switches":
        return (
            _choice("ahead", "It feeds", NEW_PANEL + ahead + NOTHING_YET),
            _choice("utility_from", "Its utility side comes from", usual + starts(site), hint),
            breaker,
            _choice("generator_from", "Its generator side comes from", _sets(site) + NEW_GENERATOR),
        )
    return (
        _choice("ahead", "It feeds", NEW_PANEL + ahead + NOTHING_YET),
        _choice("normal_from", "NORMAL comes from", usual + starts(site), hint),
        _choice("backed_from", "BACKED-UP comes from", starts(site)),
        Ask("feed_breaker_a", "Breaker of each feed", "A", hint="Empty: none there."),
    )


def wiring_values(site: Site, group: SupplyGroup, part: SupplyPart) -> dict[str, str]:
    """What those questions are answered with: as it is, or as is usual for a new part."""
    if isinstance(part, Feeder):
        end = f"{part.to_id}/{part.to_input}" if part.to_input else part.to_id
        return {"from_id": part.from_id, "to": end}
    if isinstance(part, SolarArray | Battery):
        return {"panel_id": part.panel_id}
    asked = wiring_asks(site, group, new=True)
    values = {ask.name: ask.options[0][0] if ask.options else "" for ask in asked}
    if "feed_breaker_a" in values:
        values["feed_breaker_a"] = "60"
    start = usual_start(site)
    if "fed_from" in values and start is not None:
        values["fed_from"] = start[0]
    if "backed_from" in values:
        switched = {t.id for t in site.transfer_switches}
        behind = [f.to_id for f in site.feeders if f.from_id in switched]
        values["backed_from"] = next(
            (i for i in behind if i in site.panel_by_id), values["backed_from"]
        )
    return values
