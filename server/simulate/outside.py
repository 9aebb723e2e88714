"""What a scenario has at hours that its run does not hold: no minute of it is worked out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from server.domain.scenario import Scenario, Window


@dataclass(frozen=True)
class Outside:
    """A row of a list of a scenario that lies outside the run, by its number from 0.

    ``step`` is the last part of the name of the field that says when.
    """

    list: str
    row: int
    step: str
    what: str
    at: datetime


def outside(scenario: Scenario) -> tuple[Outside, ...]:
    """Every row that no minute of the run takes in, in the order of the form.

    What came before the run counts where it still does as it begins: an outage not long over, and
    a double-throw that stands where it was thrown to.
    """
    return tuple(_found(scenario))


def never_run(scenario: Scenario) -> tuple[Window, ...]:
    """The outages that are no part of the run, in order."""
    rows = {one.row for one in outside(scenario) if one.list == "outages"}
    found = [w for row, w in enumerate(scenario.outages) if row in rows]
    return tuple(sorted(found, key=lambda w: w.start))


def _found(scenario: Scenario) -> Iterator[Outside]:
    marks = {(w.start, w.end) for w in scenario.outages_before}
    for row, window in enumerate(scenario.outages):
        marked = any(a <= window.start and window.end <= b for a, b in marks)
        if not _holds(scenario, window) and not marked:
            yield Outside("outages", row, "start", "This outage", window.start)
    for row, delivery in enumerate(scenario.deliveries):
        if not scenario.start <= delivery.at < scenario.end:
            yield Outside("deliveries", row, "at", "This delivery", delivery.at)
    for row, stop in enumerate(scenario.generator_stops):
        if not _holds(scenario, stop):
            yield Outside("generator_stops", row, "start", "This stop", stop.start)
    for row, turn in enumerate(scenario.generator_exercise):
        if not _holds(scenario, turn):
            yield Outside("generator_exercise", row, "start", "This exercise", turn.start)
    for row, move in enumerate(scenario.switch_moves):
        if move.at >= scenario.end:
            yield Outside("switch_moves", row, "at", "This move", move.at)
    for row, hand in enumerate(scenario.hand_windows):
        if not _holds(scenario, hand.window):
            yield Outside("hand_windows", row, "window.start", "This stretch", hand.window.start)


def _holds(scenario: Scenario, window: Window) -> bool:
    return window.start < scenario.end and window.end > scenario.start


def lasts_words(scenario: Scenario) -> str:
    """From when to when a run lasts, with its year."""
    return f"from {dated(scenario.start)} to {dated(scenario.end)}"


def dated(at: datetime) -> str:
    """A moment with its year, for what may be entered in a wrong one.

    >>> dated(datetime(2027, 9, 20, 9))
    'Mon 20 Sep 2027 09:00'
    """
    return f"{at:%a} {at.day} {at:%b} {at.year} {at:%H:%M}"


def not_run_words(scenario: Scenario) -> str:
    """The answer where no minute of any outage was run; empty where one was, or none is entered."""
    never = never_run(scenario)
    if not never or len(never) < len(scenario.outages):
        return ""
    which = "the outage" if len(never) == 1 else "any outage"
    return (
        f"Not run: no minute of {which} of this scenario, from {dated(never[0].start)}, lies in "
        f"its run, which lasts {lasts_words(scenario)}."
    )


def partly_run_words(scenario: Scenario) -> str:
    """What holding leaves open where some of several outages were not run; or empty."""
    never = never_run(scenario)
    if not never or len(never) == len(scenario.outages):
        return ""
    more = f" and {len(never) - 1} more" if len(never) > 1 else ""
    lie = "lie" if more else "lies"
    return (
        f"the outage of {dated(never[0].start)}{more} {lie} outside the run and was not worked out"
    )
