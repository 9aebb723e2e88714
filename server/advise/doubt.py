"""A start that a set may not manage, said beside a run's answer."""

from __future__ import annotations

from server.advise.starts import DIP_OVER, SetStarts, Start

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
    guesses = ["its starting figure"] * any(m.guess for m in start.motors)
    guesses += ["the set’s reactance"] * (one.generator.reactance_pu is None)
    tail = f" {' and '.join(guesses).capitalize()} {'are' if len(guesses) > 1 else 'is'} a guess."
    alone = _alone(one, start)
    return (
        f"{_names(start)}{together} may not start on {one.name}: the volts dip "
        f"{100.0 * start.dip:.0f} %, and {_bears(one)}.{alone}{tail if guesses else ''}"
    )


def doubtful_start(found: tuple[SetStarts, ...]) -> tuple[SetStarts, Start] | None:
    """The set and the start with the deepest dip of those it cannot bear; None where all hold."""
    doubtful = [(one, s) for one in found for s in one.starts if _is_doubtful(s)]
    return max(doubtful, key=lambda pair: pair[1].dip, default=None)


def _alone(one: SetStarts, start: Start) -> str:
    """The motor that is too hard even by itself, where the start told is of several."""
    if len(start.motors) < 2:
        return ""
    alone = [s for s in one.starts if s.kind == "alone" and _is_doubtful(s)]
    if not alone:
        return ""
    first = min(alone, key=_rank)
    return f" {first.names} alone still dips {100.0 * first.dip:.0f} %."


def _names(start: Start) -> str:
    """The motors in words, the largest few by name."""
    ordered = sorted(start.motors, key=lambda m: -m.winding_kva)
    more = len(ordered) - _NAMED
    named = ", ".join(m.name for m in ordered[:_NAMED])
    return f"{named} and {more} more" if more > 0 else named


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
