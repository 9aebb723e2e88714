"""The demand worksheets of one element: a service, switch, feeder, panel or generator."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache

from server.domain.errors import InputError
from server.domain.site import Site
from server.domain.supply import DemandRecord
from server.rules.demand.by_plate import with_plate_note
from server.rules.demand.conductors import conductors_a
from server.rules.demand.farm import farm
from server.rules.demand.generator import Ask, generator_sheets
from server.rules.demand.inputs import Dwelling
from server.rules.demand.mapping import Facts, dwelling_of, facts_of
from server.rules.demand.measured import measured_of
from server.rules.demand.multifamily import LEAST_UNITS, multifamily
from server.rules.demand.new_circuits import NewCircuits, new_circuits_of
from server.rules.demand.optional import existing, optional
from server.rules.demand.ratings import (
    VOLTS,
    ElementKind,
    feeder_device_a,
    kind_of,
    rating_a,
    system_volts,
)
from server.rules.demand.reach import Carried, Positions, carried_by, distinct_positions
from server.rules.demand.seasons import in_either_season
from server.rules.demand.sharing import sharing_notes
from server.rules.demand.standard import standard
from server.rules.demand.standing import Standing
from server.rules.demand.turns import largest_alone, turns_among
from server.rules.demand.two_family import two_family
from server.rules.demand.units import units_among
from server.rules.demand.worksheet import LENT_LEGS, Worksheet
from server.rules.editions import Rulebook
from server.rules.reach import above, below

Method = Callable[[Dwelling, Rulebook], Worksheet]
METHODS: dict[str, Method] = {
    "standard": standard,
    "optional": optional,
    "existing": existing,
}
OF_EXISTING = ("existing", "measured")
"""Methods for what stands already: no rating is held against them in a finding."""
WYE_V = VOLTS["120/208"]
WYE_NOTE = (
    "On two legs of a 120/208 V wye the neutral carries about as much as a leg; it is not reduced."
)


@dataclass(frozen=True)
class Refusal:
    """A method that may not be used here, and why."""

    method: str
    reason: str


@dataclass(frozen=True)
class ElementDemand:
    """The worksheets of one element; several where a switch position changes what it carries.

    ``standing`` is, by position, the manager's setting that may stand for its load (220.70).
    """

    element_id: str
    name: str
    kind: ElementKind
    sheets: tuple[Worksheet, ...]
    refusals: tuple[Refusal, ...] = ()
    standing: tuple[tuple[str, Standing], ...] = ()

    def standing_in(self, position: str) -> Standing | None:
        """The manager's setting that may stand for its load in a position, None without one."""
        return dict(self.standing).get(position)

    def sheet(self, method: str) -> Worksheet | None:
        """The heaviest worksheet of a method, None where it was refused."""
        found = [s for s in self.sheets if s.method == method]
        return max(found, key=lambda s: s.total_va) if found else None


def demand_of(
    site: Site,
    element_id: str,
    *,
    rules: Rulebook,
    facts: Facts | None = None,
    held_only: bool = False,
    without: frozenset[str] = frozenset(),
) -> ElementDemand:
    """Worksheets of one element by every method, with the reason where one may not be used.

    ``held_only`` leaves out what no rating is held against: the methods of an existing dwelling
    and the notes that compare. ``without`` are circuits taken for off; a set counts them all the
    same, as its own managers are known to it.

    Raises
    ------
    NotFoundError   When the site has no such element.
    """
    kind = kind_of(site, element_id)
    name = site.name_of[element_id]
    facts = facts_of(site, facts)
    source_id = _generator_of(site, element_id)
    if source_id is not None:
        ask = Ask(site, source_id, element_id, rules, facts, rating_a(site, element_id))
        sheets = generator_sheets(ask)
        return ElementDemand(element_id, name, kind, sheets)
    sheets_found: list[Worksheet] = []
    refusals: dict[str, Refusal] = {}
    both = _in_both_positions(site, element_id)
    for words, positions in distinct_positions(site, element_id):
        carried = tuple(
            c for c in carried_by(site, element_id, positions) if c.circuit.id not in without
        )
        if not carried:
            continue
        of_several = _of_several(len(units_among(site, (c.circuit.id for c in carried))))
        dwelling = _dwelling_of(site, element_id, rules, positions, facts, without=without)
        whole = dwelling(frozenset())
        methods = {**METHODS, **of_several}
        if held_only:
            methods = {m: way for m, way in methods.items() if m not in OF_EXISTING}
        if whole.of_a_farm:
            methods = {**methods, "farm": farm}
        for method, way in methods.items():
            calculate = in_either_season(way) if method in LENT_LEGS else way
            try:
                sheet = _with_turns(site, carried, dwelling, rules, calculate=calculate)
            except InputError as error:
                refusals[method] = Refusal(method, str(error))
                continue
            if whole.settings:
                free = _with_turns(
                    site, carried, dwelling, rules, calculate=_without_settings(calculate)
                )
                sheet = _lesser_of(sheet, free, rules)
            notes = (*sheet.notes, *both, *sharing_notes(carried, sheet, rules))
            if sheet.volts == WYE_V:
                notes = (*notes, WYE_NOTE)
            sheets_found.append(replace(sheet, element_id=element_id, position=words, notes=notes))
    for record in () if held_only else site.demand_records:
        if not _same_load(site, element_id, record.service_id):
            continue
        try:
            sheets_found.append(_measured(site, element_id, record, rules, facts))
        except InputError as error:
            if record.service_id == element_id:
                refusals["measured"] = Refusal("measured", str(error))
    return ElementDemand(element_id, name, kind, tuple(sheets_found), tuple(refusals.values()))


