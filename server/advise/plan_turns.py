"""What may not draw from a set at once: what people start, and what begins by itself."""

from __future__ import annotations

from server.advise.plan_ahead import named

BEGINS_ALONE = frozenset({"room", "tank", "cold_box", "well", "sump", "cycle", "tub", "charger"})
"""Models of what a thermostat, a float or a car begins: nobody can take turns with it."""


def in_turns(set_name: str, stays: list[str], turns: list[str], alone: frozenset[str]) -> str:
    """How the circuits of ``turns`` take turns on a set, beside those that stay on.

    What people start is run one at a time. What begins by itself, the names of ``alone``, takes
    turns by its breaker alone.

    >>> in_turns("Set", [], ["Range", "Dryer"], frozenset())
    'What else is on comes on top of these, so run only one of them at a time on Set: Range, Dryer.'
    """
    beside = f" beside {named(stays)}" if stays else ""
    people = [name for name in turns if name not in alone]
    themselves = [name for name in turns if name in alone]
    head = "What else is on comes on top of these, so "
    if not themselves:
        return f"{head}run only one of them at a time on {set_name}{beside}: {named(people)}."
    one = len(themselves) == 1
    open_them = (
        "this begins by itself, so open its breaker and close it"
        if one
        else "these begin by themselves, so open their breakers and close one"
    )
    breakers = (
        f"{named(themselves)}: {open_them} only while nothing else of this list runs; this run has "
        f"{'it' if one else 'them all'} on"
    )
    if not people:
        return f"{head}only one of them may be on at a time on {set_name}{beside}. {breakers}."
    return (
        f"{head}run only one of them at a time on {set_name}{beside}: {named(people)}. {breakers}."
    )
