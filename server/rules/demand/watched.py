"""Every worksheet of a site, with what a manager's setting may stand for beside them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from server.domain.site import Site
from server.rules.demand.held import held_a
from server.rules.demand.lightest import lightest
from server.rules.demand.mapping import Facts
from server.rules.demand.ratings import ElementKind
from server.rules.demand.reach import Positions, carried_by, distinct_positions
from server.rules.demand.report import ElementDemand, demand_of
from server.rules.demand.standing import Standing
from server.rules.demand.watching import Watch, watches
from server.rules.editions import Rulebook

MEASURED = "measured"


def demand_report(
    site: Site, *, rules: Rulebook, facts: Facts | None = None
) -> tuple[ElementDemand, ...]:
    """Worksheets of every element that carries something, services first."""
    groups: tuple[tuple[ElementKind, tuple[str, ...]], ...] = (
        ("service", tuple(s.id for s in site.services)),
        ("transfer_switch", tuple(t.id for t in site.transfer_switches)),
        ("double_throw", tuple(d.id for d in site.double_throws)),
        ("feeder", tuple(f.id for f in site.feeders)),
        ("panel", tuple(p.id for p in site.panels)),
        ("generator", tuple(g.id for g in site.generators)),
    )
    found = [
        _with_standing(site, demand_of(site, element_id, rules=rules, facts=facts), rules, facts)
        for _, ids in groups
        for element_id in ids
    ]
    return tuple(d for d in found if d.sheets)


def standing_for(
    site: Site, element_id: str, position: str, rules: Rulebook, facts: Facts | None = None
) -> Standing | None:
    """The manager's setting that may stand for an element's load, None where none may.

    Of several the one that comes to least. A setting counts whole, with 125 % for a continuous
    load: 220.70 has it so of the conductors that are measured, and 750.30 leaves it to the listing
    before 2023. That it holds what lies behind them too, and counts in what lies ahead with the
    rest beside it, follows and is not said there. It holds nothing off that is not under it, so
    that is reckoned too.
    """
    positions = dict(distinct_positions(site, element_id)).get(position)
    if positions is None:
        return None
    found = _standing(site, element_id, position, positions, rules=rules, facts=facts)
    return min(found, key=lambda one: one.counted_a, default=None)


def _standing(
    site: Site,
    element_id: str,
    position: str,
    positions: Positions,
    *,
    rules: Rulebook,
    facts: Facts | None,
) -> Iterator[Standing]:
    full = any(f.id == element_id and f.full_rated for f in site.feeders)
    factor = 1.0 if full else rules.value("continuous_factor")

    def without_a(circuit_ids: frozenset[str]) -> float:
        rest = demand_of(
            site, element_id, rules=rules, facts=facts, held_only=True, without=circuit_ids
        )
        sheet = lightest(rest.kind, [s for s in rest.sheets if s.position == position])
        return held_a(site, rest, sheet) if sheet else 0.0

    for watch in watches(site, element_id, positions):
        shed = _shed_by(site, watch, element_id, positions)
        if not shed:
            continue
        yield Standing(
            watch.group,
            watch.place,
            site.name_of[watch.group.watch_id or ""],
            factor=factor,
            rest_a=without_a(watch.seen) if watch.place == "part" else 0.0,
            beside_a=without_a(shed),
        )


def _shed_by(site: Site, watch: Watch, element_id: str, positions: Positions) -> frozenset[str]:
    return frozenset(
        c.circuit.id
        for c in carried_by(site, element_id, positions)
        if c.circuit.energy_group_id == watch.group.id
    )


def _with_standing(
    site: Site, element: ElementDemand, rules: Rulebook, facts: Facts | None
) -> ElementDemand:
    """An element with the settings that may stand for its load, told on its sheets too."""
    found = {
        position: standing_for(site, element.element_id, position, rules, facts)
        for position in dict.fromkeys(s.position for s in element.sheets if s.method != MEASURED)
    }
    standing = {position: one for position, one in found.items() if one is not None}
    if not standing:
        return element
    sheets = (
        replace(s, notes=(*s.notes, _note(element, standing[s.position], rules)))
        if s.position in standing and s.method != MEASURED
        else s
        for s in element.sheets
    )
    return replace(element, sheets=tuple(sheets), standing=tuple(standing.items()))


def _note(element: ElementDemand, one: Standing, rules: Rulebook) -> str:
    """Of a manager that holds what passes at a setting, whose circuits count in full."""
    section = rules.figure("managed_setting").cite.section
    here = element.name
    where = {
        "here": "" if one.measured_at == here else f", which carries the same as {here},",
        "ahead": f", ahead of {here},",
        "part": f", a part of what {here} carries,",
    }[one.place]
    rest = ""
    if one.place == "part":
        rest = f" {one.rest_a:.1f} A of the rest beside it make {one.asked_a:.1f} A."
    asks = (
        "ask the authority."
        if one.place == "here"
        else "the section speaks of the conductors that are measured, so ask the authority."
    )
    return (
        f"{one.group.name} watches {one.measured_at}{where} and holds it at "
        f"{one.group.setting_a:g} A, {one.setting_a:.1f} A as a continuous load.{rest} What it "
        f"cannot shed comes to {one.beside_a:.1f} A. Its circuits count in full here; where it is "
        f"listed for that, its setting may stand for what passes here ({section}): {asks}"
    )
