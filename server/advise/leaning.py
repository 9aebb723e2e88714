"""What the answer of a run hangs on: each guess behind it, with how much of a limit it is.

Weights compare unlike things on one scale: how full the thing is that the guess bears on (amps of
a limit, dip of what contactors bear, fuel of what is there), times the guess's share of it. Common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.advise.advice import advice_on
from server.advise.starts import ASSUMED_REACTANCE_PU, DIP_OVER, SetStarts
from server.domain.lengths import span_words
from server.simulate.harms import harms
from server.simulate.results import LimitResult, Run
from server.simulate.summary import who_at_peak

LIMITS = 8
"""How many of the nearest limits are asked who fills them."""
LEAST = 0.03
"""A guess that is less than this of a limit is not worth naming."""


@dataclass(frozen=True)
class Leaning:
    """A guess that a run leans on: the part it is of, how much and why.

    ``name`` with ``value``, ``unit``, ``where`` and ``field`` are set where the guess is not the
    part's own main figure but another one, such as how it starts.
    """

    part_id: str
    weight: float
    why: str
    name: str = ""
    value: float | None = None
    unit: str = ""
    where: str = ""
    field: str = ""
    circuit_id: str | None = None


def leanings(run: Run) -> tuple[Leaning, ...]:
    """What a run leans on, most first; each figure once, where it weighs most."""
    found = [*_starts(run), *_fuel(run), *_limits(run), *_rooms(run)]
    best: dict[tuple[str, str], Leaning] = {}
    for one in found:
        key = (one.part_id, one.name)
        if key not in best or one.weight > best[key].weight:
            best[key] = one
    return tuple(sorted(best.values(), key=lambda one: -one.weight))


def _limits(run: Run) -> Iterator[Leaning]:
    """Ratings of the nearest limits, and what fills them in their worst minute."""
    guessed = {
        a.id: a for c in run.site.circuits for a in c.appliances if a.figure_source == "guess"
    }
    shared = [r for r in run.limits if r.point.kind not in {"circuit_breaker", "feeder_neutral"}]
    shared.sort(key=lambda r: -r.worst.percent)
    for result in shared[:LIMITS]:
        full = result.worst.percent / 100.0
        if full <= 0.0:
            continue
        yield Leaning(result.point.element_id, full, _filled(result))
        for who in who_at_peak(run, result.point, result.worst):
            share = who.amps_a / result.point.leg_rating_a
            if who.appliance_id in guessed and share >= LEAST:
                yield Leaning(
                    who.appliance_id,
                    share * min(1.0, full),
                    f"{who.amps_a:.1f} of the {result.worst.peak_a:.1f} A at {result.point.name}, "
                    f"whose limit is {result.point.leg_rating_a:.1f} A.",
                )


def _filled(result: LimitResult) -> str:
    return f"{'Its limit is passed' if result.status == 'over' else 'The most it carries'}: " + (
        f"{result.worst.peak_a:.1f} A of {result.point.leg_rating_a:.1f} A."
    )


def _starts(run: Run) -> Iterator[Leaning]:
    """How motors start and how stiff the set is, where the hardest start dips most."""
    for one in advice_on(run).starts:
        worst = one.worst
        if worst is None or one.generator.start_kva_limit is not None:
            continue
        weight = worst.dip / DIP_OVER
        why = (
            f"The volts dip {100.0 * worst.dip:.0f} % when {_named(one)} starts; past "
            f"{100.0 * DIP_OVER:.0f} % running motors may stop, their relays dropping out."
        )
        if one.generator.reactance_pu is None:
            yield Leaning(
                one.generator.id,
                weight,
                why,
                name=f"How far {one.name} sags when a motor starts (its transient reactance)",
                value=ASSUMED_REACTANCE_PU,
                unit="per unit",
                field="reactance_pu",
                where="Its maker or dealer, or its data sheet: the largest motor it starts, in "
                "kVA, or the transient reactance X′d.",
            )
        for motor in worst.motors:
            if motor.guess:
                share = motor.winding_kva / worst.winding_kva
                yield Leaning(
                    motor.appliance.id,
                    weight * share,
                    why,
                    name=f"Start of {motor.name}",
                    value=round(motor.kva, 1),
                    unit="kVA",
                    where="Its nameplate: locked-rotor amps (LRA), or horsepower and code letter.",
                    circuit_id=motor.circuit.id,
                )


def _named(one: SetStarts) -> str:
    worst = one.worst
    if worst is None:
        return ""
    first = max(worst.motors, key=lambda m: m.winding_kva).name
    more = len(worst.motors) - 1
    return f"{first} with {more} more" if more else first


def _fuel(run: Run) -> Iterator[Leaning]:
    """What a set burns, where that was not read, and how near it comes to what is there."""
    for need in run.fuel:
        generator = next(g for g in run.site.generators if g.id == need.generator_id)
        if not need.guess or need.there_gal <= 0.0:
            continue
        yield Leaning(
            generator.id,
            need.used_gal / need.there_gal,
            f"It would burn {need.needs}, and {need.there_gal:.0f} gal are there.",
            name=f"What {generator.name} burns",
            where="Its data sheet: fuel an hour at three loads or more.",
        )


def _rooms(run: Run) -> Iterator[Leaning]:
    """Heat loss of a room whose warmth is lost within the run."""
    for harm in harms(run):
        if harm.kind in {"room_cold", "room_hot", "pipes"} and harm.hours is not None:
            yield Leaning(
                harm.element_id, 0.5, f"{harm.what} after {span_words(60.0 * harm.hours)}."
            )
