"""Hermetic compressors (Article 440): the breaker against the plate, or against the amps."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.rules.checks.drawn import nameplate_a
from server.rules.checks.made import made
from server.rules.demand.circuit_loads import category_of, kind_row
from server.rules.editions import Rulebook
from server.rules.ocpd import (
    next_standard_a,
    smallest_breaker_a,
    standard_at_most_a,
    standard_ratings_a,
)
from server.rules.words import amps, listed, percent

COOLING = ("cooling", "heat_pump")
WITHIN_A = 0.5
"""Amps of a plate are read to the nearest whole one."""
ROOM_COOLING = ("room-air", "room-air-large")
ALIKE = 0.9
"""A unit's watts at its rating may be so much of what its plate is made for (common practice, no
source)."""


def is_hermetic(appliance: Appliance) -> bool:
    """Whether an appliance holds a motor-compressor, which is not sized as a plain motor."""
    row = kind_row(appliance.kind) or {}
    return bool(row.get("hermetic")) or category_of(appliance) in COOLING


def cooling_checks(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """The breaker of a compressor unit's circuit (two stages may share it).

    With the plate entered its two figures govern; without, the breaker is held to the most that
    could ever be permitted, and the plate is asked for.
    """
    units = [a for a in circuit.appliances if is_hermetic(a)]
    exchanged = [u for u in units if _exchanged(u)]
    for unit in exchanged:
        yield from _plate_doubted(circuit, unit, between_v, rules)
    if not units or exchanged or _plugs_in(circuit, units):
        return
    most = [u for u in units if u.max_device_a is not None]
    least = [u for u in units if u.min_circuit_a is not None]
    large: list[Finding] = []
    if most:
        yield from _above_plate(circuit, min(most, key=lambda u: u.max_device_a or 0.0), rules)
    elif len(units) == len(circuit.appliances):
        large += _above_share(
            circuit, max(units, key=lambda u: nameplate_a(u, between_v)), between_v, rules
        )
    if least:
        yield from _below_plate(circuit, max(least, key=lambda u: u.min_circuit_a or 0.0), rules)
    yield from large
    for unit in units:
        yield from _plate_doubted(circuit, unit, between_v, rules)
    if not large and not (most and least):
        yield _plate_asked(circuit, units[0], rules)


def _exchanged(unit: Appliance) -> bool:
    """Whether the larger figure of a plate stands where its smaller one belongs."""
    least, most = unit.min_circuit_a, unit.max_device_a
    return least is not None and most is not None and most < least


def _plugs_in(circuit: Circuit, units: list[Appliance]) -> bool:
    """A room unit on a cord follows its plug, not a circuit of its own (440 Part VII)."""
    corded = all(u.kind in ROOM_COOLING for u in units)
    return corded or (circuit.poles == 1 and all(category_of(u) in COOLING for u in units))


def _above_plate(circuit: Circuit, unit: Appliance, rules: Rulebook) -> Iterator[Finding]:
    most = unit.max_device_a or 0.0
    if circuit.breaker_a <= most:
        return
    advised = None
    smallest = smallest_breaker_a(rules.edition)
    mend = (
        f"No breaker that its plate allows is of a standard rating, {smallest:g} A the smallest: "
        "read the plate again. If it does say so, fuses no larger than that protect it."
    )
    if most >= standard_ratings_a()[0]:
        advised = Advised("breaker", amps=standard_at_most_a(most))
        mend = f"Use a breaker of {advised}."
    elif (unit.min_circuit_a or 0.0) <= smallest <= most:
        advised = Advised("breaker", amps=smallest)
        mend = f"Use a breaker of {advised}, if one is made for its panel."
    yield made(
        "cooling-device-large",
        "warning",
        circuit.id,
        text=f"The plate of {unit.name} allows a breaker of {amps(most)} at most; it has "
        f"{circuit.breaker_a:g} A.",
        mend=mend,
        figure=rules.figure("cooling_plate_device"),
        value=circuit.breaker_a,
        limit=most,
        unit="A",
        advised=advised,
    )


def _below_plate(circuit: Circuit, unit: Appliance, rules: Rulebook) -> Iterator[Finding]:
    least = unit.min_circuit_a or 0.0
    if circuit.breaker_a >= least:
        return
    advised = Advised("breaker", amps=next_standard_a(least))
    yield made(
        "cooling-device-small",
        "warning",
        circuit.id,
        text=f"The plate of {unit.name} asks for a circuit of {amps(least)} or more; its breaker "
        f"is {circuit.breaker_a:g} A.",
        mend=f"Use a breaker of {advised} or more, up to the most its plate "
        "allows, with wire for it.",
        figure=rules.figure("cooling_plate_wire"),
        value=circuit.breaker_a,
        limit=least,
        unit="A",
        advised=advised,
    )


def _above_share(
    circuit: Circuit, unit: Appliance, between_v: float, rules: Rulebook
) -> Iterator[Finding]:
    figure = rules.figure("cooling_device_factor_start")
    drawn = nameplate_a(unit, between_v)
    if circuit.breaker_a <= max(standard_ratings_a()[0], figure.value * drawn):
        return
    yield made(
        "cooling-device-large",
        "note",
        circuit.id,
        text=f"{unit.name} draws {drawn:.1f} A; its breaker of {circuit.breaker_a:g} A is above "
        f"{percent(figure.value)} of that, which only its plate can allow.",
        mend="Read the maximum overcurrent device (MOCP) on its plate, enter it, and use that, "
        "rounded down to a standard size.",
        figure=figure,
        value=circuit.breaker_a,
        limit=figure.value * drawn,
        unit="A",
    )


def _plate_doubted(
    circuit: Circuit, unit: Appliance, between_v: float, rules: Rulebook
) -> Iterator[Finding]:
    """Figures of a plate that no unit has: far from its own amps, or a device far above them.

    The least ampacity is 1.25 times the largest motor and the rest once (440.33), so that a unit
    draws no less than it over 1.25. Where the two look exchanged, that alone is asked: neither
    breaker nor wire can be judged.
    """
    least, most = unit.min_circuit_a, unit.max_device_a
    drawn = nameplate_a(unit, between_v)
    start = rules.figure("cooling_device_factor_start")
    largest = start.value * max(drawn, least or 0.0)
    words = []
    if least is not None and least < drawn - WITHIN_A:
        words.append(
            f"a minimum circuit ampacity (MCA) of {amps(least)}, less than the {drawn:.1f} A it "
            "draws by its watts"
        )
    factor = rules.figure("cooling_circuit_factor").value
    made_for_a = (least or 0.0) / factor
    below = not _exchanged(unit) and drawn < ALIKE * made_for_a - WITHIN_A
    if below:
        words.append(
            f"a minimum circuit ampacity (MCA) of {amps(least or 0.0)}, which is of no less than "
            f"{made_for_a:.1f} A, and with watts of {drawn:.1f} A, which its demand is counted by"
        )
    above = most is not None and most > max(largest, standard_ratings_a()[0])
    if above:
        words.append(
            f"a largest device (MOCP) of {amps(most or 0.0)}, above {percent(start.value)} of what "
            "it draws"
        )
    swapped = _exchanged(unit)
    if swapped:
        above = False
        words = [
            f"a minimum circuit ampacity (MCA) of {amps(least or 0.0)} and a largest device (MOCP) "
            f"of {amps(most or 0.0)}, as if the two were exchanged"
        ]
    if not words:
        return
    yield made(
        "cooling-plate-asked",
        "warning" if above or swapped else "note",
        circuit.id,
        text=f"{unit.name} is entered with {listed(words)}. No plate and unit agree on that.",
        mend="Is the smaller of the two its MCA? Read the plate again and enter each in its place: "
        "until then its breaker is not judged by them."
        if swapped
        else "Read the plate again, and its watts: demand, wire and breaker are judged by them.",
        figure=start if above else rules.figure("cooling_circuit_factor"),
    )


def _plate_asked(circuit: Circuit, unit: Appliance, rules: Rulebook) -> Finding:
    return made(
        "cooling-plate-asked",
        "note",
        circuit.id,
        text=f"{unit.name} has a plate with a minimum circuit ampacity (MCA) and a maximum "
        "overcurrent device (MOCP). They govern its wire and breaker, and are not both entered.",
        mend="Read both from the plate and enter them on the appliance’s page.",
        figure=rules.figure("cooling_circuit_factor"),
    )
