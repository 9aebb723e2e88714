"""What many draws say beside their limits, in sentences: the same on the page and the terminal."""

from __future__ import annotations

from datetime import timedelta

from server.domain.lengths import span_words, while_words
from server.domain.scenario import Scenario
from server.physics.fuel_guess import GUESS_SHARE
from server.simulate.chance import Chance, agreed_words, draws_words, in_draws, out_of
from server.simulate.odds import FuelOdds, Odds, ServiceOdds
from server.simulate.verdict import into_outage


def odds_sentence(odds: Odds) -> str:
    """How often a limit is passed and how often each other thing fails; what is granted in all."""
    text = f"A limit is passed {out_of(odds.any_over)}."
    failing = _failing(odds)
    if failing:
        clauses = [f"{clause} in {chance.hits} of {chance.draws}" for clause, chance in failing]
        text += f" {'And' if odds.any_over.hits else 'But'} {_joined(clauses)}."
    if odds.short:
        text += f" In every draw alike: {' '.join(odds.short)}"
    if odds.provided:
        text += f" Every draw takes for granted that {odds.provided}."
    return text


def failing_clause(odds: Odds) -> str:
    """What fails in some draws, in one clause for the answer of a run; empty where nothing does."""
    failing = [(clause, chance.hits) for clause, chance in _failing(odds)]
    if odds.any_over.hits:
        failing.insert(0, ("a limit is passed", odds.any_over.hits))
    if not failing:
        return ""
    (clause, hits), *others = failing
    first = f"{clause} in {hits} of {draws_words(odds.draws)}"
    return _joined([first, *(f"{clause} in {hits}" for clause, hits in others)])


def _failing(odds: Odds) -> list[tuple[str, Chance]]:
    """What fails in some draws beside limits, and how often: of each sort the most frequent.

    Harms are in front.
    """
    found = []
    pits = [s.pit_over for s in odds.service if s.pit_over.hits]
    if pits:
        found.append(("a pit runs over", _most(pits)))
    if odds.harms:
        first, more = odds.harms[0], len(odds.harms) - 1
        others = f" (and {more} more harm{'s' if more > 1 else ''})" if more else ""
        found.append((first.clause + others, first.comes))
    early = [one.early for one in odds.fuel if one.early.hits]
    if early:
        found.append(("fuel ends", _most(early)))
    dark = [s.too_long for s in odds.service if s.too_long.hits]
    if dark:
        found.append(("a circuit is dark longer than it can wait", _most(dark)))
    return found


def _most(chances: list[Chance]) -> Chance:
    return max(chances, key=lambda one: one.hits)


def _joined(parts: list[str]) -> str:
    *first, last = parts
    return f"{', '.join(first)} and {last}" if first else last


def odds_notes(scenario: Scenario, odds: Odds) -> tuple[str, ...]:
    """How sure it is what all draws have, fuel that ends, and what is served or goes without."""
    found = [agreed_words(odds.draws)]
    if odds.left:
        found.append(f"The run begins with what was before it: {'; '.join(odds.left)}.")
    if odds.uncounted:
        found.append(odds.uncounted)
    found += [_fuel(scenario, one) for one in odds.fuel]
    must = [s for s in odds.service if s.must_serve]
    safe = [
        f"{s.subject}{while_words(in_use_only=s.spared)}"
        for s in must
        if s.spared or not s.without.hits
    ]
    if safe:
        found.append(f"Served in every draw: {', '.join(safe)}.")
    found += [_service(scenario, s) for s in must if s.without.hits and not s.spared]
    found += [_service(scenario, s) for s in odds.service if s.too_long.hits and not s.must_serve]
    found += [
        f"A pit on {s.name} runs over {in_draws(s.pit_over)}."
        for s in odds.service
        if s.pit_over.hits
    ]
    found += [
        f"{one.clause} {in_draws(one.comes)}, first "
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
    return f"{one.name} runs out of fuel {in_draws(one.early)}{when}.{guess}"


def _service(scenario: Scenario, one: ServiceOdds) -> str:
    within = "of this run " if scenario.dark_before_s else ""
    text = (
        f"{one.subject} asks for power and gets none {in_draws(one.without)}, for "
        f"{span_words(one.spread_min.p95)} {within}in all or less in 95 of 100"
    )
    if within and one.gap_min > one.spread_min.p95:
        whole = span_words(one.gap_min)
        took = f"wants {whole} of its battery" if one.by_battery else f"has none for {whole}"
        text += f", and {took} with what was before"
    if one.too_long.hits:
        return f"{text}; it is without longer than it can wait {in_draws(one.too_long)}."
    return f"{text}, which it can wait."
