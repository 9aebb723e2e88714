"""Calculated demand against what is there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.supply import EnergyGroup, Feeder
from server.domain.topology import can_move
from server.rules.checks.habits import habit_words
from server.rules.checks.limits import OwnLimit, own_limit
from server.rules.checks.made import made
from server.rules.checks.under_setting import setting_mend, setting_words
from server.rules.checks.vehicle_floor import by_its_plate
from server.rules.demand.farm import WITHOUT
from server.rules.demand.generator import BY_OPTIONAL, BY_PART_V
from server.rules.demand.held import held_a
from server.rules.demand.left_off import LeftOff, left_off
from server.rules.demand.lightest import lightest
from server.rules.demand.ratings import ElementKind, own_rating_a
from server.rules.demand.report import ElementDemand
from server.rules.demand.selected import WITH_AUTOMATIC
from server.rules.demand.standing import LEAST_SETTING_A, Standing
from server.rules.demand.worksheet import LENT_LEGS, Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.ocpd import standard_or_none_a
from server.rules.reach import below
from server.rules.wiring.feeder import FeederWiring, wire_behind
from server.rules.words import NONE_SO_LARGE, a_rating, listed, percent

FIGURES: dict[ElementKind, str] = {
    "service": "load_within_service",
    "transfer_switch": "load_within_switch",
    "double_throw": "load_within_switch",
    "panel": "load_within_panel",
    "feeder": "load_within_feeder",
}


def demand_checks(
    site: Site, report: Iterable[ElementDemand], wiring: Iterable[FeederWiring], rules: Rulebook
) -> Iterator[Finding]:
    """A finding for each part whose calculated demand is above its own limit.

    A switch or panel is held to its own rating and a feeder to the breaker that protects it, so
    that the part named is the one to mend. In each switch position the lightest method permitted
    is the one compared. Behind an automatic switch the managed sheet is compared where there is
    one; the feeder of a set that a person loads is not held to what might be chosen (702.4).
    Where a manager's setting may stand for the load and fits, the finding is a note (220.70).
    """
    report = tuple(report)
    wires = {w.feeder_id: w for w in wiring}
    feeders = {f.id: f for f in site.feeders}
    portables = {g.id for g in site.generators if g.portable}
    off_set = {off.set_id: off for off in left_off(site, rules.edition)}
    for element in report:
        for sheet, needed in _held_against_ratings(site, element):
            held = own_limit(site, element, sheet)
            by_hand = element.kind == "feeder" and sheet.method == "selected"
            if held is not None and not by_hand and round_half_up(needed) > held.limit_a:
                yield _over(
                    element,
                    sheet,
                    needed,
                    held=held,
                    behind=_held_too(site, report, feeders.get(element.element_id), held.limit_a),
                    larger=_larger(
                        feeders.get(element.element_id),
                        wires.get(element.element_id),
                        sheet,
                        max(round_half_up(needed), held.limit_a),
                        rules,
                    )
                    if element.kind == "feeder"
                    else "",
                    portable=element.element_id in portables,
                    off=off_set.get(element.element_id) if sheet.method == "selected" else None,
                    watched=watching(site, element.element_id)
                    if sheet.method == "managed"
                    else None,
                    stands=_that_helps(element.standing_in(sheet.position), held.limit_a),
                    plate=by_its_plate(
                        site, element, sheet, needed_a=needed, limit_a=held.limit_a, rules=rules
                    ),
                    habit=habit_words(site, element.element_id, sheet),
                    rules=rules,
                    movable=can_move(site),
                )


def _held_against_ratings(site: Site, element: ElementDemand) -> Iterator[tuple[Worksheet, float]]:
    """The lightest sheet of each position with a rating, and the amps held against it."""
    for position in dict.fromkeys(s.position for s in element.sheets):
        sheet = lightest(element.kind, [s for s in element.sheets if s.position == position])
        if sheet is not None and sheet.existing_a is not None:
            yield sheet, held_a(site, element, sheet)


def most_held_a(site: Site, element: ElementDemand) -> float:
    """The most that an element carries by the code in any position, to the nearest ampere. [A]"""
    return max(
        (round_half_up(needed) for _, needed in _held_against_ratings(site, element)), default=0.0
    )


def _that_helps(standing: Standing | None, limit_a: float) -> Standing | None:
    """A manager whose setting may stand for a load, None where none it could be set to would fit.

    So it is where the rest alone, which does not pass where it measures, is past the limit.
    """
    if standing is None or standing.most_a(limit_a) < LEAST_SETTING_A:
        return None
    return standing


def watching(site: Site, element_id: str) -> EnergyGroup | None:
    """The manager with a setting that measures a set, found by the set or a feeder from it."""
    starts = {f.id: f.from_id for f in site.feeders}
    set_id = starts.get(element_id, element_id)
    if all(g.id != set_id for g in site.generators):
        return None
    return next((g for g in site.energy_groups if g.watch_id == set_id and g.setting_a), None)


def _held_too(
    site: Site, report: Iterable[ElementDemand], feeder: Feeder | None, limit_a: float
) -> str:
    """That switches and panels behind a feeder are held to its breaker, as less than their own.

    The demand sheets show them past it; the breaker is the part to mend.
    """
    if feeder is None or feeder.breaker_a != limit_a:
        return ""
    reached = below(site, feeder.to_id)
    names = [
        element.name
        for element in report
        if element.element_id in reached
        and (own_rating_a(site, element.element_id) or 0.0) > limit_a
        and any(
            sheet.existing_a == limit_a and round_half_up(needed) > limit_a
            for sheet, needed in _held_against_ratings(site, element)
        )
    ]
    if not names:
        return ""
    one = len(names) == 1
    return (
        f" {listed(names)} behind it {'is' if one else 'are'} held to it too, as it is less than "
        f"{'its' if one else 'their'} own rating."
    )


def over_by_a(site: Site, element: ElementDemand, position: str) -> float:
    """Amps an element is above its rating in a position, to the nearest ampere. [A]

    Negative where there is room. Where that position makes no difference any more, the worst of
    all.
    """
    over = {
        sheet.position: round_half_up(needed) - (sheet.existing_a or 0.0)
        for sheet, needed in _held_against_ratings(site, element)
    }
    if position in over:
        return over[position]
    return max(over.values(), default=0.0)


def _over(
    element: ElementDemand,
    sheet: Worksheet,
    needed: float,
    *,
    held: OwnLimit,
    behind: str,
    larger: str,
    portable: bool,
    off: LeftOff | None,
    watched: EnergyGroup | None,
    stands: Standing | None,
    plate: str,
    habit: str,
    rules: Rulebook,
    movable: bool,
) -> Finding:
    limit = held.limit_a
    over_va = (needed - limit) * sheet.volts
    lighten = "Move or manage" if movable else "Manage"
    off_it = "move circuits off the generator"
    chosen = FIGURES.get(element.kind, "generator_full")
    by_the_set = sheet.method in ("full", "managed", "selected")
    if by_the_set:
        chosen = "generator_selected" if sheet.method == "selected" else "generator_full"
    if watched is not None:
        # What its manager lets on is counted whatever is on the set: its setting alone mends it.
        mend = (
            f"Set {watched.name} lower than its {watched.setting_a:g} A, or use a larger "
            f"{'breaker with wire for it' if element.kind == 'feeder' else held.part or 'set'}: "
            f"{over_va:,.0f} VA too much."
        )
    elif element.kind == "feeder" and by_the_set:
        mend = (
            f"Put circuits under listed load management{f' or {off_it}' if movable else ''}: "
            f"{over_va:,.0f} VA too much for this breaker."
        )
    elif off is not None:
        # By hand one chooses what runs (702.4), so a choice that fits is named before anything.
        move = f"{off_it}, or " if movable else ""
        mend = f"{off.way} Or {move}use a larger {held.part or 'set'}: {over_va:,.0f} VA too much."
    elif element.kind == "generator" and portable:
        # Nobody fits a manager to a set on a cord: by hand one chooses what runs (702.4).
        move = "move circuits off the generator, " if movable else ""
        mend = (
            f"Leave circuits off while others run, {move}or use a larger {held.part or 'set'}: "
            f"{over_va:,.0f} VA too much."
        )
    elif element.kind == "generator":
        mend = (
            f"Put circuits under listed load management{f', {off_it},' if movable else ''} or use "
            f"a larger {held.part or 'set'}: {over_va:,.0f} VA too much."
        )
    else:
        if element.kind != "feeder":
            larger = (
                NONE_SO_LARGE
                if sheet.standard_a is None
                else f", or use equipment rated {sheet.standard_a:g} A or more."
            )
        if stands is None:
            mend = f"{lighten} {over_va:,.0f} VA of calculated load{larger}"
        else:
            mend = setting_mend(stands, limit, sheet.volts, larger, rules)
    measured = element.sheet("measured")
    fits = measured is not None and bool(measured.device_fits) and measured.complete
    beside = _even(sheet, needed, limit) + _as_existing(element, sheet, limit, rules)
    if measured is not None:
        beside += (
            f" Its measured demand with what is new comes to {round_half_up(measured.needed_a)} A"
            f"{', which fits: show the authority the record' if fits else _still(measured)}."
        )
    beside += plate + habit
    if stands is not None:
        beside += setting_words(stands, limit, rules)
        fits = fits or stands.fits(limit)
    return made(
        "demand-above-rating",
        "note" if fits or plate else "warning",
        element.element_id,
        text=f"{element.name} is calculated to carry {round_half_up(needed)} A "
        f"{_by_what(sheet, needed, rules)}. {held.words}.{behind}{beside}",
        mend=mend,
        figure=rules.figure(chosen),
        where=sheet.position,
        value=needed,
        limit=limit,
        unit="A",
    )


def _even(sheet: Worksheet, needed: float, limit: float) -> str:
    """That a method which gives a total alone fits over both legs evenly, empty where it does not.

    Its heavier leg is the standard method's, scaled to the total (common practice, no source).
    """
    even_a = round_half_up(needed - (sheet.leg_a - sheet.amps))
    if sheet.method not in LENT_LEGS or even_a > limit:
        return ""
    return (
        f" Over both legs evenly, as the method itself compares it, it is {even_a} A, which fits: "
        "move 120 V circuits to the lighter leg, and show the authority both figures."
    )


def _as_existing(element: ElementDemand, sheet: Worksheet, limit: float, rules: Rulebook) -> str:
    """That the method for an existing dwelling fits, which is for what is added to one.

    Not where farm loads are among what it counts: they are no dwelling's (Part V, 220.102).
    """
    existing = element.sheet("existing")
    if existing is None or not existing.complete or sheet.method in ("existing", "farm"):
        return ""
    even_a = round_half_up(existing.needed_a - (existing.leg_a - existing.amps))
    if even_a > limit:
        return ""
    evenly = " over both legs evenly" if round_half_up(existing.needed_a) != even_a else ""
    return (
        f" For loads added to a dwelling that stands, its own method "
        f"({rules.tiers('existing_tiers')[1].section}) comes to {even_a} A{evenly}, which fits: "
        "ask the authority whether it may be used here."
    )


def _still(measured: Worksheet) -> str:
    """That a measured demand within the rating leaves out what is not told yet."""
    return "" if measured.complete else " and what its sheet still asks for"


def _larger(
    feeder: Feeder | None,
    wire: FeederWiring | None,
    sheet: Worksheet,
    asked_a: float,
    rules: Rulebook,
) -> str:
    """The breaker of a feeder that the load of a position asks for, and wire for that breaker."""
    device_a = standard_or_none_a(asked_a)
    if device_a is None:
        return NONE_SO_LARGE
    size = None
    if feeder is not None and wire is not None and wire.advice is not None:
        size = wire_behind(feeder, wire, sheet, device_a, rules)
    words = f", {size.size} {size.run.metal} or larger" if size else ""
    return f", or use {a_rating(device_a)} breaker with wire for it{words}."


def _by_what(sheet: Worksheet, needed: float, rules: Rulebook) -> str:
    """The method in words, with what makes the figure more than total over volts."""
    words = f"by the {METHOD_WORDS[sheet.method]}"
    if sheet.method == "full" and sheet.title.endswith(BY_OPTIONAL):
        words = words.replace("standard", "optional")
    if sheet.method == "full" and sheet.title.endswith(BY_PART_V):
        words = words.replace("standard method", METHOD_WORDS["farm"])
    if sheet.title.endswith(WITH_AUTOMATIC):
        words += WITH_AUTOMATIC
    if sheet.title.endswith(WITHOUT):
        words = words.replace(METHOD_WORDS["farm"], "method for farm buildings")
    if sheet.leg_a > sheet.amps + 0.5:
        words += ", on its heavier leg"
    if needed > sheet.leg_a + 0.5:
        more = percent(rules.value("continuous_factor") - 1.0)
        words += f", with {more} more for what runs three hours or longer"
    if any("at most" in line.note for line in sheet.lines):
        words += ", at most (an area served is not told)"
    elif any(question.startswith("Floor area") for question in sheet.missing):
        words += ", at least (a floor area is not told)"
    return f"{words}, with {sheet.position}" if sheet.position else words


METHOD_WORDS = {
    "standard": "standard method",
    "optional": "optional method",
    "two_family": "method for two dwellings",
    "multifamily": "method for three or more dwellings",
    "farm": "method for a farm with its dwelling",
    "full": "standard method for all that transfers",
    "managed": "standard method for what is left under management",
    "selected": "sum of what is selected",
}
