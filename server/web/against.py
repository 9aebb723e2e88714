"""What stands against a run that holds, so that a page never says a plain “Holds” beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from server.domain.finding import Finding
from server.domain.managers import counts_on_words
from server.domain.site import Site
from server.rules.demand.left_off import left_off
from server.simulate.background import kept_odds
from server.simulate.odds_words import failing_clause
from server.simulate.results import Run, Status
from server.web.code_choice import report_of
from server.web.format import count

_NAMED = 3


@dataclass(frozen=True)
class Against:
    """Clauses for the sentence of an answer, what blocks first, and how grave they are together."""

    clauses: tuple[str, ...] = ()
    status: Status = "within"


_GRAVITY = ("within", "close", "over")


def graver(one: str, other: str) -> str:
    """The graver of two marks: over, close or within."""
    return max(one, other, key=_GRAVITY.index)


def against(run: Run, findings: Iterable[Finding], past: tuple[str, ...] = ()) -> Against:
    """What stands against a run that holds, worked out where the page shows it anyway.

    ``findings`` are those the page lists, ``past`` the parts that carry more by the code than their
    rating. Draws count where they were made already.
    """
    barred = house_against(run.site, findings, past)
    drawn = drawn_against(run)
    status: Status = "over" if barred else drawn.status
    return Against((*barred, *drawn.clauses), status)


def drawn_against(run: Run) -> Against:
    """What draws that were made already have against a run; nothing where none were made."""
    odds = kept_odds(run.site, run.scenario)
    clause = failing_clause(odds) if odds else ""
    return Against((clause,), "close") if clause else Against()


def past_rating(site: Site) -> tuple[str, ...]:
    """Parts that carry more by the code than their rating, but for sets that a hand loads."""
    told = {one.set_id for one in left_off(site)}
    found = report_of(site, site.code_edition).findings
    past = (f.element_id for f in found if f.code == "demand-above-rating")
    return tuple(dict.fromkeys(site.name_of[part] for part in past if part not in told))


def house_against(
    site: Site, findings: Iterable[Finding], past: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """Clauses of what stands against a house on every day: what blocks it, and the code."""
    return tuple(_barred(site, findings, past))


def _barred(site: Site, findings: Iterable[Finding], past: tuple[str, ...]) -> Iterator[str]:
    blocking = sum(f.severity == "blocking" for f in findings)
    if blocking:
        yield f"{count(blocking, 'finding')} {'blocks' if blocking == 1 else 'block'} it"
    if counts := counts_on_words(site):
        yield counts
    for one in left_off(site):
        yield f"by the code {one.name} may not be run with all that is set to stay on"
    if past:
        who = ", ".join(past) if len(past) <= _NAMED else count(len(past), "part")
        carry, their = ("carries", "its") if len(past) == 1 else ("carry", "their")
        yield f"by the code {who} {carry} more than {their} rating"
