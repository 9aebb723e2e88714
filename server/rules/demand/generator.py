"""What a generator must carry: all that transfers, what is left under management, or a choice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from server.domain.appliance import Appliance
from server.domain.errors import InputError
from server.domain.managers import ENTER_ONE, unmanaged, unmanaged_words
from server.domain.site import Site
from server.rules.demand.by_plate import with_plate
from server.rules.demand.circuit_loads import (
    category_of,
    counted_va,
    left_out_beside,
    leg_of,
    wired_motor,
)
from server.rules.demand.farm import WITH_DWELLING, WITHOUT, farm
from server.rules.demand.inputs import HEATING, Dwelling, Load
from server.rules.demand.lightest import lightest
from server.rules.demand.mapping import Facts, ManagedGroup, dwelling_of
from server.rules.demand.motors import by_table
from server.rules.demand.optional import optional
from server.rules.demand.ratings import VOLTS
from server.rules.demand.reach import Carried, Positions, carried_by, distinct_positions
from server.rules.demand.selected import beside_automatic, selected
from server.rules.demand.standard import standard
from server.rules.demand.turns import largest_alone, turns_among
from server.rules.demand.watched_set import up_to_setting
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.wiring.segment import feeder_wire_a

BY_OPTIONAL = ", optional method"
"""Ends the title of a full load that the optional method gives."""
BY_PART_V = (WITH_DWELLING, WITHOUT)
"""Ends the title of a full load of a whole farm."""
HELD_ONLY_BY_MANAGEMENT = (
    "Only circuits under listed load management are left out; a circuit that a person is to keep "
    "off can be on when the switch transfers, so it counts."
)


@dataclass(frozen=True)
class Ask:
    """A generator, or one feeder from it, with the edition and answers to use.

    ``element_id`` is the generator or that feeder; ``existing_a`` is what it is compared with.
    """

    site: Site
    generator_id: str
    element_id: str
    rules: Rulebook
    facts: Facts
    existing_a: float | None

    @property
    def volts(self) -> float:
        """Volts of the set, between its legs where it has two. [V]"""
        systems = {g.id: g.system for g in self.site.generators}
        return VOLTS[systems[self.generator_id]]

    def dwelling(
        self,
        positions: Positions,
        only: frozenset[str],
        facts: Facts | None = None,
        left_out: frozenset[str] = frozenset(),
    ) -> Dwelling:
        """What these circuits come to as a worksheet asks for it."""
        return dwelling_of(
            self.site,
            self.element_id,
            rules=self.rules,
            positions=positions,
            facts=facts or self.facts,
            existing_a=self.existing_a,
            volts=self.volts,
            only=only,
            left_out=left_out,
        )


def generator_sheets(ask: Ask) -> tuple[Worksheet, ...]:
    """Worksheets of a generator for each position that changes what it carries.

    Behind an automatic switch: ``full`` (all that transfers) and, where circuits are managed or
    held by a setting, ``managed``. By hand: ``selected``, what the user means to run together,
    with the lesser of those two where both hang on one set.
    """
    found: list[Worksheet] = []
    for words, positions in distinct_positions(ask.site, ask.element_id):
        transferred, chosen_by_hand = _by_transfer(ask, positions)
        chosen = _by_hand(ask, positions, chosen_by_hand)
        by_hand_a = max((s.leg_a for s in chosen), default=0.0)
        by_itself = _automatic(ask, positions, transferred, by_hand_a=by_hand_a)
        base = lightest("generator", by_itself)
        if base is not None:
            chosen = tuple(beside_automatic(s, base, ask.rules) for s in chosen)
        sheets = (*by_itself, *chosen)
        found += [
            replace(s, element_id=ask.element_id, position=words, notes=_with_neutral(s, ask.rules))
            for s in sheets
        ]
    return tuple(found)


def _with_neutral(sheet: Worksheet, rules: Rulebook) -> tuple[str, ...]:
    """The notes of a sheet, with the neutral of a set that has one leg only."""
    if sheet.legs is not None:
        return sheet.notes
    section = f"{rules.load_article}.61"
    words = (
        f"The set has one hot wire; its neutral carries the same {sheet.amps:.1f} A ({section})."
    )
    return (*sheet.notes, words)


def _by_transfer(ask: Ask, positions: Positions) -> tuple[frozenset[str], frozenset[str]]:
    """Circuits that transfer without a person, and those that a person transfers."""
    automatic: set[str] = set()
    by_hand: set[str] = set()
    switches = {t.id: t for t in ask.site.transfer_switches}
    for feeder in ask.site.feeders:
        if feeder.from_id != ask.generator_id or ask.element_id not in (
            ask.generator_id,
            feeder.id,
        ):
            continue
        ids = {c.circuit.id for c in carried_by(ask.site, feeder.id, positions)}
        switch = switches.get(feeder.to_id)
        (automatic if switch is not None and switch.automatic else by_hand).update(ids)
    return frozenset(automatic), frozenset(by_hand - automatic)


def _automatic(
    ask: Ask, positions: Positions, circuit_ids: frozenset[str], *, by_hand_a: float
) -> tuple[Worksheet, ...]:
    """What transfers by itself, in full and as managed.

    A manager that measures the set lets on only what ``by_hand_a`` beside it leaves of its setting.
    """
    if not circuit_ids:
        return ()
    name = ask.site.name_of[ask.element_id]

    def managed(only: frozenset[str], facts: Facts) -> Worksheet:
        def make(left_out: frozenset[str]) -> Worksheet:
            dwelling = ask.dwelling(positions, only, facts, left_out)
            return _standard(replace(dwelling, is_service=False), ask.rules)

        made = largest_alone(ask.site, turns_among(ask.site, only), make, ask.rules)
        return replace(made, method="managed", title=f"{name}, automatic transfer, managed")

    whole = ask.dwelling(positions, circuit_ids, replace(ask.facts, groups=()))
    whole = replace(whole, is_service=False)
    full = replace(
        _standard(whole, ask.rules), method="full", title=f"{name}, automatic transfer, full load"
    )
    # What a manager keeps off altogether on the set has no setting there.
    pausing = {g.id for g in ask.site.energy_groups if g.off_on_generator}
    ask = replace(
        ask,
        facts=replace(ask.facts, groups=tuple(g for g in ask.facts.groups if g.id not in pausing)),
    )
    held = {i for g in ask.facts.groups for i in g.circuit_ids}
    watched = _watched(ask, positions, circuit_ids - held)
    paused = _paused(ask.site, circuit_ids - held)
    off = paused | frozenset(i for group in watched for i in group.circuit_ids)
    without = unmanaged_words(tuple(c for c in unmanaged(ask.site) if c.id in circuit_ids))
    counts = (f"{without} Until then all of it counts. {ENTER_ONE}",) if without else ()
    full = _by_article(ask, full, whole)
    full = replace(full, notes=(*full.notes, *counts))
    if not off and not held & circuit_ids and not turns_among(ask.site, circuit_ids):
        return (full,)
    left = managed(circuit_ids - off, ask.facts)
    at_set = {g.id for g in ask.site.energy_groups if g.watch_id == ask.generator_id}
    seen_a = {g.id: left.leg_a + (by_hand_a if g.id in at_set else 0.0) for g in watched}
    up_to = tuple(
        replace(g, setting_a=g.setting_a - seen_a[g.id])
        for g in watched
        if g.setting_a > seen_a[g.id]
    )
    if up_to:
        facts = replace(ask.facts, groups=(*ask.facts.groups, *up_to))
        kept = circuit_ids - off | frozenset(i for g in up_to for i in g.circuit_ids)
        left = managed(kept, facts)
    if watched:
        # With several, no more passes than the highest of them leaves.
        highest = max(watched, key=lambda g: _own_share_a(g, at_set, by_hand_a))
        left = up_to_setting(
            left,
            managed(circuit_ids - paused, ask.facts),
            name=highest.name,
            setting_a=_own_share_a(highest, at_set, by_hand_a),
            rules=ask.rules,
        )
    return full, replace(left, notes=(*left.notes, HELD_ONLY_BY_MANAGEMENT, *counts))


def _own_share_a(group: ManagedGroup, at_set: set[str], by_hand_a: float) -> float:
    """What a setting leaves to what transfers by itself, where a hand's choice passes too. [A]"""
    return max(0.0, group.setting_a - (by_hand_a if group.id in at_set else 0.0))


