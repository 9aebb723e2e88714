"""Another building on more than one feeder: when that is allowed, and what tells of the others."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.reach import above
from server.rules.words import listed


def fed_twice_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Buildings that several feeders of one kind reach: all with a set behind them, or none.

    Panels stand in one building where both are told to be in another building and hang at the same
    place; where no place is told nothing is known, and nothing is said.
    """
    for panels in _buildings(site):
        for feeders in _into(site, panels):
            if len(feeders) > 1:
                yield _finding(site, panels, feeders, rules)


def _finding(
    site: Site, panels: tuple[Panel, ...], feeders: tuple[Feeder, ...], rules: Rulebook
) -> Finding:
    names = listed([f.name for f in feeders])
    place = panels[0].location.strip()
    start = feeders[0].from_id
    one, several = rules.figure("building_feeders_most"), rules.figure("common_supply_feeders_most")
    ended = all(site.panel(f.to_id).main_a is not None for f in feeders)
    plaque = "at each disconnect a plaque or directory names all the others and what each feeds"
    if ended and len(feeders) <= several.value and all(f.from_id == start for f in feeders):
        return made(
            "building-fed-twice",
            "note",
            feeders[0].to_id,
            text=f"{names} all start in {site.name_of[start]} and feed one building ({place}). "
            "That is allowed where each ends in one disconnect and the disconnects stand together; "
            f"{plaque}.",
            mend="Show the mains side by side on the one-line, and have the plaque made.",
            figure=several,
            value=float(len(feeders)),
            limit=several.value,
        )
    return made(
        "building-fed-twice",
        "warning",
        feeders[0].to_id,
        text=f"{names} feed one building ({place}). Another building is fed by one feeder, but for "
        "cases that are listed: among them standby power, other volts, and by special permission "
        f"several occupants or a very large building. Where one of them holds, {plaque}.",
        mend="Feed the building by one feeder and its other panels from there, or ask the "
        "authority whether one of the cases holds. If the panels stand in two buildings, enter "
        "where each hangs.",
        figure=one,
        value=float(len(feeders)),
        limit=one.value,
    )


def _buildings(site: Site) -> list[tuple[Panel, ...]]:
    """Detached panels by the place where they hang."""
    found: dict[str, tuple[Panel, ...]] = {}
    for panel in site.panels:
        place = " ".join(panel.location.casefold().split())
        if panel.detached_building and place:
            found[place] = (*found.get(place, ()), panel)
    return list(found.values())


def _into(site: Site, panels: tuple[Panel, ...]) -> list[tuple[Feeder, ...]]:
    """Feeders from panels of another building, those with a set behind them apart.

    What a set feeds is standby power, for which a second feeder may lie (225.30(A)(4)).
    """
    ids = {p.id for p in panels}
    sets = {g.id for g in site.generators}
    kinds: dict[bool, tuple[Feeder, ...]] = {}
    for feeder in site.feeders:
        if feeder.to_id in ids and feeder.from_id in site.panel_by_id and feeder.from_id not in ids:
            standby = bool(above(site, feeder.from_id) & sets)
            kinds[standby] = (*kinds.get(standby, ()), feeder)
    return list(kinds.values())
