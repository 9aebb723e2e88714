"""What many draws say beside their limits, in sentences: the same on the page and the terminal."""

from __future__ import annotations

from datetime import timedelta

from server.domain.lengths import span_words, while_words
from server.domain.scenario import Scenario
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.odds import FuelOdds, Odds, ServiceOdds, out_of
from server.simulate.verdict import into_outage


def odds_sentence(odds: Odds) -> str:
    """How often a limit is passed, and that something else fails where only that does."""
    text = f"A limit is passed {out_of(odds.any_over)}."
    if odds.fails and not odds.any_over.hits:
        text += f" But in some, {_joined(_failing(odds))}."
    return text


def _failing(odds: Odds) -> list[str]:
    """What fails in some draws beside limits, what harms first in front."""
    found = ["a pit runs over"] * any(s.pit_over.hits for s in odds.service)
    if odds.harms:
        more = len(odds.harms) - 1
        found.append(odds.harms[0].clause + (f" (and {more} more harms)" if more else ""))
    found += ["fuel ends"] * any(one.early.hits for one in odds.fuel)
    dark = any(s.too_long.hits for s in odds.service)
    return found + ["a circuit is dark longer than it can wait"] * dark


def _joined(parts: list[str]) -> str:
    *first, last = parts
    return f"{', '.join(first)} or {last}" if first else last


def odds_notes(scenario: Scenario, odds: Odds) -> tuple[str, ...]:
    """Fuel that ends, what is served in every draw, and circuits that go without."""
    found = [_fuel(scenario, one) for one in odds.fuel]
    must = [s for s in odds.service if s.must_serve]
    safe = [
        f"{s.name}{while_words(in_use_only=s.spared)}"
        for s in must
        if s.spared or not s.without.hits
    ]
    if safe:
        found.append(f"Served in every draw: {', '.join(safe)}.")
    found += [_service(s) for s in must if s.without.hits and not s.spared]
    found += [_service(s) for s in odds.service if s.too_long.hits and not s.must_serve]
    found += [
        f"A pit on {s.name} runs over {out_of(s.pit_over)}."
        for s in odds.service
        if s.pit_over.hits
    ]
    found += [
        f"{one.clause} {out_of(one.comes)}, first "
        f"{into_outage(scenario, scenario.start + timedelta(hours=one.earliest_h))}."
        for one in odds.harms
        if one.kind != "medical"
    ]
    return tuple(found)


def _fuel(scenario: Scenario, one: FuelOdds) -> str:
    when = ""
    if one.earliest_h is not None and one.median_h is not None:
        first, half = (
            into_outage(scenario, scenario.start + timedelta(hours=h))
            for h in (one.earliest_h, one.median_h)
        )
        when = f", first {first} and half of those by {half}"
    guess = ""
    if one.guess:
        guess = (
            f" What it burns is a guess, {100.0 * GUESS_SHARE:.0f} % either way; no draw varies it,"
            " so the true chance may be far from this."
        )
    return f"{one.name} runs out of fuel {out_of(one.early)}{when}.{guess}"


def _service(one: ServiceOdds) -> str:
    text = (
        f"{one.name} asks for power and gets none {out_of(one.without)}, for "
        f"{span_words(one.spread_min.p95)} in all or less in 95 of 100 draws"
    )
    if one.too_long.hits:
        return f"{text}; it is without longer than it can wait {out_of(one.too_long)}."
    return f"{text}, which it can wait."
