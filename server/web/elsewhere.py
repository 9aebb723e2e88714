"""What the scenarios beside the one shown say of the house: the same list wherever it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from server.advise.advice import judged
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import Run
from server.web.against import drawn_against, graver
from server.web.without import answer_words, verdict_status

MOST = 8
"""More scenarios than this are counted and not named."""


@dataclass(frozen=True)
class Other:
    """One other scenario and its answer, empty until it was run."""

    name: str
    href: str
    status: str
    answer: str


@dataclass(frozen=True)
class Elsewhere:
    """The other scenarios; ``address`` runs them where not all are known, ``more`` are unnamed.

    ``barred`` where something stands against the house whatever the day.
    """

    others: tuple[Other, ...]
    more: int
    known: bool
    address: str
    barred: bool = False


def elsewhere_beside(
    site: Site,
    chosen: Scenario | None,
    runs: Mapping[str, Run],
    *,
    address: str,
    page_of: Callable[[str], str],
    asked: bool = False,
    barred: bool = False,
) -> Elsewhere | None:
    """The scenarios beside ``chosen`` with their answers where ``runs`` has them.

    Those that fail are first, so that none of them is left among the unnamed. ``page_of`` is the
    address of a scenario's own page; ``asked`` is whether these are all the runs there will be.
    """
    others = [s for s in site.scenarios if chosen and s.id != chosen.id]
    if not others:
        return None
    fails = {s.id for s in others if s.id in runs and not judged(runs[s.id]).fits}
    others.sort(key=lambda s: s.id not in fails)
    named = others[:MOST]
    told = {one.id: _told(runs[one.id]) for one in named if one.id in runs}
    return Elsewhere(
        others=tuple(
            Other(
                name=one.name,
                href=page_of(one.id),
                status=told[one.id][0] if one.id in told else "",
                answer=told[one.id][1] if one.id in told else "",
            )
            for one in named
        ),
        more=len(others) - len(named),
        known=asked or all(s.id in runs for s in others),
        address=address,
        barred=barred and any(s.id in runs and s.id not in fails for s in others),
    )


def _told(run: Run) -> tuple[str, str]:
    """The mark and the answer of a run, with what draws that were made have against it."""
    drawn = drawn_against(run)
    return graver(verdict_status(run), drawn.status), answer_words(run, drawn.clauses)
