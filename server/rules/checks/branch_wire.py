"""The wire at a branch breaker, where it was read: protected, and large enough for its load."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from server.domain.circuit import Circuit
from server.domain.errors import InputError
from server.domain.finding import Advised, Finding, Severity
from server.domain.site import Site
from server.rules.checks.aluminum import aluminum_checks
from server.rules.checks.asked import asked_a, short_of
from server.rules.checks.branch_device import past_its_most
from server.rules.checks.cooling import is_hermetic
from server.rules.checks.drawn import between_legs_v, full_load_a, nameplate_a
from server.rules.checks.made import made
from server.rules.checks.plugs import needs_own_circuit
from server.rules.checks.protection import PLUGS_AND_LIGHTS
from server.rules.checks.range_load import left_by_note_3_kw, smaller_by_note_3
from server.rules.checks.welders import is_welder, welder_checks
from server.rules.cords import on_a_cord
from server.rules.demand.circuit_loads import category_of
from server.rules.editions import Figure, Rulebook
from server.rules.ocpd import largest_device_a, small_conductor_limit_a
from server.rules.tables import Column, conductor, conductors
from server.rules.wiring.ampacity import as_column
from server.rules.words import a_rating, amps, listed

ABOVE_WIRE = "breaker-above-wire"
MOST_NAMES = 6
IN_PLACE = " Where it is wired in place, without a plug, a motor’s own rule may allow it: ask."
COPPER_UP_TO_A = 30
"""Up to this breaker new branch wire is copper (common practice, no source)."""
WIRE_FOR_IT = "with wire for it"
"""How a mend asks for wire beside a larger breaker; its size follows where a smaller was read."""


def branch_wire_checks(
    site: Site, needed_a: dict[str, float], rules: Rulebook
) -> Iterator[Finding]:
    """Findings about branch wire.

    ``needed_a`` is what each circuit's load asks of its wire. [A]
    """
    for circuit in site.circuits:
        if circuit.wire_size is not None:
            try:
                yield from _one(
                    circuit, needed_a.get(circuit.id, 0.0), between_legs_v(site, circuit), rules
                )
            except InputError as error:
                yield _not_in_table(circuit, str(error), rules)
    yield from aluminum_checks(site, rules)
    yield from _unknown(site, rules)


def above_its_wire(site: Site, circuit: Circuit, rules: Rulebook) -> Finding | None:
    """That a breaker is too large for the wire entered for it; None where it is not.

    What it may be where wire and terminals are marked for more counts as allowed.
    """
    if circuit.wire_size is None:
        return None
    try:
        found = tuple(_one(circuit, 0.0, between_legs_v(site, circuit), rules))
    except InputError:
        return None
    return next((f for f in found if f.code == ABOVE_WIRE and f.severity != "note"), None)


def _one(circuit: Circuit, needed_a: float, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    low = as_column(rules.value("terminal_low_c"))
    high = as_column(rules.value("terminal_high_c"))
    wire = f"{circuit.wire_size} {circuit.wire_metal}"
    carried = {column: _ampacity(circuit, column) for column in (low, high)}
    if is_welder(circuit):
        yield from welder_checks(circuit, carried[low], rules)
        return
    of_its_own_a = _of_its_own_rule_a(circuit, between_v, rules)
    needed = max(needed_a, of_its_own_a)

    def holds(wire_a: float) -> bool:
        return wire_a >= of_its_own_a - 1e-9 and not short_of(needed_a, wire_a)

    small = None
    if not _has_own_device_rule(circuit, between_v):
        small = small_conductor_limit_a(circuit.wire_size or "", circuit.wire_metal)
        most = {column: _most_device(circuit, carried[column], rules) for column in (low, high)}
        if circuit.breaker_a > most[low]:
            yield _above_wire(circuit, most, needed, between_v, rules)
    # Larger wire mends nothing where the outlets allow no larger breaker.
    full = needs_own_circuit(circuit, needed, rules) or bool(
        len(circuit.appliances) > 1 and past_its_most(circuit, needed, between_v, rules)
    )
    larger = None if full else _larger_wire(circuit, needed, low, between_v, rules)
    if full:
        more = "Put less on it, or give what draws most a circuit of its own."
    else:
        run = f"{larger} wire" if larger else f"wire that carries {amps(needed)}"
        more = f"Run {run}, or put less on it."
    by_note_3_a = needed - left_by_note_3_kw(circuit) * 1000 / between_v
    smaller = smaller_by_note_3(circuit)
    if small is not None and not holds(small):
        yield made(
            "branch-wire-small",
            "note" if min(small, carried[high]) >= by_note_3_a - 1e-9 else "warning",
            circuit.id,
            text=f"{circuit.name} asks for {amps(needed)}; its wire, {wire}, may stand behind "
            f"{small:g} A at most, whatever its terminals are marked.{smaller}",
            mend=f"{more}{IN_PLACE if _motor_alone(circuit) and circuit.poles == 2 else ''}",
            figure=_wire_figure(circuit, needed, of_its_own_a, between_v, rules),
            value=small,
            limit=needed,
            unit="A",
            advised=larger,
        )
    elif not holds(carried[low]):
        enough = holds(carried[high])
        yield made(
            "branch-wire-small",
            "note" if carried[high] >= by_note_3_a - 1e-9 else "warning",
            circuit.id,
            text=f"The wire of {circuit.name}, {wire}, carries {amps(carried[low])} with common "
            f"cable and terminals; its load asks for {amps(needed)}.{smaller}",
            mend=f"It is enough where cable and terminals are marked {high} °C: read both."
            if enough
            else more,
            figure=_wire_figure(circuit, needed, of_its_own_a, between_v, rules),
            value=carried[low],
            limit=needed,
            unit="A",
            advised=None if enough else larger,
        )


def with_its_wire(
    finding: Finding, circuit: Circuit, needed_a: float, between_v: float, rules: Rulebook
) -> Finding:
    """A finding whose mend is a breaker, with the wire that it asks for where less was read.

    ``needed_a`` is what the load asks of its wire. [A]
    """
    advised = finding.advised
    if advised is None or f"{advised} breaker {WIRE_FOR_IT}" not in finding.mend:
        return finding
    if circuit.wire_size not in {c.size for c in conductors() if circuit.wire_metal in c.ampacity}:
        return finding
    low = as_column(rules.value("terminal_low_c"))
    behind = circuit.model_copy(update={"breaker_a": advised.amps or 0.0})
    needed = max(needed_a, _of_its_own_rule_a(circuit, between_v, rules))
    if _is_enough(behind, needed, low, between_v, rules):
        return finding
    larger = _larger_wire(behind, needed, low, between_v, rules)
    if larger is None:
        return finding
    return replace(
        finding,
        mend=finding.mend.replace(WIRE_FOR_IT, f"{WIRE_FOR_IT}, {larger}"),
        advised=replace(advised, size=larger.size, metal=larger.metal),
    )


def wire_of_breaker(circuit: Circuit, between_v: float, rules: Rulebook) -> str | None:
    """The size of copper that a new circuit's breaker and load ask for, None past the table."""
    low = as_column(rules.value("terminal_low_c"))
    copper = circuit.model_copy(update={"wire_metal": "copper"})
    needed_a = max(asked_a(copper, between_v, rules), _of_its_own_rule_a(copper, between_v, rules))
    wire = _larger_wire(copper, needed_a, low, between_v, rules)
    return None if wire is None else wire.size


