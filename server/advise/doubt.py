"""A start that a set may not manage, said beside a run's answer."""

from __future__ import annotations

from server.advise.plan_task import joined
from server.advise.starts import DIP_OVER, Motor, SetStarts, Start
from server.domain.scenario import Scenario
from server.domain.text import listed
from server.simulate.given_up import given_up

_NAMED = 3


def start_doubt(found: tuple[SetStarts, ...]) -> str:
    """The hardest start that puts a run's answer in doubt, in a sentence; empty where none does.

    Where that is several at once, the motor that alone is too hard stands beside it, a must-serve
    one first.
    """
    worst = doubtful_start(found)
    if worst is None:
        return ""
    one, start = worst
    together = ", starting together," if len(start.motors) > 1 else ""
    first = _alone(one, start)
    alone = "" if first is None else f" {first.names} alone still dips {100.0 * first.dip:.0f} %."
    return (
        f"{_names(start)}{together} may not start on {one.name}: the volts dip "
        f"{100.0 * start.dip:.0f} %, and {_bears(one)}.{alone}"
        f"{_guesses(one, start, (first or start).motors)}"
    )


def _guesses(one: SetStarts, start: Start, motors: tuple[Motor, ...]) -> str:
    """What the dip stands on that is a guess, in a sentence, each motor named once at the most."""
    guessed = [m.name for m in motors if m.guess]
    figures = f"the starting figure{'s' if len(guessed) > 1 else ''}"
    if len(start.motors) == 1:
        what = "its starting figure"
    elif len(guessed) > 1 and len(guessed) == len(motors):
        what = f"{figures} of {'both' if len(motors) == 2 else f'all {len(motors)}'}"
    else:
        what = f"{figures} of {joined(guessed)}"
    told = [what] * bool(guessed) + ["the set’s reactance"] * (one.generator.reactance_pu is None)
    if not told:
        return ""
    said = joined(told)
    several = len(told) > 1 or len(guessed) > 1
    return f" {said[:1].upper()}{said[1:]} {'are' if several else 'is'} a guess."


def doubtful_start(found: tuple[SetStarts, ...]) -> tuple[SetStarts, Start] | None:
    """The set and the start with the deepest dip of those it cannot bear; None where all hold."""
    doubtful = [(one, s) for one in found for s in one.starts if _is_doubtful(s)]
    return max(doubtful, key=lambda pair: pair[1].dip, default=None)


def starts_surely_past(found: tuple[SetStarts, ...], scenario: Scenario) -> tuple[str, ...]:
    """Single motors that surely ask more than the maker names as the most a set starts, in words.

    Its own kVA by its locked-rotor amps, not doubled for half a winding, and no guess; on a circuit
    that the user has not given up. Motors that meet, and dips by a reactance, stay in doubt: those
    hang on moments and guesses.
    """
    said = []
    for one in found:
        limit = one.generator.start_kva_limit
        for start in one.starts:
            motor = start.motors[0]
            known = motor.appliance.locked_rotor_a is not None and not motor.guess
            if limit is None or start.kind != "alone" or not known or motor.kva <= limit:
                continue
            if not given_up(motor.circuit, scenario):
                said.append(
                    f"{motor.name} asks {motor.kva:.1f} kVA as it starts ({motor.basis}); the "
                    f"maker of {one.name} names {limit:g} kVA as the most it starts. This run "
                    "goes on as if it had started."
                )
    return tuple(said)


def _alone(one: SetStarts, start: Start) -> Start | None:
    """The motor that is too hard even by itself, where the start told is of several."""
    if len(start.motors) < 2:
        return None
    alone = (s for s in one.starts if s.kind == "alone" and _is_doubtful(s))
    return min(alone, key=_rank, default=None)


def _names(start: Start) -> str:
    """The motors in words, the largest few by name."""
    ordered = sorted(start.motors, key=lambda m: -m.winding_kva)
    more = len(ordered) - _NAMED
    names = [m.name for m in ordered[:_NAMED]]
    return listed([*names, f"{more} more"]) if more > 0 else ", ".join(names)


def _is_doubtful(start: Start) -> bool:
    return start.status == "over" and start.kind != "pair"


def _rank(start: Start) -> tuple[bool, float]:
    must_serve = any(m.circuit.load_class == "must_serve" for m in start.motors)
    return not must_serve, -start.dip


def _bears(one: SetStarts) -> str:
    limit = one.generator.start_kva_limit
    if limit is not None:
        return f"its maker names {limit:g} kVA as the most it starts"
    return f"past {100.0 * DIP_OVER:.0f} % running motors may stop, their relays dropping out"
