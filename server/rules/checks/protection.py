"""Arc- and ground-fault protection: for new circuits, for tubs and pools, and after a move."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.ground_fault import (
    GROUND_FAULT_TYPES,
    Asked,
    ground_fault_asked,
    moved_circuits,
    moved_without_ground_fault,
    perhaps_outdoors,
    perhaps_plugged,
    rows_of,
    stands_here,
)
from server.rules.checks.made import made
from server.rules.editions import Rulebook, cite_of
from server.rules.tables import read_toml
from server.rules.words import listed

PLUGS_AND_LIGHTS = ("general", "small_appliance", "laundry")
ARC_FAULT_TYPES = ("afci", "dual_function")
TOLD_BY = (("never", False), ("words", True), ("without", False), ("likely", True))
"""Which words of the table are looked for first, and whether those are rooms that 210.12 lists."""
ONE_FOR_BOTH = (
    "Use one 2-pole {} for it and for the circuit that shares its neutral: a 1-pole one trips on "
    "what comes back by the other, or is blind."
)


def protection_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Findings about breakers that must open on an arc or on a current to ground."""
    for circuit in site.circuits:
        if circuit.is_new:
            yield from _arc_fault(circuit, rules)
        yield from _ground_fault(site, circuit, rules)
        if circuit.is_new:
            yield from _where_plugged(site, circuit, rules)
            yield from _where_the_outlet_is(site, circuit, rules)
    yield from _arc_fault_on_a_move(site, rules)
    yield from _ground_fault_on_a_move(site, rules)


def arc_fault_asked(circuit: Circuit, rules: Rulebook) -> list[str]:
    """Names of what asks for arc-fault protection: by the room, else by its kind.

    210.12 asks for 120 V circuits of rooms of a dwelling unit, whatever is on them, and not for
    what several dwellings share. The kind decides only where no place is told.
    """
    small = circuit.poles == 1 and circuit.breaker_a <= rules.value("arc_fault_most_a")
    if circuit.place == "common_area" or not small:
        return []
    row = read_toml("protection")["arc_fault"]
    here = _in_a_room(circuit.area, row)
    if here is None:
        here = _in_a_room(circuit.name, row)
    if here is None:
        return [a.name for a in circuit.appliances if a.kind in row["kinds"]]
    return [a.name for a in circuit.appliances] if here else []


def _in_a_room(text: str, row: Mapping[str, Any]) -> bool | None:
    """Whether a place is one that 210.12 lists, None where its words do not tell.

    Of several places one that is listed is enough. A bath off a hall is a bath, and a cellar with
    a playroom is a room.
    """
    found = []
    for place in re.split(r"[,;/&+]|\band\b", text, flags=re.I):
        for words, listed_here in (
            ("never", False),
            ("words", True),
            ("without", False),
            ("likely", True),
        ):
            if re.search(rf"\b({'|'.join(row[words])})", place, re.I):
                found.append(listed_here)
                break
    return any(found) if found else None


def _known_place(circuit: Circuit, row: Mapping[str, Any], rules: Rulebook) -> bool:
    """Whether no place is told, or its words are among those of arc- or ground-fault protection."""
    if not circuit.area.strip():
        return True
    by_room = any(_in_a_room(text, row) is not None for text in (circuit.area, circuit.name))
    return by_room or any(stands_here(circuit, r, detached=False) for r in rows_of(circuit, rules))


