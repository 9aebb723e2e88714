"""The wire of each feeder against its load: size, ground, neutral, raceway and drop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.finding import Advised, Finding
from server.rules.checks.grown import (
    full_size_of,
    full_size_words,
    ground_by_a_hair,
    ground_grown,
    largest_device_of,
    largest_right_a,
    neutral_by_a_hair,
    neutral_grown,
    neutral_only_grows,
    neutral_right_a,
    right_at_words,
)
from server.rules.checks.made import made
from server.rules.demand.report import WYE_V
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import Figure, Rulebook
from server.rules.tables import conductor, insulation
from server.rules.wiring.drop import drop_within
from server.rules.wiring.feeder import FeederWiring, ground_with
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.run import RANGES
from server.rules.wiring.service import figure_of
from server.rules.wiring.tap import Tap
from server.rules.words import amps, percent, percent_over


def wiring_checks(wiring: Iterable[FeederWiring], rules: Rulebook) -> Iterator[Finding]:
    """Findings about the wire of each feeder."""
    for one in wiring:
        for segment in one.segments:
            yield from _segment(one, segment, rules)
        if one.tap is not None:
            yield _tap(one, one.tap)
        yield from _unchecked(one, rules)
        yield from _stated_neutral(one, rules)
        yield from _drop(one, rules)


def _segment(one: FeederWiring, part: SegmentWiring, rules: Rulebook) -> Iterator[Finding]:
    size = f"{part.segment.size} {part.segment.metal}"
    # Wire that a set binds is one finding with the amps entered for it, among the sources.
    if not part.carries_at_75 and one.set_working is None and one.tap is None:
        advised = _wire_advised(one)
        larger = advised or _larger(one, part)
        yield made(
            "wire-too-small",
            "warning" if part.protected or one.device_a is None else "blocking",
            one.feeder_id,
            text=f"The wire of {one.name}, {size}, is too small: {part.why_not}.",
            mend=f"Use {larger}{_or_less(one, part)}.",
            figure=_wire_figure(one, rules),
            value=part.ampacity.final_a,
            limit=one.design_a,
            unit="A",
            advised=advised,
        )
    elif not part.carries and part.carries_at_75:
        yield made(
            "terminals-asked",
            "note",
            one.feeder_id,
            text=_terminal_words(one, part, size),
            mend="Read the marking of the breaker and the lugs at both ends.",
            figure=rules.figure("terminal_60_up_to_a"),
        )
    yield from _wye_service(one, part, size, rules)
    if part.ground_enough is False:
        least = _largest(p.ground_size for p in _lacking_ground(one, part.segment.ground_metal))
        ground = Advised("ground", size=least, metal=part.segment.ground_metal)
        right_at_a = largest_right_a(
            one, part, part.segment.ground_size, part.segment.ground_metal, rules
        )
        full = full_size_of(one, part) if right_at_a is None else None
        yield made(
            "ground-too-small",
            "warning" if right_at_a is None and full is None else "note",
            one.feeder_id,
            text=f"The ground wire of {one.name} is {part.segment.ground_size} "
            f"{part.segment.ground_metal}; {_by_device(one)} and its wire ask for "
            f"{part.ground_size} {part.segment.ground_metal}{ground_grown(one, part)}."
            f"{ground_by_a_hair(part)}"
            f"{right_at_words(right_at_a, 'ground')}{full_size_words(full, one, part)}",
            mend=f"Use a ground of {ground} or larger.",
            figure=rules.figure("ground_size"),
            advised=ground,
        )
    if part.neutral_enough is False:
        least = _largest(p.neutral_size for p in _lacking_neutral(one, part.segment.metal))
        neutral = Advised("neutral", size=least, metal=part.segment.metal)
        right_at_a = neutral_right_a(one, part, rules)
        only_grows = not right_at_a and neutral_only_grows(part)
        full = full_size_of(one, part) if only_grows else None
        yield made(
            "neutral-too-small",
            "warning" if right_at_a is None and full is None else "note",
            one.feeder_id,
            text=f"The neutral of {one.name} is {part.segment.neutral_size} "
            f"{part.segment.metal}; its neutral load of {one.neutral_a or 0.0:.0f} A and its "
            f"device ask for {part.neutral_size}{neutral_grown(one, part)}."
            f"{neutral_by_a_hair(part)}{right_at_words(right_at_a, 'neutral')}"
            f"{full_size_words(full, one, part)}",
            mend=f"Use a neutral of {neutral} or larger.",
            figure=figure_of("neutral_size", service=one.service, rules=rules),
            advised=neutral,
        )
    if part.fill is not None and not part.fill.fits:
        yield made(
            "raceway-too-full",
            "warning",
            one.feeder_id,
            text=f"The {part.fill.raceway.trade_size} in {part.fill.raceway.name} of {one.name} is "
            f"{percent_over(part.fill.share, part.fill.allowed_share)} full; "
            f"{percent(part.fill.allowed_share)} is permitted.",
            mend="Use a larger trade size.",
            figure=rules.figure("fill_more"),
            value=part.fill.share * 100,
            limit=part.fill.allowed_share * 100,
            unit="%",
        )


def _tap(one: FeederWiring, tap: Tap) -> Finding:
    sizes = " and ".join(dict.fromkeys(f"{p.segment.size} {p.segment.metal}" for p in one.segments))
    return made(
        "feeder-tap",
        "note",
        one.feeder_id,
        text=f"No breaker is entered where {one.name} starts, so {tap.ahead_a:g} A stand ahead of "
        f"its {sizes}. As a tap of {tap.run_ft:g} ft to the main of {tap.end_a:g} A at its end it "
        "may be so.",
        mend="If a breaker is there, enter it. Else see that the wire lies in a raceway or is kept "
        "from damage otherwise, and that it ends at that main alone.",
        figure=tap.figure,
    )


def _larger(one: FeederWiring, part: SegmentWiring) -> str:
    """What is larger where no single wire of its kind fits its device."""
    if one.device_a is None:
        return "larger wire"
    if insulation(part.segment.insulation).sizes:
        return "wire of another kind"
    # Where parallel wires of the tables would do they are advised by size (310.10(G): from 1/0).
    return (
        "wires in parallel" if one.device_a > RANGES["device_a"].high else "wire that lies cooler"
    )


def _unchecked(one: FeederWiring, rules: Rulebook) -> Iterator[Finding]:
    """What of a feeder's wire is not known to the tables, so that nothing is proved by it."""
    for what, why in one.unchecked:
        yield made(
            "feeder-wire-unchecked",
            "warning",
            one.feeder_id,
            text=f"{what} cannot be checked: {why}",
            mend="Read the rating on the breaker again."
            if one.device_a is not None and one.device_a > RANGES["device_a"].high
            else "Read the wire again and enter it as it is marked.",
            figure=figure_of("feeder_wire", service=one.service, rules=rules),
        )


