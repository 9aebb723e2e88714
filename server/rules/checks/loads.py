"""Calculated demand and wiring against what is there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.topology import can_move
from server.rules.checks.limits import OwnLimit, own_limit
from server.rules.checks.made import made
from server.rules.demand.generator import BY_OPTIONAL
from server.rules.demand.ratings import ElementKind
from server.rules.demand.report import ElementDemand
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Figure, Rulebook
from server.rules.ocpd import next_standard_a
from server.rules.wiring.feeder import FeederWiring, SegmentWiring
from server.rules.wiring.service import figure_of
from server.rules.words import a_rating, percent

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
    """
    wires = {w.feeder_id: w for w in wiring}
    full_rated = {f.id for f in site.feeders if f.full_rated}
    for element in report:
        for sheet, needed in _held_against_ratings(element):
            held = own_limit(site, element, sheet)
            if held is None or (element.kind == "feeder" and sheet.method == "selected"):
                continue
            least = sheet.leg_a if element.element_id in full_rated else needed
            if round_half_up(least) > held.limit_a:
                yield _over(
                    element,
                    sheet,
                    least,
                    held=held,
                    wire=wires.get(element.element_id),
                    rules=rules,
                    movable=can_move(site),
                )


def _held_against_ratings(element: ElementDemand) -> Iterator[tuple[Worksheet, float]]:
    """The lightest sheet of each position with a rating, and the amps held against it."""
    for position in dict.fromkeys(s.position for s in element.sheets):
        sheet = _lightest([s for s in element.sheets if s.position == position])
        if sheet is not None and sheet.existing_a is not None:
            # 125 % of continuous loads is a rule for devices, not for a generator's output.
            yield sheet, sheet.leg_a if element.kind == "generator" else sheet.needed_a


def over_by_a(element: ElementDemand, position: str) -> float:
    """Amps an element is above its rating in a position, to the nearest ampere. [A]

    Negative where there is room. Where that position makes no difference any more, the worst of
    all.
    """
    over = {
        sheet.position: round_half_up(needed) - (sheet.existing_a or 0.0)
        for sheet, needed in _held_against_ratings(element)
    }
    if position in over:
        return over[position]
    return max(over.values(), default=0.0)


def _lightest(sheets: list[Worksheet]) -> Worksheet | None:
    new = [s for s in sheets if s.method not in ("existing", "measured")]
    return min(new, key=lambda s: s.needed_a) if new else None


def _over(
    element: ElementDemand,
    sheet: Worksheet,
    needed: float,
    *,
    held: OwnLimit,
    wire: FeederWiring | None,
    rules: Rulebook,
    movable: bool,
) -> Finding:
    limit = held.limit_a
    over_va = (needed - limit) * sheet.volts
    lighten = "Move or manage" if movable else "Manage"
    off_it = f"{'move' if movable else 'keep'} circuits off the generator"
    chosen = FIGURES.get(element.kind, "generator_full")
    by_the_set = sheet.method in ("full", "managed", "selected")
    if by_the_set:
        chosen = "generator_selected" if sheet.method == "selected" else "generator_full"
    if element.kind == "feeder" and by_the_set:
        mend = (
            f"Put circuits under listed load management or {off_it}: "
            f"{over_va:,.0f} VA too much for this breaker."
        )
    elif element.kind == "generator":
        mend = (
            f"Put circuits under listed load management, {off_it}, or use a "
            f"larger set: {over_va:,.0f} VA too much."
        )
    elif element.kind == "feeder":
        larger = next_standard_a(max(round_half_up(needed), limit))
        size = wire.load_advice if wire else None
        words = f", {size.size} {size.run.metal} or larger" if size else ""
        mend = (
            f"{lighten} {over_va:,.0f} VA of calculated load, or use {a_rating(larger)} "
            f"breaker with wire for it{words}."
        )
    else:
        mend = (
            f"{lighten} {over_va:,.0f} VA of calculated load, or use equipment rated "
            f"{sheet.standard_a:g} A."
        )
    measured = element.sheet("measured")
    fits = measured is not None and bool(measured.device_fits)
    beside = ""
    if measured is not None:
        beside = (
            f" Its measured demand with what is new comes to {round_half_up(measured.needed_a)} A"
            f"{', which fits: show the authority the record' if fits else ''}."
        )
    return made(
        "demand-above-rating",
        "note" if fits else "warning",
        element.element_id,
        text=f"{element.name} is calculated to carry {round_half_up(needed)} A "
        f"{_by_what(sheet, needed, rules)}. {held.words}.{beside}",
        mend=mend,
        figure=rules.figure(chosen),
        where=sheet.position,
        value=needed,
        limit=limit,
        unit="A",
    )