def _arc_fault(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    asking = arc_fault_asked(circuit, rules)
    if not asking or circuit.breaker_type in ARC_FAULT_TYPES:
        return
    row = read_toml("protection")["arc_fault"]
    if not _known_place(circuit, row, rules):
        yield made(
            "new-circuit-arc-fault",
            "note",
            circuit.id,
            text=f"{circuit.name} is new and feeds {listed(asking)}, entered in {circuit.area}, "
            f"which is no place known here. {row['asked']}",
            mend="Enter its area in plainer words, such as bedroom, bathroom or outdoors. A "
            "breaker for arc and ground faults serves in each.",
            figure=cite_of(row, rules.edition),
        )
        return
    yield made(
        "new-circuit-arc-fault",
        "warning",
        circuit.id,
        text=f"{circuit.name} is a new circuit and feeds {listed(asking)}: it needs arc-fault "
        f"protection. {row['place']}",
        mend=ONE_FOR_BOTH.format("arc-fault breaker, or one for arc and ground faults,")
        if circuit.multiwire_partner_id
        else "Use an arc-fault breaker, or one for arc and ground faults.",
        figure=cite_of(row, rules.edition),
    )


def _ground_fault(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    asked = ground_fault_asked(site, circuit, rules)
    if asked is None or circuit.breaker_type in GROUND_FAULT_TYPES:
        return
    if not (circuit.is_new or asked.always):
        return
    if asked.of_equipment:
        yield _of_equipment(circuit, asked)
        return
    if asked.always and _nobody_looked(circuit):
        yield _breaker_to_look_at(circuit, asked)
        return
    at_outlet = circuit.poles == 1 and not asked.always
    feeds = f"{circuit.name} feeds {listed(list(asked.names))}"
    yield made(
        "tub-ground-fault" if asked.always else "new-circuit-ground-fault",
        "note" if at_outlet or asked.in_control else "warning",
        circuit.id,
        text=f"{feeds if asked.always else f'{circuit.name} is new'}: ground-fault protection is "
        f"asked for {asked.place}, and its breaker has none.",
        mend=_ground_fault_mend(circuit, at_outlet=at_outlet)
        if not asked.in_control
        else "See whether its thermostat has it, as most of them do. Else use a ground-fault "
        "breaker.",
        figure=asked.cite,
    )


def _nobody_looked(circuit: Circuit) -> bool:
    """Whether all that is known of a circuit is a guess, its kind of breaker with it."""
    guessed = all(a.figure_source == "guess" for a in circuit.appliances)
    return guessed and not circuit.is_new and circuit.traced == "not_yet"


def _breaker_to_look_at(circuit: Circuit, asked: Asked) -> Finding:
    return made(
        "tub-ground-fault",
        "note",
        circuit.id,
        text=f"{circuit.name} feeds {listed(list(asked.names))}: ground-fault protection is asked "
        f"for {asked.place}. Nobody has looked at its breaker yet; a plain one is taken.",
        mend="Look whether its breaker at the panel, or the switch within sight of the tub or "
        "pump, has a test button, and enter what you find on the circuit’s page. Without one, keep "
        "out of the water until an electrician has fitted a ground-fault breaker.",
        figure=asked.cite,
    )


def _of_equipment(circuit: Circuit, asked: Asked) -> Finding:
    return made(
        "new-circuit-ground-fault",
        "note",
        circuit.id,
        text=f"{circuit.name} is new and feeds {listed(list(asked.names))}: ground-fault "
        f"protection of equipment is asked for {asked.place}, and its breaker has none.",
        mend="See whether the cable has it in its plug or its control. Else use a breaker for "
        "that, which opens at about 30 mA, and enter it as ground-fault. One that protects people, "
        "at 5 mA, does too, but long cable can trip it.",
        figure=asked.cite,
    )


def _where_plugged(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """What may be wired in place or plug in, and asks for ground-fault protection at a plug.

    Wiring it in place is no way out where its place asks for that of whatever is wired there.
    """
    wired_too = ground_fault_asked(site, circuit, rules) is not None
    if circuit.breaker_type in GROUND_FAULT_TYPES:
        return
    told: set[str] = set()
    for row in rows_of(circuit, rules):
        if wired_too and "of" in row:
            continue  # the place asks for something else on it already
        names = [n for n in perhaps_plugged(site, circuit, row, rules) if n not in told]
        if not names:
            continue
        told.update(names)
        outlet = ", an outlet with ground-fault protection" if circuit.poles == 1 else ""
        yield made(
            "new-circuit-ground-fault",
            "note",
            circuit.id,
            text=f"{circuit.name} is new and feeds {listed(names)}: where that plugs in, "
            f"ground-fault protection is asked for {row['place']}, and its breaker has none.",
            mend="Use a ground-fault breaker."
            if wired_too
            else f"Use a ground-fault breaker{outlet}, or have it wired in place.",
            figure=cite_of(row, rules.edition),
        )


def _where_the_outlet_is(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """What mostly stands outdoors and is entered elsewhere: its outlet decides."""
    protected = circuit.breaker_type in GROUND_FAULT_TYPES
    if protected or ground_fault_asked(site, circuit, rules) is not None:
        return
    for row in rows_of(circuit, rules):
        names = perhaps_outdoors(circuit, row)
        if not names:
            continue
        yield made(
            "new-circuit-ground-fault",
            "note",
            circuit.id,
            text=f"{circuit.name} is new and feeds {listed(names)}, entered in {circuit.area}: "
            f"ground-fault protection is asked for {row['place']}, and its breaker has none.",
            mend="See where the outlet is, or the box it is wired to. Where that is outdoors, use "
            "a ground-fault breaker and enter the area so.",
            figure=cite_of(row, rules.edition),
        )


def _ground_fault_mend(circuit: Circuit, *, at_outlet: bool) -> str:
    """A breaker, one for both of a pair that shares a neutral, or an outlet where that will do."""
    mend = "Use a ground-fault breaker"
    if circuit.multiwire_partner_id:
        mend = ONE_FOR_BOTH.format("ground-fault breaker")
        return f"{mend} An outlet with ground-fault protection does too." if at_outlet else mend
    return f"{mend}, or an outlet with ground-fault protection." if at_outlet else f"{mend}."


def _arc_fault_on_a_move(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """One note for each backed-up or switchable bus with plain breakers on room circuits."""
    for circuits in moved_without_arc_fault(site, rules):
        yield made(
            "arc-fault-on-a-move",
            "note",
            circuits[0].panel_id,
            text="Moving a circuit can require arc-fault protection for it. On a breaker without "
            f"it: {'; '.join(c.name for c in circuits)}.",
            mend="Ask which of them need arc-fault protection here, and allow for the breaker.",
            figure=rules.figure("arc_fault_extension"),
        )


def moved_without_arc_fault(site: Site, rules: Rulebook) -> tuple[list[Circuit], ...]:
    """Circuits of dwelling rooms, without arc-fault protection, of each bus they were moved to."""
    by_bus: dict[str, list[Circuit]] = {}
    for bus_id, circuit in moved_circuits(site):
        elsewhere = site.panel(circuit.panel_id).detached_building
        asked = not elsewhere and arc_fault_asked(circuit, rules)
        if asked and circuit.breaker_type not in ARC_FAULT_TYPES:
            by_bus.setdefault(bus_id, []).append(circuit)
    return tuple(by_bus.values())


def _ground_fault_on_a_move(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """One note for each such bus, with the section that reaches each circuit."""
    for moved in moved_without_ground_fault(site, rules):
        asked = [(c, a) for c, a in moved.asked if not a.always]
        if not asked and not moved.unplaced:
            continue
        figure = rules.figure("ground_fault_extension")
        sections = dict.fromkeys(s for _, a in asked for s in a.cite.section.split(", "))
        if sections:
            figure = replace(figure, cite=replace(figure.cite, section=", ".join(sections)))
        words = []
        if asked:
            groups: dict[tuple[str, str], list[str]] = {}
            for circuit, one in asked:
                groups.setdefault((one.cite.section, one.place), []).append(circuit.name)
            each = [
                f"{place} ({section}): {'; '.join(n)}" for (section, place), n in groups.items()
            ]
            words.append(f"On a breaker without it, for {'. For '.join(each)}.")
        if moved.unplaced:
            names = listed([c.name for c in moved.unplaced])
            words.append(f"Where these stand is not entered, and it decides: {names}.")
        yield made(
            "ground-fault-on-a-move",
            "note",
            moved.panel_id,
            text="Moving a circuit can require ground-fault protection for it. " + " ".join(words),
            mend="Ask which of them need ground-fault protection here, and allow for the breaker "
            "or the outlet." + (" Enter the area of the others." if moved.unplaced else ""),
            figure=figure,
        )