def _by_device(one: FeederWiring) -> str:
    """What sizes wires by a rating: the breaker entered, or the one that the load would take."""
    return "its breaker" if one.device_a is not None else "the breaker that its load would take"


def _wye_service(
    one: FeederWiring, part: SegmentWiring, size: str, rules: Rulebook
) -> Iterator[Finding]:
    """That service conductors on two legs of a wye stand on the 83 % rule alone."""
    if not (one.service and one.volts == WYE_V and part.carries_at_75 and one.device_a):
        return
    figure = rules.figure("dwelling_share_of_a_wye")
    if _wire_figure(one, rules) != rules.figure("dwelling_share"):
        return
    most_a = largest_device_of(part, rules)
    if one.device_a <= most_a:
        return
    share = percent(rules.value("dwelling_share"))
    yield made(
        "wye-service-by-share",
        "note",
        one.feeder_id,
        text=f"The wire of {one.name}, {size}, carries {part.most_at_75_a:.0f} A: enough for its "
        f"device of {one.device_a:g} A by the {share} of a whole dwelling alone. On two legs of a "
        "120/208 V wye that is allowed to feeders; whether to service conductors too is read both "
        "ways.",
        mend=f"Ask the authority, or use wire that {one.device_a:g} A may protect without it.",
        figure=figure,
        value=part.most_at_75_a,
        limit=one.device_a,
        unit="A",
    )


def _wire_advised(one: FeederWiring) -> Advised | None:
    """The wire that the schedule advises for the whole length."""
    if one.advice is None:
        return None
    return Advised(
        "wire",
        size=one.advice.size,
        metal=one.advice.run.metal,
        ground=ground_with(one, one.advice),
        sets=one.advice.run.sets,
    )


def _lacking_ground(one: FeederWiring, metal: str) -> list[SegmentWiring]:
    return [p for p in one.segments if p.ground_enough is False and p.segment.ground_metal == metal]


def _lacking_neutral(one: FeederWiring, metal: str) -> list[SegmentWiring]:
    return [p for p in one.segments if p.neutral_enough is False and p.segment.metal == metal]