def _by_what(sheet: Worksheet, needed: float, rules: Rulebook) -> str:
    """The method in words, with what makes the figure more than total over volts."""
    words = f"by the {METHOD_WORDS[sheet.method]}"
    if sheet.method == "full" and sheet.title.endswith(BY_OPTIONAL):
        words = words.replace("standard", "optional")
    if sheet.leg_a > sheet.amps + 0.5:
        words += ", on its heavier leg"
    if needed > sheet.leg_a + 0.5:
        more = percent(rules.value("continuous_factor") - 1.0)
        words += f", with {more} more for what runs three hours or longer"
    if any("at most" in line.note for line in sheet.lines):
        words += ", at most (an area served is not told)"
    return f"{words}, with {sheet.position}" if sheet.position else words


METHOD_WORDS = {
    "standard": "standard method",
    "optional": "optional method",
    "two_family": "method for two dwellings",
    "farm": "method for a farm with its dwelling",
    "full": "standard method for all that transfers",
    "managed": "standard method for what is left under management",
    "selected": "sum of what is selected",
}


def wiring_checks(wiring: Iterable[FeederWiring], rules: Rulebook) -> Iterator[Finding]:
    """Findings about the wire of each feeder."""
    for one in wiring:
        for segment in one.segments:
            yield from _segment(one, segment, rules)
        yield from _stated_neutral(one, rules)
        yield from _drop(one, rules)


def _segment(one: FeederWiring, part: SegmentWiring, rules: Rulebook) -> Iterator[Finding]:
    size = f"{part.segment.size} {part.segment.metal}"
    if not part.carries_at_75:
        advice = f"{one.advice.size} {one.advice.run.metal}" if one.advice else "larger wire"
        yield made(
            "wire-too-small",
            "warning" if part.protected or one.device_a is None else "blocking",
            one.feeder_id,
            text=f"The wire of {one.name}, {size}, is too small: {part.why_not}.",
            mend=f"Use {advice}, a smaller breaker, or less load.",
            figure=_wire_figure(one, rules),
            value=part.ampacity.final_a,
            limit=one.design_a,
            unit="A",
        )
    elif not part.carries:
        yield made(
            "terminals-asked",
            "note",
            one.feeder_id,
            text=_terminal_words(one, part, size),
            mend="Read the marking of the breaker and the lugs at both ends.",
            figure=rules.figure("terminal_60_up_to_a"),
        )
    if part.ground_enough is False:
        yield made(
            "ground-too-small",
            "warning",
            one.feeder_id,
            text=f"The ground wire of {one.name} is {part.segment.ground_size} "
            f"{part.segment.ground_metal}; its breaker and its wire ask for {part.ground_size} "
            f"{part.segment.ground_metal}{_grown(part)}.",
            mend=f"Use a ground of {part.ground_size} {part.segment.ground_metal} or larger.",
            figure=rules.figure("ground_size"),
        )
    if part.neutral_enough is False:
        yield made(
            "neutral-too-small",
            "warning",
            one.feeder_id,
            text=f"The neutral of {one.name} is {part.segment.neutral_size} "
            f"{part.segment.metal}; its neutral load of {one.neutral_a or 0.0:.0f} A and its "
            f"device ask for {part.neutral_size}.",
            mend=f"Use a neutral of {part.neutral_size} {part.segment.metal} or larger.",
            figure=figure_of("neutral_size", service=one.service, rules=rules),
        )
    if part.fill is not None and not part.fill.fits:
        yield made(
            "raceway-too-full",
            "warning",
            one.feeder_id,
            text=f"The {part.fill.raceway.trade_size} in {part.fill.raceway.name} of {one.name} is "
            f"{percent(part.fill.share)} full; {percent(part.fill.allowed_share)} is permitted.",
            mend="Use a larger trade size.",
            figure=rules.figure("fill_more"),
            value=part.fill.share * 100,
            limit=part.fill.allowed_share * 100,
            unit="%",
        )