def _of_several(units: int) -> dict[str, Method]:
    """The method for so many dwelling units, none for a single one."""
    if units < 2:
        return {}
    return {"two_family": two_family} if units < LEAST_UNITS else {"multifamily": multifamily}


def _in_both_positions(site: Site, element_id: str) -> tuple[str, ...]:
    """That what stands behind a double-throw is the same in both positions, and what limits it."""
    feeders = {f.id: f for f in site.feeders}
    ahead = above(site, feeders[element_id].from_id if element_id in feeders else element_id)
    found = []
    for throw in site.double_throws:
        if throw.id not in ahead:
            continue
        sides = []
        for feeder in site.feeders_into.get(throw.id, ()):
            device = feeder_device_a(site, feeder)
            word = "NORMAL" if feeder.to_input == "normal" else "BACKED-UP"
            sides.append(f"{word}{'' if device is None else f' ({device:g} A ahead)'}")
        found.append(
            f"The same with {throw.name} on {' and on '.join(sides)}; it must fit on either side."
        )
    return tuple(found)


def _same_load(site: Site, element_id: str, service_id: str) -> bool:
    """Whether all that a service carries, and nothing else, passes an element in every position.

    220.87 is of a feeder or a service: what was measured at the one is the load of the other.
    """

    def carried(one: str, positions: Positions) -> set[str]:
        return {c.circuit.id for c in carried_by(site, one, positions)}

    fed = below(site, service_id)
    ends = fed | {f.id for f in site.feeders if f.from_id in fed}
    ways = [p for _, p in distinct_positions(site, service_id)]
    return element_id in ends and all(
        carried(element_id, p) == carried(service_id, p) for p in ways
    )


def _measured(
    site: Site, element_id: str, record: DemandRecord, rules: Rulebook, facts: Facts
) -> Worksheet:
    """The worksheet of a record, with the new loads of whichever position has the most of them."""
    own = below(site, record.service_id)
    renewables = any(a.panel_id in own for a in site.solar)
    sheets = []
    for _, positions in distinct_positions(site, element_id):
        carried = carried_by(site, element_id, positions)
        new = new_circuits_of(
            site,
            (c.circuit for c in carried),
            new_ids=facts.new_circuit_ids,
            told_ft2=facts.area_ft2_by_panel,
            rules=rules,
        )

        def sheet(dwelling: Dwelling, book: Rulebook, new: NewCircuits = new) -> Worksheet:
            return measured_of(
                record, dwelling, has_renewables=renewables, rules=book, circuits=new
            )

        every = _dwelling_of(site, element_id, rules, positions, facts)
        sheets.append(_with_turns(site, carried, every, rules, calculate=sheet))
    return replace(max(sheets, key=lambda s: s.needed_a), element_id=element_id)


def _with_turns(
    site: Site,
    carried: Iterable[Carried],
    dwelling: Callable[[frozenset[str]], Dwelling],
    rules: Rulebook,
    *,
    calculate: Callable[[Dwelling, Rulebook], Worksheet],
) -> Worksheet:
    """A worksheet with the largest alone of circuits that a manager runs one at a time."""

    def make(left_out: frozenset[str]) -> Worksheet:
        left = dwelling(left_out)
        return with_plate_note(calculate(left, rules), left, calculate, rules)

    turns = turns_among(site, (c.circuit.id for c in carried))
    return largest_alone(site, turns, make, rules)


def _without_settings(
    calculate: Callable[[Dwelling, Rulebook], Worksheet],
) -> Callable[[Dwelling, Rulebook], Worksheet]:
    return lambda dwelling, rules: calculate(replace(dwelling, settings=()), rules)


def _lesser_of(sheet: Worksheet, free: Worksheet, rules: Rulebook) -> Worksheet:
    """A sheet by the settings of managers, or without them where that asks for less.

    A manager only sheds, and its setting may be counted and need not be (220.70).
    """
    if round(free.needed_a, 6) >= round(sheet.needed_a, 6):
        return sheet
    section = rules.figure("managed_setting").cite.section
    words = (
        "By this method what the energy management holds counts for less as any other load, so "
        f"it counts so here: {free.total_va:,.0f} VA in all, and {sheet.total_va:,.0f} VA by its "
        f"setting. A setting may be counted and need not be ({section}); it only sheds."
    )
    return replace(free, notes=(*free.notes, words))


def _dwelling_of(
    site: Site,
    element_id: str,
    rules: Rulebook,
    positions: Positions,
    facts: Facts,
    *,
    without: frozenset[str] = frozenset(),
) -> Callable[[frozenset[str]], Dwelling]:
    """What an element carries without some circuits, worked out once for all methods."""

    @cache
    def dwelling(left_out: frozenset[str]) -> Dwelling:
        return dwelling_of(
            site,
            element_id,
            rules=rules,
            positions=positions,
            facts=facts,
            existing_a=rating_a(site, element_id),
            conductors_a=conductors_a(site, element_id, rules),
            volts=system_volts(site, element_id),
            left_out=left_out | without,
        )

    return dwelling


def _generator_of(site: Site, element_id: str) -> str | None:
    """The generator this element is, or whose feeder to a switch or panel it is."""
    generators = {g.id for g in site.generators}
    if element_id in generators:
        return element_id
    return next(
        (f.from_id for f in site.feeders if f.id == element_id and f.from_id in generators), None
    )
