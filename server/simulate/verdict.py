"""The answer in one sentence."""

from __future__ import annotations

from datetime import datetime

from server.simulate.results import CircuitService, FuelNeed, LimitResult, Verdict


def moment(at: datetime | None) -> str:
    """A local time as people say it; nothing for none.

    >>> moment(datetime(2026, 11, 26, 17, 40))
    'Thu 26 Nov 17:40'
    """
    return "" if at is None else f"{at:%a} {at.day} {at:%b} {at:%H:%M}"


def span_words(minutes: float) -> str:
    """A length of time in words.

    >>> span_words(0.2), span_words(42), span_words(4320)
    ('12 s', '42 min', '72.0 h')
    """
    if minutes < 1.0:
        return f"{minutes * 60.0:.0f} s"
    return f"{minutes:.0f} min" if minutes < 120.0 else f"{minutes / 60.0:.1f} h"


def _rank(result: LimitResult) -> tuple[bool, float]:
    return result.point.kind != "circuit_breaker", result.worst.percent


def _on(result: LimitResult) -> str:
    """Which leg, but for a neutral, which is neither."""
    return "" if result.point.kind == "feeder_neutral" else f" on {result.worst.leg}"


def judge(
    limits: tuple[LimitResult, ...],
    service: tuple[CircuitService, ...],
    fuel: tuple[FuelNeed, ...] = (),
) -> Verdict:
    """Fits when no limit is passed, no must-serve circuit waits too long and no set runs dry."""
    dry = tuple(f for f in fuel if f.runs_dry)
    dark_min = min((s.longest_gap_min for s in service), default=0.0)
    over = tuple(sorted((r for r in limits if r.status == "over"), key=_rank, reverse=True))
    gaps = tuple(sorted((s for s in service if s.gap_exceeded), key=lambda s: -s.longest_gap_min))
    shared = [r for r in limits if r.point.kind != "circuit_breaker"]
    worst = over[0] if over else max(shared, key=_rank, default=None)
    dark = worst is not None and worst.worst.peak_a == 0.0 and dark_min > 0.0
    if over:
        top = over[0].worst
        sentence = (
            f"Does not fit. {over[0].point.name} must carry {top.peak_a:.1f} A{_on(over[0])} at "
            f"{moment(top.at)}; its limit is {over[0].point.leg_rating_a:.1f} A."
        )
        minutes = max(leg.minutes_over_100 for leg in over[0].legs)
        others = len(over) - 1
        detail = f"Over for {span_words(minutes)} in all."
        if others:
            detail += f" {others} other limit{'s are' if others > 1 else ' is'} passed too."
    elif dry:
        sentence = (
            f"Does not hold. {dry[0].name} runs out of fuel {moment(dry[0].dry_at)}: it needs "
            f"about {dry[0].used_gal:.0f} gal in this scenario; {dry[0].there_gal:.1f} gal are "
            "there."
        )
        detail = "No limit is passed, but the set stops where its fuel ends."
    elif gaps:
        sentence = (
            f"Does not hold. {gaps[0].name} is without power for "
            f"{span_words(gaps[0].longest_gap_min)} on end, longer than it can bear."
        )
        detail = "No limit is passed."
    elif worst is None:
        sentence, detail = "Nothing to judge yet: the site has no source and no panel.", ""
    elif dark:
        sentence = f"Does not hold. No circuit has power for {span_words(dark_min)}."
        detail = "No source carries the house while the utility is out."
    elif worst.worst.peak_a == 0.0:
        sentence = "Fits, but nothing draws power in this scenario."
        detail = "Add appliances to the circuits to see what they need."
    else:
        top = worst.worst
        sentence = (
            f"Fits. The nearest limit is {worst.point.name}: {top.peak_a:.1f} A of "
            f"{worst.point.leg_rating_a:.1f} A{_on(worst)}, {moment(top.at)}."
        )
        detail = "Every service, feeder, switch, panel and generator limit holds."
    if (over or dry) and gaps:
        detail += (
            f" {gaps[0].name} is also without power for {span_words(gaps[0].longest_gap_min)} on "
            "end, longer than it can bear."
        )
    if dry and over:
        detail += (
            f" {dry[0].name} also runs out of fuel {moment(dry[0].dry_at)}: about "
            f"{dry[0].used_gal:.0f} gal are needed."
        )
    detail += "".join(
        f" {f.name} eats into its reserve of {f.reserve_gal:.1f} gal."
        for f in fuel
        if f.eats_reserve and not f.runs_dry
    )
    detail += "".join(
        f" The tank of {f.name} had no room for {f.left_over_gal:.1f} gal delivered."
        for f in fuel
        if f.left_over_gal > 0.05
    )
    return Verdict(
        fits=not over and not gaps and not dry and not dark,
        sentence=sentence,
        detail=detail,
        worst=worst,
        over=over,
        gaps=gaps,
    )