def _larger_wire(
    circuit: Circuit, needed_a: float, column: Column, between_v: float, rules: Rulebook
) -> Advised | None:
    """The smallest wire for the load and breaker of a circuit, None past the table.

    Of its own metal, but no small aluminum: that is run no more (common practice, no source).
    """
    metal = circuit.wire_metal
    if circuit.breaker_a <= COPPER_UP_TO_A:
        metal = "copper"
    for one in conductors():
        if metal in one.ampacity:
            wired = circuit.model_copy(update={"wire_size": one.size, "wire_metal": metal})
            if _is_enough(wired, needed_a, column, between_v, rules):
                return Advised("wire", size=one.size, metal=metal)
    return None


def _is_enough(
    circuit: Circuit, needed_a: float, column: Column, between_v: float, rules: Rulebook
) -> bool:
    """Whether the wire of a circuit carries its load and is protected by its breaker."""
    carried = _ampacity(circuit, column)
    if carried < needed_a - 1e-9:
        return False
    if _has_own_device_rule(circuit, between_v):
        return True
    small = small_conductor_limit_a(circuit.wire_size or "", circuit.wire_metal)
    most = _most_device(circuit, carried, rules)
    return most >= circuit.breaker_a and (small is None or small >= needed_a - 1e-9)


def _wire_figure(
    circuit: Circuit, needed_a: float, of_its_own_a: float, between_v: float, rules: Rulebook
) -> Figure:
    """What the amps asked for rest on: a compressor's or a motor's own 125 %, else its load."""
    if needed_a > of_its_own_a + 1e-9 or not _has_own_device_rule(circuit, between_v):
        return rules.figure("branch_wire")
    units = [a for a in circuit.appliances if is_hermetic(a)]
    if any(u.min_circuit_a is not None for u in units):
        return rules.figure("cooling_plate_wire")
    return rules.figure("cooling_circuit_factor" if units else "motor_conductor_factor")


