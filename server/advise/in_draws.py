"""What lessens how often a run that holds fails in many draws."""

from __future__ import annotations

from functools import lru_cache

from server.advise.levers import apply_lever
from server.advise.relief import Candidate, relief_of
from server.advise.step import NextStep
from server.domain.errors import InputError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.odds import Odds, odds_of
from server.simulate.odds_words import failing_clause

MOST_DRAWS = 40
"""Draws in which a change is tried, some seconds of runs (common practice, no source)."""

MOST_TRIED = 3


def in_draws(site: Site, scenario: Scenario, step: NextStep, odds: Odds) -> NextStep:
    """A step on a run that holds, told of the draws in which it does not.

    Where a limit is passed in some, the change that relieves that limit most of those that cost
    least is tried in the first of the same draws. A step that has a change of its own keeps it.
    """
    clause = failing_clause(odds)
    if not clause:
        return step
    opening = f"In the draw shown all holds, but {clause}."
    if step.changed or step.lever or not odds.any_over.hits:
        return NextStep(
            f"{opening} {step.sentence}".replace(_CALM, _IN_IT),
            step.command,
            step.lever,
            changed=step.changed,
            where="" if step.changed or step.lever else "run",
            names_code=step.names_code,
            planned=step.planned,
        )
    point = max(odds.limits, key=lambda one: one.crossed.hits).point
    opening += f" Most often it is {point.name}."
    found = lessened(site, scenario, point.id, min(odds.draws, MOST_DRAWS))
    if found is None:
        return NextStep(
            f"{opening} No single change to one circuit was found that lessens it: use less at "
            "once there, or ask for a larger one.",
            where="run",
        )
    best, before, after, draws = found
    return NextStep(
        f"{opening} {best.words}: of the first {draws} draws a limit is then passed in {after} "
        f"instead of {before}.",
        best.words,
        best.lever,
    )


_CALM, _IN_IT = "Nothing need be changed for this scenario:", "In it"


@lru_cache(maxsize=32)
def lessened(
    site: Site, scenario: Scenario, point_id: str, draws: int
) -> tuple[Candidate, int, int, int] | None:
    """What makes a limit be passed in fewer draws, and in how many before and after.

    The same draws are taken with and without it; None where neither of the first candidates helps.
    """
    relief = relief_of(site, scenario, point_id)
    if relief is None:
        return None
    # What gains nothing in the draw shown may in others, where more meets.
    able = [c for c in relief.candidates if not c.harms and c.lever.is_kept and c.gain_a > -0.05]
    able.sort(key=lambda c: c.harm_rank)
    before = _passed(site, scenario, draws)
    found: tuple[Candidate, int, int, int] | None = None
    for one in able[:MOST_TRIED]:
        try:
            after = _passed(*apply_lever(site, scenario, one.lever), draws)
        except InputError:
            continue
        if after < (found[2] if found else before):
            found = (one, before, after, draws)
    return found


def _passed(site: Site, scenario: Scenario, draws: int) -> int:
    made = run_draws(site, scenario, draws=range(draws))
    return odds_of(site, scenario, made).any_over.hits
