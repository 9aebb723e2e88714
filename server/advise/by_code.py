"""What brings a house within its ratings by the code, found and checked as its findings are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from server.advise.advice import all_holds
from server.advise.needed import new_harms
from server.domain.errors import InputError
from server.domain.finding import Finding, Recheck
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.rules.check import check_site
from server.rules.checks.loads import most_held_a
from server.rules.demand.left_off import left_off
from server.rules.demand.report import demand_of
from server.rules.editions import site_rules
from server.rules.mends.recheck import compared, offers
from server.rules.words import amps
from server.simulate.run import cached_run, simulate

OVER = "demand-above-rating"

NOT_IN_RUN = "But this run does not hold with it: try it on a copy first."


@dataclass(frozen=True)
class CodeMend:
    """A change that clears a load past its rating by the code and brings nothing worse.

    ``site`` has it made; ``left_a`` is what the part then carries, ``others`` how many findings go
    with it, and ``holds`` says that the run with it holds, empty where it does not.
    """

    name: str
    counted_a: float
    limit_a: float
    left_a: float
    words: str
    site: Site
    others: int
    holds: str

    @property
    def sentence(self) -> str:
        """What is past, what mends it, and what it comes to then."""
        more = f", {self.others} more with it" if self.others else ""
        run = f"In the run with it {self.holds}." if self.holds else NOT_IN_RUN
        return (
            f"By the code {self.name} carries {self.counted_a:.0f} A of its {amps(self.limit_a)}. "
            f"With {self.words} it is {self.left_a:.0f} A, and its finding is gone{more}. {run} "
            "It takes an electrician; here it is only entered."
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


@lru_cache(maxsize=32)
def code_mend(site: Site, scenario: Scenario) -> CodeMend | None:
    """The first change that clears a load past its rating, worked into the site and checked again.

    Returns
    -------
    CodeMend or None   None where nothing is past, or no change to circuits clears it without
    bringing something worse. One with which the run holds goes before one with which it does not.
    """
    rules, _ = site_rules(site)
    past = past_by_code(site)
    if not past:
        return None
    before = check_site(site).findings
    run = cached_run(site, scenario)
    second: CodeMend | None = None
    for finding in past:
        for offer in offers(site, finding, rules):
            one = compared(offer.words, finding, before, check_site(offer.site).findings)
            if not one.clears or one.brings:
                continue
            try:
                after = simulate(offer.site, scenario)
            except InputError:
                continue
            holds = "" if new_harms(run, after) else all_holds(after)
            mend = _told(finding, one, offer.site, holds)
            if holds:
                return mend
            second = second or mend
        if second is not None:
            return second
    return None


def _told(finding: Finding, one: Recheck, now: Site, holds: str) -> CodeMend:
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
        holds,
    )
