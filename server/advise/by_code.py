"""What brings a house within its ratings by the code, found and checked as its findings are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from server.advise.advice import all_holds
from server.advise.idle_parts import bare_throws, bare_words, idle_words, without_idle
from server.advise.levers import ELECTRICIAN
from server.advise.longer import longer_in, told_in
from server.advise.needed import new_harms
from server.domain.errors import InputError
from server.domain.finding import Finding, Recheck
from server.domain.lengths import span_words
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.rules.check import check_site
from server.rules.checks.loads import most_held_a
from server.rules.demand.left_off import left_off
from server.rules.demand.report import demand_of
from server.rules.editions import site_rules
from server.rules.mends.recheck import compared, offers
from server.rules.words import amps
from server.simulate.results import Run
from server.simulate.run import cached_run

OVER = "demand-above-rating"

MOST_SCENARIOS = 8
"""Scenarios in which a change is tried, some seconds of runs (common practice, no source)."""

LONGER_MIN, WAITS_MIN = 1.0, 30.0
"""By which a gap that is too long must grow to be worse, and one that can be borne to be told
(common practice, no source). [min]"""

MOST_TOLD = 4


@dataclass(frozen=True)
class CodeMend:
    """A change that clears a load past its rating by the code and brings no finding.

    ``site`` has it made; ``left_a`` is what the part then carries, ``others`` how many findings go
    with it. ``worse`` is what it brings in a scenario of the site, empty where none does worse, and
    ``costs`` what it makes wait that can, ``grave`` where a house lives by some of it. ``holds``
    says that the run asked for holds with it, ``idle`` what of the house is for nothing then.
    """

    name: str
    counted_a: float
    limit_a: float
    left_a: float
    words: str
    site: Site
    others: int
    worse: str
    costs: tuple[str, ...]
    holds: str
    grave: bool = False
    idle: str = ""

    @property
    def sentence(self) -> str:
        """What is past, what mends it, what it comes to then, and what that costs."""
        more = f", {self.others} more with it" if self.others else ""
        mended = (
            f"By the code {self.name} carries {self.counted_a:.0f} A of its {amps(self.limit_a)}. "
            f"With {self.words} it is {self.left_a:.0f} A, and its finding is gone{more}."
        )
        if self.worse:
            return f"{mended} But with it, {self.worse}: try it on a copy first."
        run = f"In the run with it {self.holds}. " if self.holds else ""
        waits = f"{'; '.join(self.costs)}. " if self.costs else ""
        idle = f"{self.idle} " if self.idle else ""
        many = len(self.site.scenarios) > MOST_SCENARIOS
        none = f"None of the first {MOST_SCENARIOS} scenarios" if many else "No scenario"
        if self.grave:
            none = f"Apart from that {none[:1].lower()}{none[1:]}"
        return (
            f"{mended} {idle}{run}{waits}{none} of this site fails by more with it. {ELECTRICIAN}"
        )


def past_by_code(site: Site) -> tuple[Finding, ...]:
    """Loads past their rating that somebody must mend, sets first, hand-loaded ones left out."""
    by_hand = {one.set_id for one in left_off(site)}
    sets = {g.id for g in site.generators}
    found = [
        f
        for f in check_site(site).findings
        if f.code == OVER and f.severity != "note" and f.element_id not in by_hand
    ]
    return tuple(sorted(found, key=lambda f: (f.element_id not in sets, -(f.value or 0.0))))


def code_mend(site: Site, scenario: Scenario) -> CodeMend | None:
    """The first change that clears a load past its rating, worked into the site and checked again.

    Returns
    -------
    CodeMend or None   None where nothing is past, or no change to circuits clears it without
    bringing something worse. It acts in every scenario, so it is judged once for all of them: one
    with which nothing that a house lives by waits longer goes first, then one with which none does
    worse, then one with which some scenario does.
    """
    days = site.scenarios[:MOST_SCENARIOS]
    mend = _judged(site, days if scenario in days else (*days, scenario))
    if mend is None or mend.worse:
        return mend
    return replace(mend, holds=all_holds(cached_run(mend.site, scenario)))


@lru_cache(maxsize=32)
def _judged(site: Site, days: tuple[Scenario, ...]) -> CodeMend | None:
    rules, _ = site_rules(site)
    past = past_by_code(site)
    if not past:
        return None
    before = check_site(site).findings
    second: CodeMend | None = None
    for finding in past:
        for offer in offers(site, finding, rules):
            then = without_idle(offer.site)
            one = compared(offer.words, finding, before, check_site(then).findings)
            if not one.clears or one.brings:
                continue
            try:
                worse, costs = tried_in(site, then, days)
            except InputError:
                continue
            grave = bool(not worse and longer_in(site, then, days))
            idle = _newly_idle(site, offer.site)
            mend = replace(_told(finding, one, then, worse, costs), grave=grave, idle=idle)
            if not worse and not mend.grave:
                return mend
            if second is None or (second.worse and not worse):
                second = mend
        if second is not None:
            return second
    return None


def _newly_idle(site: Site, then: Site) -> str:
    """What a change leaves without anything to act on, as sentences."""
    bare = bare_words(then) if bare_throws(then) != bare_throws(site) else ""
    return " ".join(filter(None, (idle_words(then), bare)))


def tried_in(site: Site, then: Site, days: tuple[Scenario, ...]) -> tuple[str, tuple[str, ...]]:
    """What a change brings in the first scenario that does worse, and what it makes wait.

    ``worse`` is empty where none does; then ``costs`` tells what waits longer, at most a few of it.

    Raises
    ------
    InputError   When a scenario cannot be run with the change.
    """
    longest: dict[str, tuple[float, str]] = {}
    for day in days:
        run, after = cached_run(site, day), cached_run(then, day)
        brought = brought_by(run, after)
        if brought:
            return f"in {day.name}, {brought}", ()
        was = {s.circuit_id: s.longest_gap_min for s in run.service}
        for now in after.service:
            grown = now.longest_gap_min - was.get(now.circuit_id, 0.0)
            if grown > WAITS_MIN and now.longest_gap_min > longest.get(now.name, (0.0, ""))[0]:
                longest[now.name] = (now.longest_gap_min, day.name)
    grave = longer_in(site, then, days)
    told_before = {site.circuit(one.circuit_id).name for _, one in grave}
    most = [one for one in longest.items() if one[0] not in told_before]
    most.sort(key=lambda one: -one[1][0])
    told = [
        f"{name} then waits up to {span_words(minutes)} in {day}"
        for name, (minutes, day) in most[:MOST_TOLD]
    ]
    more = len(most) - MOST_TOLD
    told = [*told_in(grave, most=MOST_TOLD), *told]
    return "", (*told, *[f"{more} more wait longer than now"] * (more > 0))


def brought_by(run: Run, after: Run) -> str:
    """What a run has worse than another: a harm, a gap, a limit, or that it holds no more."""
    harms = new_harms(run, after)
    if harms:
        return harms[0]
    was = {g.circuit_id: g.longest_gap_min for g in run.verdict.gaps}
    for gap in after.verdict.gaps:
        if gap.longest_gap_min > was.get(gap.circuit_id, 0.0) + LONGER_MIN:
            return f"{gap.subject} is dark for {span_words(gap.longest_gap_min)}"
    past = {r.point.id for r in run.verdict.over}
    for one in after.verdict.over:
        if one.point.id not in past:
            limit_a = one.point.leg_rating_a
            return f"{one.point.name} carries {one.worst.peak_a:.1f} A of {limit_a:.1f} A"
    return "not everything holds" if all_holds(run) and not all_holds(after) else ""


def _told(
    finding: Finding, one: Recheck, now: Site, worse: str, costs: tuple[str, ...]
) -> CodeMend:
    rules, _ = site_rules(now)
    element = demand_of(now, finding.element_id, rules=rules, held_only=True)
    return CodeMend(
        now.name_of[finding.element_id],
        finding.value or 0.0,
        finding.limit or 0.0,
        most_held_a(now, element),
        one.change,
        now,
        one.others,
        worse,
        costs,
        "",
    )