def _standard(dwelling: Dwelling, rules: Rulebook) -> Worksheet:
    return with_plate(standard(dwelling, rules), dwelling, standard, rules)


def _by_article(ask: Ask, full: Worksheet, dwelling: Dwelling) -> Worksheet:
    """All that transfers as its service has it: a whole farm by Part V, a dwelling by the lesser.

    702.4 asks for the full load and leaves the way to Article 220.
    """
    if not dwelling.of_a_farm:
        return _lesser(ask, full, dwelling)
    try:
        other = farm(replace(dwelling, conductors_a=_conductors_a(ask)), ask.rules)
    except InputError:
        return full
    words = (
        f"702.4 asks for all that transfers, worked out by Article {ask.rules.load_article}: here "
        "by Part V, as the whole farm hangs on the set."
    )
    return replace(
        other,
        method=full.method,
        title=f"{full.title}{WITHOUT if dwelling.no_dwelling else WITH_DWELLING}",
        existing_a=full.existing_a,
        notes=(*other.notes, words),
    )


def _lesser(ask: Ask, full: Worksheet, dwelling: Dwelling) -> Worksheet:
    """All that transfers by the optional method, where that may be used and comes to less.

    702.4 asks for the full load and leaves the way to Article 220, of which the optional method is
    a part: for conductors of 100 A or more that carry a whole dwelling (220.82(A)).
    """
    rules, carries_a = ask.rules, _conductors_a(ask)
    least = rules.figure("optional_least_a")
    asked = f"702.4 asks for all that transfers, worked out by Article {rules.load_article}"
    by_standard = replace(full, notes=(*full.notes, f"{asked}: here by the standard method."))
    if dwelling.whose_untold:
        return by_standard
    try:
        # Its bar of 100 A is for the conductors; what it is compared with is what the set gives.
        other = optional(replace(dwelling, existing_a=None, conductors_a=None), rules)
    except InputError:
        return by_standard
    if other.total_va >= full.total_va:
        return full
    if carries_a is None or carries_a < least.value:
        here = "are not told" if carries_a is None else f"count for {carries_a:.0f} A"
        words = (
            f"{asked}: here by the standard method. The optional one would come to "
            f"{other.total_va:,.0f} VA; it is for conductors of {least.value:g} A or more "
            f"({least.cite.section}), and those of the set {here}."
        )
        return replace(full, notes=(*full.notes, words))
    words = (
        f"{asked}: its conductors carry a whole dwelling at {carries_a:.0f} A, so the optional "
        f"method may be used ({least.cite.section}). By the standard method it is "
        f"{full.total_va:,.0f} VA, {full.leg_a:.0f} A; ask the authority which it takes."
    )
    return replace(
        other,
        method=full.method,
        title=f"{full.title}{BY_OPTIONAL}",
        existing_a=full.existing_a,
        notes=(*other.notes, words),
    )


