"""What may not draw from a set at once: what people start, and what begins by itself."""

from __future__ import annotations

from server.advise.plan_ahead import named

BEGINS_ALONE = frozenset({"room", "tank", "cold_box", "well", "sump", "cycle", "tub", "charger"})
"""Models of what a thermostat, a float or a car begins: nobody can take turns with it."""


def in_turns(
    set_name: str, stays: list[str], turns: list[str], alone: frozenset[str], *, passed: bool
) -> str:
    """How the circuits of ``turns`` take turns on a set, beside those that stay on.

    What people start is run one at a time. What begins by itself, the names of ``alone``, stays on
    where the run has it on and holds; where a limit is ``passed`` it takes turns by its breaker.

    >>> in_turns("Set", [], ["Range", "Dryer"], frozenset(), passed=True)
    'What else is on comes on top of these, so run only one of them at a time on Set: Range, Dryer.'
    """
    beside = f" beside {named(stays)}" if stays else ""
    people = [name for name in turns if name not in alone]
    themselves = [name for name in turns if name in alone]
    one = len(themselves) == 1
    this, them = ("this begins by itself", "it") if one else ("these begin by themselves", "them")
    if not passed:
        return _at_other_hours(set_name, beside, people, themselves, this)
    head = "What else is on comes on top of these, so "
    one_of = f"{head}run only one of them at a time on {set_name}{beside}: {named(people)}."
    if not themselves:
        return one_of
    open_them = "open its breaker and close it" if one else "open their breakers and close one"
    breakers = (
        f"{named(themselves)}: {this}, so {open_them} only while nothing else of this list "
        f"runs; this run has {them if one else 'them all'} on, and passes a limit"
    )
    if not people:
        return f"{head}only one of them may be on at a time on {set_name}{beside}. {breakers}."
    return f"{one_of} {breakers}."


def _at_other_hours(
    set_name: str, beside: str, people: list[str], themselves: list[str], this: str
) -> str:
    """What is run apart at other hours than a run has that holds; its breakers stay closed."""
    head = "What else is on comes on top of these"
    them = "it" if len(themselves) == 1 else "them"
    stay = f"{named(themselves)}: {this}, and this run leaves {them} on"
    if not people:
        return (
            f"{head}. {stay} and passes no limit. Where they come on together all the same and "
            f"{set_name} labours, switch one off until the others have stopped."
        )
    words = (
        f"{head}, so at other hours than this run has, run only one of them at a time on "
        f"{set_name}{beside}: {named(people)}."
    )
    if not themselves:
        return words
    it = "it" if len(themselves) == 1 else "one of them"
    return f"{words} {stay}: start nothing else of this list at other hours while {it} runs."
