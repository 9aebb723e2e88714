"""The limits of the board: their bars, what an edit did to them, and the answer after it."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.advice import judged
from server.simulate.compare import LimitChange, compare
from server.simulate.odds import LimitOdds, Odds
from server.simulate.outcome import status_of
from server.simulate.results import LimitResult, Run, Status
from server.web.board_beyond import newly_past, unshown_words
from server.web.board_harms import harm_brought
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.format import amps, duration, minutes_or_dash, percent
from server.web.limit_table import shared_limits, weather_words
from server.web.without import answer_words, whole_sentence


@dataclass(frozen=True)
class LimitBar:
    """A limit of a bus; ``change`` and ``say`` are empty where nothing was changed.

    ``likely`` is what many draws say of it where one passes it or comes close; ``hit`` whether any
    passes it. ``less`` says why a set gives less here than on its plate.
    """

    id: str
    name: str
    bar: LegBar
    status: Status
    percent: float
    change: str
    say: str
    likely: str = ""
    hit: bool = False
    less: str = ""


@dataclass(frozen=True)
class Outcome:
    """What an edit did: the answer now, and which limits moved which way.

    ``unshown`` names what was changed and asks for nothing, so that the run cannot tell; ``past``
    are parts that the code calculation takes past what they are held to; ``harm`` comes by the
    edit, or sooner.
    """

    answer: str
    rest: str
    before: str
    status: Status
    tally: str
    price: str
    unshown: str
    past: tuple[str, ...]
    harm: tuple[str, ...]
    worse: tuple[str, ...]
    better: tuple[str, ...]


def limits_by_bus(
    run: Run | None, changes: dict[str, LimitChange], odds: Odds | None = None
) -> dict[str, tuple[LimitBar, ...]]:
    """The tightest limit of each thing, any that is not within, and any that an edit moved.

    With ``odds`` of the same scenario also any that a draw passes, and every bar has its band.
    """
    if run is None:
        return {}
    tightest: dict[str, LimitResult] = {}
    for result in shared_limits(run):
        known = tightest.setdefault(result.point.element_id, result)
        if result.worst.percent > known.worst.percent:
            tightest[result.point.element_id] = result
    keep = {r.point.id for r in tightest.values()}
    found: dict[str, list[LimitBar]] = {}
    for result in shared_limits(run):
        change = changes.get(result.point.id)
        touched = change is not None and change.change != "same"
        likely = odds.limit(result.point.id) if odds else None
        hit = likely is not None and likely.crossed.hits > 0
        if result.point.id in keep or result.status != "within" or touched or hit:
            place = result.point.bus_id or ""
            found.setdefault(place, []).append(_limit_bar(result, change, likely))
    return {place: tuple(bars) for place, bars in found.items()}


def _limit_bar(
    result: LimitResult, change: LimitChange | None, likely: LimitOdds | None
) -> LimitBar:
    first, second = result.legs
    spreads = likely.legs if likely else None
    old = change.before if change and change.change != "same" else None
    return LimitBar(
        id=result.point.id,
        name=result.point.name,
        bar=leg_bar(
            l1_a=first.peak_a,
            l2_a=second.peak_a,
            limit_a=result.point.leg_rating_a,
            before_a=(old.legs[0].peak_a, old.legs[1].peak_a) if old else None,
            band_a=(
                (spreads[0].median, spreads[0].p95),
                (spreads[1].median, spreads[1].p95),
            )
            if spreads
            else None,
        ),
        status=result.status,
        percent=result.worst.percent,
        change=change.change if change and change.change != "same" else "",
        say=_say(change) if change else "",
        likely=_likely(likely) if likely else "",
        hit=bool(likely and likely.crossed.hits),
        less=weather_words(result.point),
    )


def _likely(one: LimitOdds) -> str:
    if not one.crossed.hits and status_of(one.percent) == "within":
        return ""
    first, second = one.legs
    passed = f"passed in {one.crossed.hits or 'none'} of {one.crossed.draws} draws"
    return f"95th L1 {amps(first.p95)}, L2 {amps(second.p95)} A; {passed}"


def _say(change: LimitChange) -> str:
    if change.change == "same":
        return ""
    before, after = change.before, change.after
    was, now = (r.worst.percent if r else 0.0 for r in (before, after))
    if change.change == "mended" and before:
        minutes = max(leg.minutes_over_100 for leg in before.legs)
        return f"mended: was over for {minutes_or_dash(minutes)} min, now {percent(now)} per cent"
    if change.change == "broken" and after:
        minutes = max(leg.minutes_over_100 for leg in after.legs)
        return f"broken: over for {minutes_or_dash(minutes)} min, was {percent(was)} per cent"
    return f"{change.change}: {percent(was)} to {percent(now)} per cent"


def touched_limits(before: Run, after: Run) -> tuple[LimitBar, ...]:
    """Every limit that a change would touch: as it is saved, with what it would be beside it.

    The most changed come first; circuit breakers only where the change passes or mends them.
    """
    found = []
    for change in compare(before, after):
        old, new = change.before, change.after
        crossed = change.change in ("mended", "broken")
        if change.change == "same" or (change.point.kind == "circuit_breaker" and not crossed):
            continue
        now = old or new
        if now is None:
            continue
        then = (new.legs[0].peak_a, new.legs[1].peak_a) if new else (0.0, 0.0)
        was = (old.legs[0].peak_a, old.legs[1].peak_a) if old else (0.0, 0.0)
        bar = leg_bar(
            l1_a=was[0],
            l2_a=was[1],
            limit_a=change.point.leg_rating_a,
            before_a=then,
            other_word="then",
        )
        gap = abs((new.worst.percent if new else 0) - (old.worst.percent if old else 0))
        found.append(
            (
                not crossed,
                -gap,
                LimitBar(
                    id=change.point.id,
                    name=change.point.name,
                    bar=bar,
                    status=new.status if new else "within",
                    percent=new.worst.percent if new else 0.0,
                    change=change.change,
                    say=_say(change),
                ),
            )
        )
    return tuple(bar for _, _, bar in sorted(found, key=lambda f: f[:2]))


def outcome(before: Run, after: Run, moved_id: str, moved_ids: tuple[str, ...] = ()) -> Outcome:
    """What changed between two runs, in words; ``moved_ids`` are all where there are several."""
    changes = [c for c in compare(before, after) if c.point.kind != "circuit_breaker"]
    by = {
        word: [c for c in changes if c.change == word]
        for word in ("mended", "better", "worse", "broken")
    }
    tally = ", ".join(f"{len(by[w])} {w}" for w in ("mended", "better", "worse", "broken") if by[w])
    worst = after.verdict.worst
    verdict = judged(after)
    status: Status = "over" if not verdict.fits else worst.status if worst else "within"
    return Outcome(
        answer=answer_words(after),
        rest=verdict.rest,
        before=whole_sentence(before),
        status=status,
        tally=f"Limits: {tally}." if tally else "No shared limit moved.",
        price=_price(before, after, moved_id),
        unshown=unshown_words(after, moved_ids or (moved_id,)),
        past=newly_past(before.site, after.site),
        harm=harm_brought(before, after),
        worse=tuple(f"{c.point.name} {_say(c)}" for c in (*by["broken"], *by["worse"])),
        better=tuple(f"{c.point.name} {_say(c)}" for c in (*by["mended"], *by["better"])),
    )


def _price(before: Run, after: Run, circuit_id: str) -> str:
    old = next((s for s in before.service if s.circuit_id == circuit_id), None)
    new = next((s for s in after.service if s.circuit_id == circuit_id), None)
    if old is None or new is None or abs(new.unserved_min - old.unserved_min) < 1:
        return ""
    was, now = duration(old.unserved_min), duration(new.unserved_min)
    return f"{new.name} asks for power and gets none: {now}; it was {was}."


def worst_bar(limits: tuple[LimitBar, ...]) -> LimitBar | None:
    """The limit nearest to (or furthest past) its rating."""
    return max(limits, key=lambda bar: bar.percent, default=None)
