"""The wire at a branch breaker, where it was read: protected, and large enough for its load."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.errors import InputError
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.cooling import is_hermetic, nameplate_a
from server.rules.checks.made import made
from server.rules.checks.motors import full_load_a
from server.rules.checks.protection import PLUGS_AND_LIGHTS
from server.rules.demand.circuit_loads import category_of
from server.rules.editions import Rulebook
from server.rules.ocpd import largest_device_a, small_conductor_limit_a
from server.rules.tables import Column, conductor
from server.rules.wiring.ampacity import as_column
from server.rules.words import a_rating, amps, listed

MOST_NAMES = 6


def branch_wire_checks(
    site: Site, needed_a: dict[str, float], rules: Rulebook
) -> Iterator[Finding]:
    """Findings about branch wire.

    ``needed_a`` is what each circuit's load asks of its wire. [A]
    """
    for circuit in site.circuits:
        if circuit.wire_size is not None:
            try:
                yield from _one(circuit, needed_a.get(circuit.id, 0.0), rules)
            except InputError as error:
                yield _not_in_table(circuit, str(error), rules)
    yield from _unknown(site, rules)


def _one(circuit: Circuit, needed_a: float, rules: Rulebook) -> Iterator[Finding]:
    low = as_column(rules.value("terminal_low_c"))
    high = as_column(rules.value("terminal_high_c"))
    wire = f"{circuit.wire_size} {circuit.wire_metal}"
    carried = {column: _ampacity(circuit, column) for column in (low, high)}
    if not _has_own_device_rule(circuit):
        most = {column: _most_device(circuit, carried[column], rules) for column in (low, high)}
        if circuit.breaker_a > most[low]:
            yield _above_wire(circuit, most, (low, high), needed_a, rules)
    needed = max(needed_a, _of_its_own_rule_a(circuit, rules))
    small = None
    if not _has_own_device_rule(circuit):
        small = small_conductor_limit_a(circuit.wire_size or "", circuit.wire_metal)
    if small is not None and small < needed - 1e-9:
        yield made(
            "branch-wire-small",
            "warning",
            circuit.id,
            text=f"{circuit.name} asks for {amps(needed)}; its wire, {wire}, may stand behind "
            f"{small:g} A at most, whatever its terminals are marked.",
            mend=f"Run wire that carries {amps(needed)}, or put less on it.",
            figure=rules.figure("branch_wire"),
            value=small,
            limit=needed,
            unit="A",
        )
    elif carried[low] < needed - 1e-9:
        enough = carried[high] >= needed - 1e-9
        yield made(
            "branch-wire-small",
            "note" if enough else "warning",
            circuit.id,
            text=f"The wire of {circuit.name}, {wire}, carries {amps(carried[low])} with common "
            f"cable and terminals; its load asks for {amps(needed)}.",
            mend=f"It is enough where cable and terminals are marked {high} °C: read both."
            if enough
            else f"Run wire that carries {amps(needed)}, or put less on it.",
            figure=rules.figure("branch_wire"),
            value=carried[low],
            limit=needed,
            unit="A",
        )


def _of_its_own_rule_a(circuit: Circuit, rules: Rulebook) -> float:
    """What a plate, a compressor or a motor asks of its wire, 0 where there is none. [A]"""
    asked = [a.min_circuit_a or 0.0 for a in circuit.appliances]
    for a in circuit.appliances:
        if a.min_circuit_a is None and is_hermetic(a):
            asked.append(rules.value("cooling_circuit_factor") * nameplate_a(a))
        elif a.min_circuit_a is None and a.horsepower is not None:
            drawn = full_load_a(a.horsepower, a.volts) or nameplate_a(a)
            asked.append(rules.value("motor_conductor_factor") * drawn)
    return max(asked, default=0.0)


def _above_wire(
    circuit: Circuit,
    most: dict[Column, float],
    columns: tuple[Column, Column],
    needed_a: float,
    rules: Rulebook,
) -> Finding:
    low, high = columns
    wire = f"{circuit.wire_size} {circuit.wire_metal}"
    enough = circuit.breaker_a <= most[high]
    marked = f"where cable and terminals are marked {high} °C"
    more = f", {most[high]:g} A {marked}" if most[high] > most[low] else ""
    if needed_a > most[high]:
        mend = f"Run larger wire: its load asks for {amps(needed_a)}."
    elif needed_a > most[low]:
        mend = f"Run larger wire, or use a breaker of {most[high]:g} A {marked}."
    else:
        mend = f"Use a breaker of {most[low]:g} A{more}, or run larger wire."
    return made(
        "breaker-above-wire",
        "note" if enough else "blocking",
        circuit.id,
        text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker on {wire} wire; "
        f"{most[low]:g} A is the most that protects it{more}.",
        mend=f"It may stand {marked}: read both." if enough else mend,
        figure=rules.figure("branch_wire_protection"),
        value=circuit.breaker_a,
        limit=most[low],
        unit="A",
    )


def _ampacity(circuit: Circuit, column: Column) -> float:
    return conductor(circuit.wire_size or "").ampere(circuit.wire_metal, column)


def _most_device(circuit: Circuit, ampacity_a: float, rules: Rulebook) -> float:
    plugs = circuit.poles == 1 and any(
        category_of(a) in PLUGS_AND_LIGHTS for a in circuit.appliances
    )
    return largest_device_a(
        ampacity_a=ampacity_a,
        size=circuit.wire_size or "",
        metal=circuit.wire_metal,
        receptacles=plugs and circuit.poles == 1,
        rules=rules,
    )


def _has_own_device_rule(circuit: Circuit) -> bool:
    """A single motor or compressor may stand behind a device above its wire (240.4(G))."""
    alone = len(circuit.appliances) == 1
    motor = alone and circuit.appliances[0].horsepower is not None
    return motor or (bool(circuit.appliances) and all(map(is_hermetic, circuit.appliances)))


def _not_in_table(circuit: Circuit, why: str, rules: Rulebook) -> Finding:
    return made(
        "branch-wire-small",
        "note",
        circuit.id,
        text=f"The wire of {circuit.name} cannot be checked. {why}",
        mend="Read its size and metal again.",
        figure=rules.figure("branch_wire"),
    )


def _unknown(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Once for a site: which branch wires were not read."""
    unread = [c.name for c in site.circuits if c.wire_size is None]
    if not unread:
        return
    most = unread[:MOST_NAMES]
    others = len(unread) - len(most)
    names = listed([*most, f"{others} more"] if others else most)
    yield made(
        "branch-wire-unknown",
        "note",
        "",
        text=f"The wire at these breakers was not read, so it is not checked: {names}. A breaker "
        "that fits its load can still be too large for its wire.",
        mend="Have the wire at each breaker read, and enter it on the circuit’s page, before a "
        "breaker is made larger or a circuit is moved.",
        figure=rules.figure("branch_wire"),
    )
