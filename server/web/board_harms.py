"""Harm that an edit of the board brings, or brings sooner."""

from __future__ import annotations

from collections.abc import Collection
from datetime import timedelta

from server.domain.lengths import span_words
from server.simulate.results import Run
from server.simulate.verdict import moment

SOONER = timedelta(minutes=30)
"""A harm that comes earlier by less is told as no change. Common practice, no source."""


def harm_brought(before: Run, after: Run) -> tuple[str, ...]:
    """Each harm of the run after an edit that the run before has not, or has later; first first.

    What was harmed from the same time on, and now goes without for longer, is told as well.
    """
    known = {(one.kind, one.element_id): one.at for one in before.verdict.harms}
    found, told = [], set[str]()
    for one in after.verdict.harms:
        was = known.get((one.kind, one.element_id))
        if was is not None and one.at > was - SOONER:
            continue
        then = "not at all" if was is None else moment(was)
        found.append(f"{one.clause}, {moment(one.at)}; before: {then}.")
        if one.kind == "medical":
            told.add(one.circuit_id)
    return (*_longer(before, after, told), *found)


def _longer(before: Run, after: Run, told: Collection[str]) -> list[str]:
    """What may not be dark so long and is so for longer than before, devices in front."""
    old = {fared.circuit_id: fared for fared in before.service}
    found = []
    for fared in after.service:
        was_min = old[fared.circuit_id].longest_gap_min if fared.circuit_id in old else 0.0
        more = fared.longest_gap_min - was_min >= SOONER / timedelta(minutes=1)
        if not fared.gap_exceeded or not more or fared.circuit_id in told:
            continue
        who = fared.device or fared.name
        now, then = span_words(fared.longest_gap_min), span_words(was_min)
        words = f"{who} is without power for {now} at a stretch; before: {then}."
        found.append((not fared.device, words))
    return [words for _, words in sorted(found, key=lambda one: one[0])]
