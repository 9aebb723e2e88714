"""The wire of a welder alone on its circuit (Article 630): by its duty cycle."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.words import a_rating, amps, percent

WELDERS = ("welder",)


def is_welder(circuit: Circuit) -> bool:
    """Whether a welder is alone on a circuit."""
    return len(circuit.appliances) == 1 and circuit.appliances[0].kind in WELDERS


def welder_checks(circuit: Circuit, carried_a: float, rules: Rulebook) -> Iterator[Finding]:
    """A breaker above twice the wire's ampacity; below that the plate is asked for.

    ``carried_a`` is what the wire carries at common terminals. [A]
    """
    figure = rules.figure("welder_wire_device_factor")
    wire = f"{circuit.wire_size} {circuit.wire_metal}"
    most_a = figure.value * carried_a
    if circuit.breaker_a > most_a:
        yield made(
            "breaker-above-wire",
            "blocking",
            circuit.id,
            text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker on {wire} wire; a "
            f"welder’s may be {percent(figure.value)} of its wire’s {amps(carried_a)} at most.",
            mend=f"Use a breaker of {most_a:g} A or less, or run larger wire.",
            figure=figure,
            value=circuit.breaker_a,
            limit=most_a,
            unit="A",
        )
    elif circuit.breaker_a > carried_a:
        (welder,) = circuit.appliances
        yield made(
            "welder-plate-asked",
            "note",
            circuit.id,
            text=f"The wire of {circuit.name}, {wire}, carries {amps(carried_a)}. For a welder it "
            "goes by the duty cycle, and may then stand behind a larger breaker.",
            mend=f"Read the effective amps (I1eff) on the plate of {welder.name}: the wire must "
            "carry them. Outlets and whatever else may be plugged in there do not have that rule.",
            figure=rules.figure("welder_wire"),
        )
