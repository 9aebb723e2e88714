"""Motors on a circuit of their own, one or several (Article 430)."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.rules.checks.cooling import is_hermetic
from server.rules.checks.drawn import full_load_a, nameplate_a
from server.rules.checks.made import made
from server.rules.cords import on_a_cord
from server.rules.editions import Rulebook
from server.rules.motor_table import horsepower_words, largest_hp
from server.rules.ocpd import next_standard_a, standard_at_most_a, standard_ratings_a
from server.rules.words import listed


def usual_motor_device_a(full_load: float, rules: Rulebook) -> float:
    """The breaker of a motor that needs no larger one to start. [A]

    >>> from server.rules.editions import rulebook
    >>> usual_motor_device_a(8.0, rulebook("2023"))
    20.0
    """
    largest = standard_ratings_a()[-1]
    return next_standard_a(min(rules.value("motor_device_factor") * full_load, largest))


def motor_checks(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """A single motor's breaker is at most 250 % of its table amps, the next size up allowed.

    A motor larger than the table has is asked for the amps of its plate.
    """
    yield from _past_table(circuit, between_v, rules)
    if len(circuit.appliances) != 1:
        yield from _several(circuit, between_v, rules)
        return
    motor = circuit.appliances[0]
    if motor.horsepower is None or is_hermetic(motor):
        return
    full_load = full_load_a(motor, between_v)
    if full_load is None:
        return
    figure = rules.figure("motor_device_factor")
    usual = usual_motor_device_a(full_load, rules)
    smallest = standard_ratings_a()[0]
    large = full_load > rules.value("motor_device_large_a")
    start = rules.value("motor_device_factor_start_large" if large else "motor_device_factor_start")
    most = max(usual, standard_at_most_a(max(start * full_load, smallest)))
    if circuit.breaker_a <= max(usual, smallest):
        return
    over = circuit.breaker_a > most
    advised = Advised("breaker", amps=usual)
    yield made(
        "motor-device-large",
        "warning" if over else "note",
        circuit.id,
        text=f"{motor.name} draws {round(full_load, 2):g} A by the table; its breaker of "
        f"{circuit.breaker_a:g} A is above {usual:g} A{_most_words(most, usual, over=over)}.",
        mend=f"Use a breaker of {advised}"
        + ("." if over else f"; up to {most:g} A only where it will not start on less."),
        figure=figure,
        value=circuit.breaker_a,
        limit=most if over else usual,
        unit="A",
        advised=advised,
    )


def _past_table(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """Motors of one phase above the last row of Table 430.248: their watts alone tell amps."""
    figure = rules.figure("motor_by_table")
    for motor in circuit.appliances:
        if (motor.horsepower or 0.0) <= largest_hp() or is_hermetic(motor):
            continue
        yield made(
            "motor-past-table",
            "warning",
            circuit.id,
            text=f"{motor.name} is entered with {horsepower_words(motor.horsepower or 0.0)} hp; "
            f"Table 430.248 for one phase ends at {largest_hp():g} hp. Its wire, breaker and "
            f"demand go by its watts alone, {nameplate_a(motor, between_v):.1f} A.",
            mend="Read the full-load amps on its plate, and whether it has three phases. Enter as "
            "its watts those amps times its volts times its power factor.",
            figure=figure,
        )


def _most_words(most_a: float, usual_a: float, *, over: bool) -> str:
    """That a breaker is past the most for a hard start too, which may be no more than the usual."""
    if not over:
        return ""
    if most_a == usual_a:
        return ", the most there is for a hard start too"
    return f" and above {most_a:g} A, the most there is for a hard start"


def _several(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """Motors that share a breaker: that of the largest, and the amps of the others beside it."""
    motors = circuit.appliances
    if any(a.horsepower is None or is_hermetic(a) or on_a_cord(a.kind) for a in motors):
        return
    known = [a for a in (full_load_a(m, between_v) for m in motors) if a is not None]
    if len(known) < max(len(motors), 2):
        return
    largest_a = max(known)
    together_a = usual_motor_device_a(largest_a, rules) + sum(known) - largest_a
    most_a = standard_at_most_a(min(together_a, standard_ratings_a()[-1]))
    if circuit.breaker_a <= most_a:
        return
    advised = Advised("breaker", amps=most_a)
    yield made(
        "motor-device-large",
        "warning",
        circuit.id,
        text=f"{listed([m.name for m in motors])} share a breaker of {circuit.breaker_a:g} A; the "
        f"most is that of the largest alone with the amps of the others, {together_a:g} A.",
        mend=f"Use a breaker of {advised} or less, or give each its own.",
        figure=rules.figure("several_motors_device"),
        value=circuit.breaker_a,
        limit=most_a,
        unit="A",
        advised=advised,
    )
