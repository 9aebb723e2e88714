"""Edits of the supply as pure functions: put, feed, take away. A site in, a checked site out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from server.domain.current_path import (
    GROUPS,
    SupplyGroup,
    SupplyPart,
    fed_by,
    members,
    supply_part,
)
from server.domain.edits import free_spaces, pairs_of_spaces, with_changes, without_circuits
from server.domain.errors import EditError, SiteFileError
from server.domain.site import Site
from server.domain.supply import Feeder, FeederInput

Then = Literal["alone", "below", "bypass", "keep"]
"""What becomes of what a removed part fed: refused if dark, removed along, or fed past it; kept,
where each switch that would be dark without it is taken out and run past."""


@dataclass(frozen=True)
class Removal:
    """What goes with a part of the supply.

    ``parts`` are the names of the parts of the supply that go along, ``circuits`` of the
    circuits, ``moves`` counts the throws in scenarios that go, and ``dark`` are the names of what
    would be left fed by nothing.
    """

    name: str
    parts: tuple[str, ...]
    circuits: tuple[str, ...]
    moves: int
    dark: tuple[str, ...]


def put_parts(site: Site, parts: Iterable[tuple[SupplyGroup, SupplyPart]]) -> Site:
    """Add parts of the supply, or replace those with their ids, in one checked edit.

    Raises
    ------
    SiteFileError   When the result cannot be computed.
    """
    changes: dict[str, tuple[Any, ...]] = {}
    for group, part in parts:
        present = changes.get(group, members(site, group))
        if any(p.id == part.id for p in present):
            changes[group] = tuple(part if p.id == part.id else p for p in present)
        else:
            changes[group] = (*present, part)
    return with_changes(site, **changes)


def feeder_id(site: Site, from_id: str, to_id: str, to_input: str | None) -> str:
    """A readable id for a feeder that is not taken yet.

    The feeder that stands on the input already keeps its id.
    """
    present = site.feeder_into(to_id, to_input)
    if present is not None:
        return present.id
    side = f"-{to_input.replace('_', '-')}" if to_input else ""
    base = f"{from_id[:18]}-to-{to_id[:18]}{side}".strip("-")[:44].strip("-")
    taken, candidate, number = set(site.name_of), base, 2
    while candidate in taken:
        candidate, number = f"{base}-{number}", number + 1
    return candidate


def feed(
    site: Site,
    from_id: str,
    to_id: str,
    to_input: FeederInput | None = None,
    *,
    to_name: str,
    breaker_a: float | None = None,
    guess: bool = False,
) -> Feeder:
    """A feeder onto an input, over the one that stands there now.

    Its breaker takes the first free pair of spaces where it starts at a panel that has one, and
    stays without spaces where there is none.
    """
    present = site.feeder_into(to_id, to_input)
    side = f", {to_input.replace('_', '-')} side" if to_input else ""
    changes: dict[str, Any] = {
        "id": feeder_id(site, from_id, to_id, to_input),
        "name": f"Feeder to {to_name[:50]}{side}",
        "from_id": from_id,
        "to_id": to_id,
        "to_input": to_input,
    }
    if present is not None and present.from_id == from_id:
        changes = {}
    else:
        changes |= {"breaker_a": breaker_a, "spaces": (), "figure_source": "nameplate"}
        if guess:
            changes["figure_source"] = "guess"
        panel = site.panel_by_id.get(from_id)
        if panel is not None and breaker_a is not None:
            own = frozenset({present.id} if present else ())
            pairs = pairs_of_spaces(free_spaces(site, panel, leaving=own))
            changes["spaces"] = next(iter(pairs), ())
    if present is None:
        return Feeder.model_validate(changes)
    return Feeder.model_validate(present.model_dump() | changes)


def removal(site: Site, part_id: str, *, then: Then = "alone") -> Removal:
    """What would go with a part of the supply, and what it would leave dark.

    Raises
    ------
    NotFoundError   When there is no such part.
    """
    gone = _gone(site, part_id, then)
    names = site.name_of
    return Removal(
        name=names[part_id],
        parts=tuple(names[i] for i in names if i in gone and i != part_id),
        circuits=tuple(c.name for c in site.circuits if c.panel_id in gone),
        moves=sum(m.switch_id in gone for s in site.scenarios for m in s.switch_moves),
        dark=tuple(names[i] for i in _dark(site, gone)) if then != "bypass" else (),
    )


def can_bypass(site: Site, part_id: str) -> str | None:
    """Name of what would feed past a switch if it were taken out; None where nothing would."""
    way = _way_past(site, part_id)
    return site.name_of[way.from_id] if way is not None and any(fed_by(site, part_id)) else None


@dataclass(frozen=True)
class Kept:
    """A part removed with what it fed kept.

    ``switches`` are the names of those taken out, ``fed`` of what is fed past them, each with the
    name of what then feeds it.
    """

    site: Site
    switches: tuple[str, ...]
    fed: tuple[tuple[str, str], ...]


def keeping(site: Site, part_id: str) -> Kept | None:
    """The site without a part but with what hangs on it, None where that cannot be.

    Only a switch that also has a utility or normal side can be run past; a panel fed by the part
    alone cannot stay.
    """
    dark = _dark(site, _gone(site, part_id, "alone"))
    if not dark or any(_way_past(site, i) is None or i in site.panel_by_id for i in dark):
        return None
    now = site
    fed: dict[str, str] = {}
    try:
        for switch_id in dark:
            below = [f.to_id for f in fed_by(now, switch_id)]
            way = can_bypass(now, switch_id)
            now = remove_part(now, switch_id, then="bypass")
            fed = {i: by for i, by in fed.items() if i != switch_id}
            fed |= dict.fromkeys(below, way or "")
        now = remove_part(now, part_id)
    except (EditError, SiteFileError):
        return None
    names = site.name_of
    told = tuple((names[i], by) for i, by in fed.items() if i not in dark)
    return Kept(now, tuple(names[i] for i in dark), told)


def remove_part(site: Site, part_id: str, *, then: Then = "alone") -> Site:
    """Remove a part of the supply and all that cannot stay without it.

    ``below`` removes along what only it feeds; ``bypass`` feeds what a switch fed from its
    utility or normal side; ``keep`` does so with each switch that would be dark without the part.

    Raises
    ------
    NotFoundError   When there is no such part.
    EditError       When ``then`` is ``alone`` and something would be left fed by nothing.
    SiteFileError   When the result cannot be computed.
    """
    if then == "keep":
        kept = keeping(site, part_id)
        if kept is None:
            raise EditError(f"What {supply_part(site, part_id).part.name} feeds cannot stay.")
        return kept.site
    if then == "bypass" and can_bypass(site, part_id) is None:
        raise EditError(f"Nothing runs past {supply_part(site, part_id).part.name}.")
    gone = _gone(site, part_id, then)
    bypassed = _bypassed(site, part_id) if then == "bypass" else {}
    dark = _dark(site, gone) if then != "bypass" else ()
    if dark:
        names = " and ".join(site.name_of[i] for i in dark)
        raise EditError(
            f"{names} would be fed by nothing. Feed {'it' if len(dark) == 1 else 'them'} from "
            "elsewhere first, or delete what hangs below along with it."
        )
    watching = next((g for g in site.energy_groups if g.watch_id in gone), None)
    if watching is not None:
        raise EditError(
            f"{watching.name} holds its circuits by the amperes of "
            f"{site.name_of[watching.watch_id or '']}. In the settings of the site, let it watch "
            "another part first."
        )
    circuits = frozenset(c.id for c in site.circuits if c.panel_id in gone)
    changes = without_circuits(site, circuits)
    switches = changes.pop("transfer_switches")
    for group in GROUPS:
        present = switches if group == "transfer_switches" else members(site, group)
        changes[group] = tuple(p for p in present if p.id not in gone)
    changes["feeders"] = tuple(bypassed.get(f.id, f) for f in changes["feeders"])
    changes["scenarios"] = tuple(
        s.model_copy(
            update={
                "switch_moves": tuple(m for m in s.switch_moves if m.switch_id not in gone),
                "own_sets": tuple(o for o in s.own_sets if o.set_id not in gone),
                "generator_stops": tuple(o for o in s.generator_stops if o.set_id not in gone),
                "deliveries": tuple(d for d in s.deliveries if d.set_id not in gone),
            }
        )
        for s in changes["scenarios"]
    )
    return with_changes(site, **changes)


def _gone(site: Site, part_id: str, then: Then) -> set[str]:
    supply_part(site, part_id)
    gone = {part_id}
    if then == "bypass":
        kept = set(_bypassed(site, part_id))
        ended = {f.id for f in site.feeders if part_id in (f.from_id, f.to_id)}
        return gone | (ended - kept)
    if then == "below":
        gone |= _below(site, gone)
    gone |= {f.id for f in site.feeders if f.from_id in gone or f.to_id in gone}
    gone |= {array.id for array in site.solar if array.panel_id in gone}
    gone |= {battery.id for battery in site.batteries if battery.panel_id in gone}
    return gone


def _inputs_fed(site: Site, gone: set[str]) -> dict[str, set[str | None]]:
    fed: dict[str, set[str | None]] = {}
    for feeder in site.feeders:
        if feeder.id not in gone and feeder.from_id not in gone:
            fed.setdefault(feeder.to_id, set()).add(feeder.to_input)
    return fed


def _dark(site: Site, gone: set[str]) -> tuple[str, ...]:
    """Ids of the switches and panels that stay but lose an input they cannot be without."""
    fed = _inputs_fed(site, gone)
    needed: dict[str, set[str | None]] = {p.id: {None} for p in site.panels}
    for switch in site.transfer_switches:
        sides = {"generator"} if switch.kind == "handles" else {"utility", "generator"}
        needed[switch.id] = {*sides}
    needed |= {d.id: {"normal", "backed_up"} for d in site.double_throws}
    return tuple(
        i for i, sides in needed.items() if i not in gone and not sides <= fed.get(i, set())
    )


def _below(site: Site, gone: set[str]) -> set[str]:
    """What goes dark when these go, and what goes dark when that goes, to the end."""
    found: set[str] = set()
    while more := set(_dark(site, gone | found)):
        found |= more
    return found


def _way_past(site: Site, part_id: str) -> Feeder | None:
    return site.feeder_into(part_id, "utility") or site.feeder_into(part_id, "normal")


def _bypassed(site: Site, part_id: str) -> Mapping[str, Feeder]:
    """Feeders of a switch that is taken out, by id, as they run past it.

    The feeder of its utility or normal side runs on to the first thing it fed; further ones start
    where that feeder starts.
    """
    way = _way_past(site, part_id)
    fed = tuple(fed_by(site, part_id))
    if way is None or not fed:
        return {}
    first, *others = fed
    end = {"to_id": first.to_id, "to_input": first.to_input}
    found = {way.id: way.model_copy(update=end)}
    for feeder in others:
        found[feeder.id] = feeder.model_copy(update={"from_id": way.from_id})
    return found