def _conductors_a(ask: Ask) -> float | None:
    """Amps of the one run from the set: of its wire or its device if more, else of the set.

    None where several runs leave it, none of which carries all.
    """
    feeders = [
        f
        for f in ask.site.feeders
        if f.from_id == ask.generator_id and ask.element_id in (ask.generator_id, f.id)
    ]
    if len(feeders) != 1:
        return None
    generator = next(g for g in ask.site.generators if g.id == ask.generator_id)
    device_a = feeders[0].breaker_a or generator.breaker_a
    rated = [a for a in (feeders[0].ampacity_a, device_a) if a is not None]
    wire_a = feeder_wire_a(feeders[0], device_a, ask.rules)
    known = [a for a in (min(rated, default=None), wire_a) if a is not None]
    return max(known, default=generator.kva * 1000 / ask.volts)


def _paused(site: Site, circuit_ids: frozenset[str]) -> frozenset[str]:
    """Those that a manager keeps off altogether while a set feeds them."""
    pausing = {g.id for g in site.energy_groups if g.off_on_generator}
    return frozenset(i for i in circuit_ids if site.circuit(i).energy_group_id in pausing)


def _watched(
    ask: Ask, positions: Positions, circuit_ids: frozenset[str]
) -> tuple[ManagedGroup, ...]:
    """Circuits that a manager lets on only up to a setting at what the set feeds through.

    It must see all that transfers: the set, a feeder or switch right behind it, or a panel that
    carries every one of these circuits. What it watches elsewhere leaves its circuits as they are.
    """
    behind = {f.id: f.to_id for f in ask.site.feeders if f.from_id == ask.generator_id}
    sees = {ask.generator_id}
    for panel in ask.site.panels:
        if circuit_ids <= {c.circuit.id for c in carried_by(ask.site, panel.id, positions)}:
            sees.add(panel.id)
    if len(behind) == 1:
        sees |= {*behind, *behind.values()}
    found = []
    for group in ask.site.energy_groups:
        mine = tuple(
            c.id for c in ask.site.circuits if c.energy_group_id == group.id and c.id in circuit_ids
        )
        if (
            mine
            and group.way == "setting"
            and group.setting_a is not None
            and group.watch_id in sees
            and not group.off_on_generator
        ):
            found.append(ManagedGroup(group.id, group.name, mine, group.setting_a, group.setting_a))
    return tuple(found)