def _or_less(one: FeederWiring, part: SegmentWiring) -> str:
    """What else helps. Where the wire may not stand behind its device, no less load alone does."""
    smaller = one.smaller
    device = "main" if one.service else "breaker"
    if smaller is None and not part.protected and one.device_a is not None:
        return ""
    if smaller is None or part.protected:
        within = round_half_up(one.design_a) <= part.most_at_75_a
        return f", a smaller {device}, or less load" if within else ", or bring the load down"
    if smaller.enough:
        return f", or a {device} of {smaller.device_a:g} A"
    return (
        f", or bring the load down to {smaller.carried_a} A and use a {device} of "
        f"{smaller.device_a:g} A"
    )


def _largest(sizes: Iterable[str]) -> str:
    return max(sizes, key=lambda size: conductor(size).cmil)


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


def _stated_neutral(one: FeederWiring, rules: Rulebook) -> Iterator[Finding]:
    """The neutral's stated ampacity against its load, which is never more than a leg's."""
    stated, load_a = one.neutral_ampacity_a, one.neutral_a
    if stated is None or load_a is None:
        return
    if one.whole_dwelling and one.device_a is not None:
        load_a = min(load_a, rules.value("dwelling_share") * one.device_a)
    if round_half_up(load_a) <= stated:
        return
    advised = Advised("neutral", amps=float(round_half_up(load_a)))
    yield made(
        "neutral-too-small",
        "warning",
        one.feeder_id,
        text=f"The neutral of {one.name} is entered as carrying {stated:g} A; its calculated load "
        f"is {load_a:.0f} A.",
        mend=f"Use a neutral for {advised} or more.",
        figure=figure_of("neutral_size", service=one.service, rules=rules),
        value=load_a,
        limit=stated,
        unit="A",
        advised=advised,
    )


def _against_drop(one: FeederWiring) -> Advised | None:
    """Larger wire, or where the legs are large enough already, a neutral of their size."""
    wire = _wire_advised(one)
    if wire is None or one.advice is None:
        return None
    least = conductor(wire.size).cmil * one.advice.run.sets
    for part in one.segments:
        small = conductor(part.segment.size).cmil * part.segment.sets < least
        if part.segment.metal != wire.metal or small:
            return wire
    thin = [p.segment.size for p in one.segments if p.segment.neutral_size]
    return Advised("neutral", size=_largest(thin), metal=wire.metal) if thin else wire


def _at_load(one: FeederWiring) -> str:
    """The load that a drop is reckoned at: the calculated one, or what is let through of it."""
    held = one.held_working
    if held is None:
        return "at its calculated load"
    by = {"Set": "its set", "Device": "its breaker"}.get(held.terms[-1].name)
    return (
        f"at {amps(held.value)}, its calculated load of {round_half_up(one.demand.leg_a)} A "
        f"brought down to {by or _setting_of(one)}"
    )


def _setting_of(one: FeederWiring) -> str:
    return "" if one.standing is None else f"the setting of {one.standing.group.name}"


def _drop(one: FeederWiring, rules: Rulebook) -> Iterator[Finding]:
    if one.drop is None:
        return
    run, total = rules.figure("drop_run_advice"), rules.figure("drop_total_advice")
    leg = " on its heavier leg" if one.drop.volts < one.volts else ""
    leg = f",{leg}" if leg and one.held_working else leg
    kind = "service conductors" if one.service else "a feeder"
    if not drop_within(one.drop.dc_share, run.value):
        advised = _against_drop(one)
        larger = "a larger neutral" if advised and advised.of == "neutral" else "larger wire"
        hold = "hold" if advised and advised.sets > 1 else "holds"
        holds = f" {advised} {hold} it." if advised else ""
        yield made(
            "drop-above-advice",
            "note",
            one.feeder_id,
            text=f"{one.name} loses {percent_over(one.drop.dc_share, run.value, 1)} of the volts "
            f"{_at_load(one)}{leg}; {percent(run.value)} is the usual advice for {kind}.",
            mend=f"Use {larger}.{holds}",
            figure=figure_of("drop_run_advice", service=one.service, rules=rules),
            value=one.drop.dc_share * 100,
            limit=run.value * 100,
            unit="%",
            advised=advised,
        )
    lost = one.path_drop_share
    if lost is not None and not drop_within(lost, total.value):
        sides = f" with {one.path_sides}" if one.path_sides else ""
        yield made(
            "total-drop-above-advice",
            "note",
            one.feeder_id,
            text=f"{one.name} and the feeders ahead{sides} lose "
            f"{percent_over(lost, total.value, 1)} of the volts together, each at "
            f"its calculated load, its breaker at most; {percent(total.value)} to the farthest "
            "outlet is the usual advice.",
            mend="Use larger wire on the longest of them.",
            figure=total,
            value=lost * 100,
            limit=total.value * 100,
            unit="%",
        )