def _of_its_own_rule_a(circuit: Circuit, between_v: float, rules: Rulebook) -> float:
    """What a plate, a compressor or a motor asks of its wire, 0 where there is none. [A]

    What plugs in is a listed appliance and goes by its own plate (430.6(A)(1) exception 3).
    """
    asked = [a.min_circuit_a or 0.0 for a in circuit.appliances]
    for a in circuit.appliances:
        if a.min_circuit_a is None and is_hermetic(a):
            asked.append(rules.value("cooling_circuit_factor") * nameplate_a(a, between_v))
        elif a.min_circuit_a is None and a.horsepower is not None:
            table_a = None if on_a_cord(a.kind) else full_load_a(a, between_v)
            drawn = table_a or nameplate_a(a, between_v)
            asked.append(rules.value("motor_conductor_factor") * drawn)
    return max(asked, default=0.0)


def _above_wire(
    circuit: Circuit,
    most: dict[Column, float],
    needed_a: float,
    between_v: float,
    rules: Rulebook,
) -> Finding:
    low, high = most
    wire = f"{circuit.wire_size} {circuit.wire_metal}"
    enough = circuit.breaker_a <= most[high]
    marked = f"where cable and terminals are marked {high} °C"
    more = f", {most[high]:g} A {marked}" if most[high] > most[low] else ""
    larger = advised = _larger_wire(circuit, needed_a, low, between_v, rules)
    run = f"Run {larger} wire" if larger else "Run larger wire"
    if needed_a > most[high]:
        mend = f"{run}: its load asks for {amps(needed_a)}."
    elif needed_a > most[low]:
        mend = f"{run}, or use a breaker of {most[high]:g} A {marked}."
    else:
        advised = Advised("breaker", amps=most[low])
        mend = f"Use a breaker of {advised}{more}, or {run[0].lower()}{run[1:]}."
    severity: Severity = "note" if enough else "blocking"
    if _motor_alone(circuit) and circuit.poles == 2 and not enough:
        severity = "warning"
        mend += IN_PLACE
    return made(
        ABOVE_WIRE,
        severity,
        circuit.id,
        text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker on {wire} wire; "
        f"{most[low]:g} A is the most that protects it{more}.",
        mend=f"It may stand {marked}: read both." if enough else mend,
        figure=rules.figure("branch_wire_protection"),
        value=circuit.breaker_a,
        limit=most[low],
        unit="A",
        advised=None if enough else advised,
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


def _has_own_device_rule(circuit: Circuit, between_v: float) -> bool:
    """Motors or compressors wired in place may stand behind a device above their wire (240.4(G)).

    A motor that is not in the table has no such device to go by; several have one together
    (430.53(C)).
    """
    motors = all(a.horsepower is not None or is_hermetic(a) for a in circuit.appliances)
    if not circuit.appliances or not motors or any(on_a_cord(a.kind) for a in circuit.appliances):
        return False
    return all(is_hermetic(a) or full_load_a(a, between_v) is not None for a in circuit.appliances)


def _motor_alone(circuit: Circuit) -> bool:
    alone = len(circuit.appliances) == 1
    motor = alone and circuit.appliances[0].horsepower is not None
    return motor or (bool(circuit.appliances) and all(map(is_hermetic, circuit.appliances)))


def _not_in_table(circuit: Circuit, why: str, rules: Rulebook) -> Finding:
    return made(
        "branch-wire-small",
        "warning",
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
