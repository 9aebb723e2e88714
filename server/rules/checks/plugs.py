"""Circuits of outlets for plugs: the breaker that outlets and the code ask for."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.checks.protection import PLUGS_AND_LIGHTS
from server.rules.checks.several_outlets import most_of_several_a, of_several
from server.rules.cords import on_a_cord
from server.rules.demand.circuit_loads import category_of, counts_as, feeds_counters, kind_row
from server.rules.demand.outlets import outside_area
from server.rules.editions import Rulebook
from server.rules.words import a_rating, listed

WHOSE = {
    "small_appliance_circuit_a": "kitchen outlets",
    "laundry_circuit_a": "laundry outlets",
    "bath_circuit_a": "bathroom outlets",
}
GROW_LIGHTS = "grow-lights"
"""Lights that are no part of a dwelling's general lighting, and counted apart."""


def plug_checks(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """Findings about a circuit of plugs and lights, and of what has a cord."""
    plugs = _plugs_or_lights(circuit)
    corded = [a.name for a in circuit.appliances if on_a_cord(a.kind)]
    if not (plugs or corded) or circuit.poles != 1:
        return
    feeds = "lights or plugs" if plugs else f"{listed(corded)}, with a plug as a rule,"
    usual, most = rules.figure("plug_device_usual_a"), rules.figure("plug_device_most_a")
    name = _required(site, circuit)
    if circuit.breaker_a > most.value:
        advised = Advised("breaker", amps=usual.value)
        yield made(
            "plug-breaker-large",
            "warning",
            circuit.id,
            text=f"{circuit.name} feeds {feeds} from {a_rating(circuit.breaker_a)} breaker"
            f"; {most.value:g} A is the most for plugs and lights, and less for common outlets and "
            "wire.",
            mend=f"Read the breaker and the outlets: 15 A or {advised} is usual.",
            figure=most,
            value=circuit.breaker_a,
            limit=most.value,
            unit="A",
            advised=advised,
        )
    elif _for_outlets(circuit) and circuit.breaker_a < rules.value("plug_device_least_a"):
        yield _under_15(circuit, feeds, rules)
    elif name and circuit.breaker_a != rules.value(name):
        yield _not_20(circuit, name, rules)
    elif circuit.breaker_a > usual.value:
        yield made(
            "plug-breaker-large",
            "note",
            circuit.id,
            text=f"{circuit.name} feeds {feeds} from {a_rating(circuit.breaker_a)} breaker"
            f". Outlets of 15 A or {usual.value:g} A may not stand on it, nor a dwelling’s lights.",
            mend=f"Read the breaker and the outlets: 15 A or {usual.value:g} A is usual.",
            figure=rules.figure("plug_outlet_rating"),
            value=circuit.breaker_a,
            limit=usual.value,
            unit="A",
        )


def needs_own_circuit(circuit: Circuit, needed_a: float, rules: Rulebook) -> bool:
    """Whether no larger breaker is open to a circuit, as its outlets are made for less.

    20 A for lights, and for what plugs in at one leg, else what several outlets may have.
    """
    shared = len(circuit.appliances) > 1
    past_usual = needed_a > rules.value("plug_device_usual_a")
    if circuit.poles == 1:
        return (_plugs_or_lights(circuit) or shared) and past_usual
    if any(a.kind == GROW_LIGHTS for a in circuit.appliances):
        return past_usual
    several = of_several(circuit) or of_several_outlets(circuit)
    return several and needed_a > most_of_several_a(circuit, rules)


def _plugs_or_lights(circuit: Circuit) -> bool:
    return any(
        category_of(a) in PLUGS_AND_LIGHTS or a.kind == GROW_LIGHTS for a in circuit.appliances
    )


def of_several_outlets(circuit: Circuit) -> bool:
    """Whether a circuit feeds several things of which one plugs in."""
    return len(circuit.appliances) > 1 and _for_outlets(circuit)


def _for_outlets(circuit: Circuit) -> bool:
    """Whether something on it plugs in, and not lights alone."""
    return any(on_a_cord(a.kind) for a in circuit.appliances)


def _under_15(circuit: Circuit, feeds: str, rules: Rulebook) -> Finding:
    usual = rules.figure("plug_device_usual_a")
    return made(
        "plug-circuit-rating",
        "warning",
        circuit.id,
        text=f"{circuit.name} feeds {feeds} from {a_rating(circuit.breaker_a)} breaker. A circuit "
        "of less than 15 A is for lights and a few things wired in place, not for outlets.",
        mend=f"Use a 15 A breaker, or one of {usual.value:g} A with wire for it.",
        figure=rules.figure("small_circuit_uses"),
        value=circuit.breaker_a,
        limit=rules.value("plug_device_least_a"),
        unit="A",
        advised=Advised("breaker", amps=rules.value("plug_device_least_a")),
    )


def _required(site: Site, circuit: Circuit) -> str:
    """The figure of the circuit a dwelling must have that this one is, empty for none.

    What stays in its place, such as a refrigerator, may have a smaller circuit of its own.
    """
    if outside_area(site, circuit, {}):
        return ""
    found = {category_of(a) for a in circuit.appliances}
    if any(a.kind == "bath-plugs" for a in circuit.appliances):
        return "bath_circuit_a"
    washes = any((kind_row(a.kind) or {}).get("laundry_outlet") for a in circuit.appliances)
    if found == {"laundry"} and (washes or feeds_counters(circuit)):
        return "laundry_circuit_a"
    return "small_appliance_circuit_a" if feeds_counters(circuit) else ""


def _not_20(circuit: Circuit, name: str, rules: Rulebook) -> Finding:
    figure = rules.figure(name)
    advised = Advised("breaker", amps=figure.value)
    small = circuit.breaker_a < figure.value
    counted = counts_as(circuit, rules)
    more = (
        f" Its demand is calculated at {rules.value(f'{counted}_va'):,.0f} VA all the same."
        if small and counted
        else ""
    )
    return made(
        "plug-circuit-rating",
        "warning",
        circuit.id,
        text=f"{circuit.name} feeds {WHOSE[name]} from {a_rating(circuit.breaker_a)} breaker; "
        f"a dwelling’s circuit for them is one of {figure.value:g} A.{more}",
        mend=f"Use {a_rating(figure.value)} breaker with wire for it. "
        "An older circuit may stand as it was built: ask."
        if small
        else f"Use {a_rating(figure.value)} breaker: outlets of 15 A or {figure.value:g} A may "
        "not stand on a larger one.",
        figure=figure,
        value=circuit.breaker_a,
        limit=figure.value,
        unit="A",
        advised=advised,
    )
