"""What the scenarios beside the one shown say of the house: the same list wherever it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from server.advise.advice import judged
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import Run
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
    """The other scenarios; ``address`` runs them where not all are known, ``more`` are unnamed."""

    others: tuple[Other, ...]
    more: int
    known: bool
    address: str


def elsewhere_beside(
    site: Site,
    chosen: Scenario | None,
    runs: Mapping[str, Run],
    *,
    address: str,
    page_of: Callable[[str], str],
    asked: bool = False,
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
    return Elsewhere(
        others=tuple(
            Other(
                name=one.name,
                href=page_of(one.id),
                status=verdict_status(runs[one.id]) if one.id in runs else "",
                answer=answer_words(runs[one.id]) if one.id in runs else "",
            )
            for one in named
        ),
        more=len(others) - len(named),
        known=asked or all(s.id in runs for s in others),
        address=address,
    )
