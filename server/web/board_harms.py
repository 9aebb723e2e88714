"""Harm that an edit of the board brings, or brings sooner."""

from __future__ import annotations

from datetime import timedelta

from server.simulate.results import Run
from server.simulate.verdict import moment

SOONER = timedelta(minutes=30)
"""A harm that comes earlier by less is told as no change. Common practice, no source."""


def harm_brought(before: Run, after: Run) -> tuple[str, ...]:
    """Each harm of the run after an edit that the run before has not, or has later; first first."""
    known = {(one.kind, one.element_id): one.at for one in before.verdict.harms}
    found = []
    for one in after.verdict.harms:
        was = known.get((one.kind, one.element_id))
        if was is not None and one.at > was - SOONER:
            continue
        then = "not at all" if was is None else moment(was)
        found.append(f"{one.clause}, {moment(one.at)}; before: {then}.")
    return tuple(found)
