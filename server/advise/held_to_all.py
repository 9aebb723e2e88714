"""A next step that acts in every scenario, held to those beside the one it was found for."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from server.advise.by_code import MOST_SCENARIOS, tried_in
from server.advise.levers import Lever, apply_lever, lever_words
from server.advise.plan_harms import medical_of
from server.advise.step import NextStep
from server.domain.errors import InputError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import Run
from server.simulate.run import cached_run, simulate


def held_to_all(site: Site, scenario: Scenario, step: NextStep) -> NextStep:
    """A step with what its lever brings or costs in the other scenarios of the site.

    One that would do harm in another is offered for this scenario alone where that does as much
    here, else told and not offered. What gives a medical device power is offered all the same.
    """
    lever = step.lever
    if lever is None or not lever.every_day:
        return step
    worse, costs = in_others(site, scenario, lever)
    if not worse:
        waits = f" Elsewhere: {'; '.join(costs)}." if costs else ""
        return replace(step, sentence=f"{step.sentence}{waits}")
    here = _here_alone(site, scenario, lever)
    if here is not None:
        said, now = lever_words(site, lever), lever_words(site, here)
        sentence = step.sentence.replace(said, now)
        why = f"Kept off in every scenario it would do harm: {worse}."
        return replace(step, sentence=f"{sentence} {why}", command=now, lever=here, changed=None)
    told = f"{step.sentence} But it acts in every scenario, and with it, {worse}"
    if lever.kind == "on" and medical_of(site.circuit(lever.circuit_id)):
        return replace(step, sentence=f"{told}: look at that one next.")
    return replace(
        step,
        sentence=f"{told}: try it on a copy first.",
        command="",
        lever=None,
        where=step.where or "run",
    )


@lru_cache(maxsize=64)
def in_others(site: Site, scenario: Scenario, lever: Lever) -> tuple[str, tuple[str, ...]]:
    """What a lever brings in the first other scenario that does worse, and what it makes wait.

    Both are empty where it acts in the one scenario alone.
    """
    if not lever.every_day:
        return "", ()
    days = tuple(s for s in site.scenarios if s.id != scenario.id)[:MOST_SCENARIOS]
    try:
        then, _ = apply_lever(site, scenario, lever)
        return tried_in(site, then, days)
    except InputError as error:
        return f"a scenario of this site cannot be run: {error}", ()


def _here_alone(site: Site, scenario: Scenario, lever: Lever) -> Lever | None:
    """The same for this scenario alone, None where there is none or it does less here."""
    if lever.kind != "off" or all(s.id != scenario.id for s in site.scenarios):
        return None
    here = replace(lever, here=True)
    try:
        every, alone = (simulate(*apply_lever(site, scenario, one)) for one in (lever, here))
    except InputError:
        return None
    was = cached_run(site, scenario)
    return here if _fails(alone) <= _fails(every) and _fails(alone) <= _fails(was) else None


def _fails(run: Run) -> tuple[bool, int, int, int, int]:
    verdict = run.verdict
    dry = sum(f.runs_dry for f in run.fuel)
    return (
        not verdict.fits,
        len(verdict.over),
        len(verdict.gaps),
        len(verdict.harms),
        dry,
    )