def _by_hand(ask: Ask, positions: Positions, circuit_ids: frozenset[str]) -> tuple[Worksheet, ...]:
    chosen = frozenset(i for i in circuit_ids if ask.site.circuit(i).outage_role == "on")
    if not chosen:
        return ()
    dwelling = ask.dwelling(positions, chosen)
    runs, beside, instead = _running(ask, positions, chosen)
    return (selected(dwelling, runs, ask.rules, beside=beside, instead=instead),)


def _running(
    ask: Ask, positions: Positions, circuit_ids: frozenset[str]
) -> tuple[tuple[Load, ...], tuple[Load, ...], tuple[Load, ...]]:
    """Every appliance of these circuits, motors by table, and what does not run beside it.

    Third, where something does not, all that runs when it does. 240 V ones are dead on a 120 V set.
    """
    found = [
        (c, a)
        for c in carried_by(ask.site, ask.element_id, positions)
        if c.circuit.id in circuit_ids
        for a in c.circuit.appliances
        if ask.volts > LEG_V or a.volts == LEG_V
    ]
    beside = left_out_beside(a for _, a in found)
    out = {id(a) for a in beside}
    of_heat = bool(beside) and category_of(beside[0]) in HEATING

    def load(c: Carried, a: Appliance) -> Load:
        category = category_of(a)
        va = counted_va(a, category)
        part_va = 0.0 if a.volts == LEG_V else min(a.part_120_w / (a.load_w or 1.0), 1.0) * va
        return Load(
            f"{c.circuit.name}: {a.name}",
            category if category in ("cooking", "dryer") else "individual",  # type: ignore[arg-type]
            va,
            volts=float(a.volts),
            leg=leg_of(c, a) if a.volts == LEG_V or part_va else None,
            neutral_va=part_va,
            horsepower=a.horsepower,
            wired_motor=a.load_type == "motor" and wired_motor(a),
        )

    def rests(a: Appliance) -> bool:
        """Whether it does not run where what is left out does."""
        return category_of(a) == "cooling" if of_heat else category_of(a) in HEATING

    def made(pairs: Iterable[tuple[Carried, Appliance]]) -> tuple[Load, ...]:
        return by_table((load(c, a) for c, a in pairs), ask.volts, ask.rules)

    runs = made((c, a) for c, a in found if id(a) not in out)
    instead = made((c, a) for c, a in found if not rests(a)) if beside else ()
    return runs, tuple(load(c, a) for c, a in found if id(a) in out), instead
