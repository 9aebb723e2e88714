"""New circuits that no nameplate tells of: plugs and lights, small appliances, laundry.

A measured demand holds what was there; what is added counts beside it by the figures of the load
calculation (220.87): 1,500 VA for each circuit, and the area that is added by the square foot.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.domain.circuit import Circuit
from server.domain.site import Site
from server.rules.demand.circuit_loads import (
    NOT_LOADS,
    at_nameplate,
    category_of,
    counts_as,
)
from server.rules.demand.outlets import outside_area
from server.rules.demand.worksheet import Line
from server.rules.editions import Rulebook
from server.rules.words import listed


@dataclass(frozen=True)
class NewCircuits:
    """Names of what is new and has no nameplate of its own.

    ``area_ft2`` is the floor area of the panels whose lights and plugs are all new; the circuits of
    ``no_area`` lie on others, so the area they add is not told. ``empty`` feed nothing yet.
    """

    small_appliance: tuple[str, ...] = ()
    laundry: tuple[str, ...] = ()
    general: tuple[str, ...] = ()
    no_area: tuple[str, ...] = ()
    area_ft2: float = 0.0
    empty: tuple[str, ...] = ()


def new_circuits_of(
    site: Site,
    circuits: Iterable[Circuit],
    *,
    new_ids: frozenset[str],
    told_ft2: Mapping[str, float],
    rules: Rulebook,
) -> NewCircuits:
    """What of these circuits is new and counts by area or by circuit.

    Parameters
    ----------
    new_ids : frozenset    Circuits that are new beside those the site marks.
    told_ft2 : mapping     Floor area by panel told beside the site. [ft²]
    """

    def is_new(circuit: Circuit) -> bool:
        return circuit.is_new or circuit.id in new_ids

    new = [c for c in circuits if is_new(c)]
    by_circuit = {c.id: counts_as(c, rules) for c in new}
    general = [
        c
        for c in new
        if not by_circuit[c.id] and _by_area(c, rules) and not outside_area(site, c, told_ft2)
    ]
    old = {
        c.panel_id
        for c in site.circuits
        if not is_new(c)
        and not counts_as(c, rules)
        and (_by_area(c, rules) or not c.appliances)
        and not outside_area(site, c, told_ft2)
    }
    areas = {p.id: told_ft2.get(p.id, p.floor_area_ft2) for p in site.panels}
    told = {c.panel_id for c in general if areas[c.panel_id] and c.panel_id not in old}
    return NewCircuits(
        small_appliance=tuple(c.name for c in new if by_circuit[c.id] == "small_appliance"),
        laundry=tuple(c.name for c in new if by_circuit[c.id] == "laundry"),
        general=tuple(c.name for c in general if c.panel_id in told),
        no_area=tuple(c.name for c in general if c.panel_id not in told),
        area_ft2=sum(areas[p] or 0.0 for p in sorted(told)),
        empty=tuple(c.name for c in new if not c.appliances),
    )


def new_circuit_lines(new: NewCircuits, rules: Rulebook) -> tuple[Line, ...]:
    """Their lines, each counted in full beside the measured demand."""
    found = []
    for label, names, figure_name in (
        ("New small-appliance circuits", new.small_appliance, "small_appliance_va"),
        ("New laundry circuits", new.laundry, "laundry_va"),
    ):
        if names:
            figure = rules.figure(figure_name)
            va = len(names) * figure.value
            found.append(
                Line(
                    label,
                    len(names),
                    figure.value,
                    "circuits",
                    va,
                    1.0,
                    va,
                    figure.cite,
                    listed(list(names)),
                )
            )
    if new.area_ft2:
        figure = rules.figure("lighting_va_per_ft2")
        va = new.area_ft2 * figure.value
        found.append(
            Line(
                "Lighting and general plugs of new area",
                new.area_ft2,
                figure.value,
                "ft²",
                va,
                1.0,
                va,
                figure.cite,
                f"{listed(list(new.general))}: all lights and plugs of their panel are new",
            )
        )
    return tuple(found)


def new_circuit_notes(new: NewCircuits) -> tuple[str, ...]:
    """How new circuits were counted, where there are any without a nameplate."""
    if not (new.small_appliance or new.laundry or new.general):
        return ()
    return (
        "New circuits count in full beside the record, without the steps of the standard method: "
        "the most they can come to. What they only take over from old circuits is in the record "
        "too.",
    )


def new_circuit_questions(new: NewCircuits, rules: Rulebook) -> tuple[str, ...]:
    """What is not counted of new circuits, as it is not told."""
    found = []
    if new.no_area:
        figure = rules.figure("lighting_va_per_ft2")
        found.append(
            f"New lights and plugs are not counted, as the floor area they add is not told: "
            f"{listed(list(new.no_area))}. Add {figure.value:g} VA for each square foot of added "
            f"rooms ({figure.cite.section}); in rooms that were there before they add none."
        )
    if new.empty:
        found.append(f"What these new circuits feed (not counted): {listed(list(new.empty))}.")
    return tuple(found)


def _by_area(circuit: Circuit, rules: Rulebook) -> bool:
    """Whether a figure by area or by circuit carries something on it, and no nameplate does."""
    alone = at_nameplate(circuit, outside=False, rules=rules)
    return any(category_of(a) in NOT_LOADS for a in circuit.appliances if a not in alone)