def _terminal_words(one: FeederWiring, part: SegmentWiring, size: str) -> str:
    """What a marking of 75 °C would make enough: the load, or only the device below it."""
    load_a = one.design_a
    if one.device_a is None or round_half_up(load_a) <= max(one.device_a, part.most_at_75_a):
        return (
            f"The wire of {one.name}, {size}, is enough only if the terminals at both ends are "
            f"marked 75 °C; else {part.why_not}."
        )
    return (
        f"The wire of {one.name}, {size}, is too small for its calculated load of "
        f"{round_half_up(load_a)} A whatever its terminals are: marked 75 °C at both ends it "
        f"carries {part.most_at_75_a:.0f} A, enough for its device of {one.device_a:g} A and no "
        f"more; else {part.why_not}."
    )


def _wire_figure(one: FeederWiring, rules: Rulebook) -> Figure:
    """What the size of a run's wire stands on."""
    if one.whole_dwelling and one.device_a is not None:
        least, most = rules.value("dwelling_least_a"), rules.value("dwelling_most_a")
        if least <= one.device_a <= most:
            return rules.figure("dwelling_share")
    return figure_of("feeder_wire", service=one.service, rules=rules)


def _grown(part: SegmentWiring) -> str:
    """In brackets, the area wanted where the wire is larger than its load asks for."""
    if part.ground_working is None:
        return ""
    terms = {t.name: t.value for t in part.ground_working.terms}
    if terms["Ratio of hots"] == 1.0:
        return ""
    return (
        f" ({terms['Wanted']:,.0f} circular mils: the table's size times "
        f"{terms['Ratio of hots']:.2f}, as its wire is larger than the load asks for)"
    )


def _stated_neutral(one: FeederWiring, rules: Rulebook) -> Iterator[Finding]:
    """The neutral's stated ampacity against its load, which is never more than a leg's."""
    stated, load_a = one.neutral_ampacity_a, one.neutral_a
    if stated is None or load_a is None:
        return
    if one.whole_dwelling and one.device_a is not None:
        load_a = min(load_a, rules.value("dwelling_share") * one.device_a)
    if round_half_up(load_a) <= stated:
        return
    yield made(
        "neutral-too-small",
        "warning",
        one.feeder_id,
        text=f"The neutral of {one.name} is entered as carrying {stated:g} A; its calculated load "
        f"is {load_a:.0f} A.",
        mend=f"Use a neutral for {load_a:.0f} A or more.",
        figure=figure_of("neutral_size", service=one.service, rules=rules),
        value=load_a,
        limit=stated,
        unit="A",
    )


def _drop(one: FeederWiring, rules: Rulebook) -> Iterator[Finding]:
    if one.drop is None:
        return
    run, total = rules.figure("drop_run_advice"), rules.figure("drop_total_advice")
    advice = f"{one.advice.size} {one.advice.run.metal} holds it." if one.advice else ""
    leg = " on its heavier leg" if one.drop.volts < one.volts else ""
    kind = "service conductors" if one.service else "a feeder"
    if one.drop.dc_share > run.value:
        yield made(
            "drop-above-advice",
            "note",
            one.feeder_id,
            text=f"{one.name} loses {percent(one.drop.dc_share, 1)} of the volts at its calculated "
            f"load{leg}; {percent(run.value)} is the usual advice for {kind}.",
            mend=f"Use larger wire. {advice}".strip(),
            figure=figure_of("drop_run_advice", service=one.service, rules=rules),
            value=one.drop.dc_share * 100,
            limit=run.value * 100,
            unit="%",
        )
    if one.path_drop_share is not None and one.path_drop_share > total.value:
        yield made(
            "total-drop-above-advice",
            "note",
            one.feeder_id,
            text=f"{one.name} and the feeders ahead lose {percent(one.path_drop_share, 1)} of the "
            f"volts together, each at its calculated load; {percent(total.value)} to the farthest "
            "outlet is the usual advice.",
            mend="Use larger wire on the longest of them.",
            figure=total,
            value=one.path_drop_share * 100,
            limit=total.value * 100,
            unit="%",
        )
