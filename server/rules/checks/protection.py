"""Arc- and ground-fault protection: for new circuits, for tubs and pools, and after a move."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.checks.made import made
from server.rules.demand.mapping import category_of
from server.rules.editions import Figure, Rulebook, cite_of
from server.rules.tables import read_toml
from server.rules.words import listed

ARC_FAULT_TYPES = ("afci", "dual_function")
GROUND_FAULT_TYPES = ("gfci", "dual_function")
PLUGS_AND_LIGHTS = ("general", "small_appliance", "laundry")


def protection_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about breakers that must open on an arc or on a current to ground."""
    for circuit in site.circuits:
        if circuit.is_new:
            yield from _arc_fault(circuit, rules)
        yield from _ground_fault(circuit, rules)
    yield from _on_a_move(site, rules)


def _figure(name: str, row: Mapping[str, Any], rules: Rulebook) -> Figure:
    return Figure(name, 1.0, "yes or no", cite_of(row, rules.edition))


def _arc_fault(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    row = read_toml("protection")["arc_fault"]
    asking = [a.name for a in circuit.appliances if a.kind in row["kinds"]]
    small = circuit.poles == 1 and circuit.breaker_a <= rules.value("arc_fault_most_a")
    if not asking or not small or circuit.breaker_type in ARC_FAULT_TYPES:
        return
    yield made(
        "new-circuit-arc-fault",
        "warning",
        circuit.id,
        text=f"{circuit.name} is a new circuit and feeds {listed(asking)}: it needs arc-fault "
        f"protection. {row['place']}",
        mend="Use an arc-fault breaker, or one for arc and ground faults.",
        figure=_figure("arc_fault", row, rules),
    )


def _ground_fault(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    if circuit.breaker_type in GROUND_FAULT_TYPES:
        return
    for row in read_toml("protection")["ground_fault"]:
        always = bool(row.get("always"))
        asking = [a.name for a in circuit.appliances if a.kind in row["kinds"]]
        if not asking or rules.edition < row["from"] or not (circuit.is_new or always):
            continue
        code = "tub-ground-fault" if always else "new-circuit-ground-fault"
        at_outlet = circuit.poles == 1 and not always
        first = f"{circuit.name} feeds {listed(asking)}" if always else f"{circuit.name} is new"
        yield made(
            code,
            "note" if at_outlet else "warning",
            circuit.id,
            text=f"{first}: ground-fault protection is asked for {row['place']}, and its breaker "
            "has none.",
            mend="Use a ground-fault breaker, or an outlet with ground-fault protection."
            if at_outlet
            else "Use a ground-fault breaker.",
            figure=_figure("ground_fault", row, rules),
        )
        return


def _on_a_move(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """One note for each backed-up or switchable bus with plain breakers on plug circuits."""
    for circuits in move_triggers(site, rules):
        names = listed([c.name for c in circuits])
        for code, words, name in (
            ("arc-fault-on-a-move", "arc-fault", "arc_fault_extension"),
            ("ground-fault-on-a-move", "ground-fault", "ground_fault_extension"),
        ):
            yield made(
                code,
                "note",
                circuits[0].panel_id,
                text=f"Moving a circuit can require {words} protection for it. On a plain "
                f"breaker: {names}.",
                mend=f"Ask which of them need {words} protection here, and allow for the breaker.",
                figure=rules.figure(name),
            )


def move_triggers(site: Site, rules: Rulebook) -> tuple[list[Circuit], ...]:
    """Plug circuits on plain breakers of each bus that they were moved to.

    Where a switch stands ahead of the first panel of the house, no circuit leaves its panel.
    """
    bus = bus_of_circuit(site)
    sources = {s.id for s in site.services}
    most = rules.value("arc_fault_most_a")
    by_bus: dict[str, list[Circuit]] = {}
    for circuit in site.circuits:
        own = bus[circuit.id]
        plug = any(category_of(a) in PLUGS_AND_LIGHTS for a in circuit.appliances)
        plain = circuit.breaker_type in ("standard", "tandem") and not circuit.is_new
        small = circuit.poles == 1 and circuit.breaker_a <= most
        moved = own.kind in ("backed_up", "switchable") and not any(
            f.from_id in sources for f in site.feeders_into.get(own.root_id, ())
        )
        if moved and plug and plain and small:
            by_bus.setdefault(own.id, []).append(circuit)
    return tuple(by_bus.values())
