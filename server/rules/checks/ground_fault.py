"""Which circuits ground-fault protection is asked for: by what is on them and where it stands."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.site import Site
from server.domain.topology import bus_of_circuit
from server.rules.cords import is_plugged
from server.rules.editions import Cite, Rulebook, cite_of
from server.rules.tables import read_toml

MOST_KEPT = 2048
"""One circuit is asked of by several checks, and again for every mend that is tried."""
GROUND_FAULT_TYPES = ("gfci", "dual_function")


@dataclass(frozen=True)
class Asked:
    """What of a circuit asks for ground-fault protection, and by which row of the table.

    ``always`` rows hold for a circuit that is neither new nor moved. ``of_equipment`` rows ask
    for protection of equipment, which opens at more than that of people; that of people does too.
    ``in_control`` is of what mostly has it in its own control.
    """

    names: tuple[str, ...]
    place: str
    cite: Cite
    always: bool
    of_equipment: bool = False
    in_control: bool = False


@dataclass(frozen=True)
class Moved:
    """Circuits of one bus they were moved to, without ground-fault protection.

    ``asked`` are those that ask for it; ``unplaced`` feed plugs whose place is not entered.
    """

    panel_id: str
    asked: tuple[tuple[Circuit, Asked], ...]
    unplaced: tuple[Circuit, ...]


def ground_fault_asked(site: Site, circuit: Circuit, rules: Rulebook) -> Asked | None:
    """Why a circuit asks for ground-fault protection in this edition, None where it does not.

    210.8(A) reaches what plugs in, by its place, and 210.8(B) so what several dwellings share;
    210.8(D), 210.8(F), 422.5, 424.44, 426.28, 427.22, 625.54 and Article 680 reach a
    kind of appliance, plugged in or wired, and 210.8(C) lights in a crawl space.
    """
    detached = site.panel(circuit.panel_id).detached_building
    return _asked_in(circuit, detached=detached, rules=rules)


@lru_cache(maxsize=MOST_KEPT)
def _asked_in(circuit: Circuit, *, detached: bool, rules: Rulebook) -> Asked | None:
    for row in rows_of(circuit, rules):
        names = tuple(_asking(circuit, row, rules, detached=detached))
        if names:
            cite = cite_of(row, rules.edition)
            equipment = bool(row.get("of_equipment"))
            in_control = bool(row.get("in_control"))
            return Asked(names, row["place"], cite, bool(row.get("always")), equipment, in_control)
    return None


def rows_of(circuit: Circuit, rules: Rulebook) -> Iterator[Mapping[str, Any]]:
    """The rows of the table that hold in this edition, for a dwelling unit or what is shared."""
    of = "shared" if circuit.place == "common_area" else "dwelling_unit"
    for row in read_toml("protection")["ground_fault"]:
        in_force = row["from"] <= rules.edition <= row.get("until", rules.edition)
        if in_force and row.get("of", of) == of:
            yield row


def moved_without_ground_fault(site: Site, rules: Rulebook) -> tuple[Moved, ...]:
    """Circuits moved to each backed-up or switchable bus that ask for ground-fault protection."""
    found: dict[str, list[Circuit]] = {}
    for bus_id, circuit in moved_circuits(site):
        if circuit.breaker_type not in GROUND_FAULT_TYPES:
            found.setdefault(bus_id, []).append(circuit)
    return tuple(_moved(site, circuits, rules) for circuits in found.values())


def moved_circuits(site: Site) -> Iterator[tuple[str, Circuit]]:
    """Each circuit that left its panel for a backed-up or switchable bus, with that bus.

    Where a switch stands ahead of the first panel of the house that has circuits, none leaves its
    panel. A new circuit is judged as new.
    """
    bus = bus_of_circuit(site)
    for circuit in site.circuits:
        own = bus[circuit.id]
        ahead = _ahead_of_every_circuit(site, own.root_id)
        if own.kind in ("backed_up", "switchable") and not ahead and not circuit.is_new:
            yield own.id, circuit


def _ahead_of_every_circuit(site: Site, root_id: str) -> bool:
    """Whether nothing but disconnects without circuits stands between a service and this."""
    sources = {s.id for s in site.services}
    waiting, seen = [root_id], {root_id}
    while waiting:
        for feeder in site.feeders_into.get(waiting.pop(), ()):
            above = feeder.from_id
            if above in sources:
                return True
            if above in site.panel_by_id and not site.circuits_in.get(above) and above not in seen:
                seen.add(above)
                waiting.append(above)
    return False


def _moved(site: Site, circuits: list[Circuit], rules: Rulebook) -> Moved:
    asked, unplaced = [], []
    for circuit in circuits:
        one = ground_fault_asked(site, circuit, rules)
        if one is not None and not one.of_equipment:
            asked.append((circuit, one))
        elif not circuit.area.strip() and any(_plugs(circuit, rules)):
            unplaced.append(circuit)
    return Moved(circuits[0].panel_id, tuple(asked), tuple(unplaced))


def _asking(
    circuit: Circuit, row: Mapping[str, Any], rules: Rulebook, *, detached: bool
) -> Iterator[str]:
    """Names of what asks: by its kind, or because it plugs in at a place of the row."""
    here = stands_here(circuit, row, detached=detached)
    plugged = set(_plugs(circuit, rules))
    by_place, in_place = "of" in row, bool(row.get("in_place"))
    told_elsewhere = row.get("elsewhere_asked") and _told_indoors(circuit)
    within = circuit.breaker_a <= rules.value("outdoor_ground_fault_most_a")
    for appliance in circuit.appliances:
        kind = appliance.kind in row["kinds"] and not told_elsewhere and (here or not in_place)
        fits = appliance.id in plugged or not is_plugged(appliance.kind) or not by_place
        wired = here and row.get("wired") and appliance.kind not in row["but"]
        at_plug = here and appliance.id in plugged and not in_place
        if (kind and fits) or at_plug or (wired and within):
            yield appliance.name


def stands_here(circuit: Circuit, row: Mapping[str, Any], *, detached: bool) -> bool:
    """Whether a circuit is in a place of a row, by its area, its name or its building."""
    if row.get("detached") and detached:
        return True
    words = [*row.get("words", ()), *(_outdoor_words() if row.get("outdoors") else ())]
    return _names_one_of(words, f"{circuit.area} {circuit.name}")


def perhaps_outdoors(circuit: Circuit, row: Mapping[str, Any]) -> list[str]:
    """Names of what a row takes for outdoors by its kind, where another place is told."""
    if not row.get("elsewhere_asked") or not _told_indoors(circuit):
        return []
    return [a.name for a in circuit.appliances if a.kind in row["kinds"]]


def perhaps_plugged(
    site: Site, circuit: Circuit, row: Mapping[str, Any], rules: Rulebook
) -> list[str]:
    """Names of what a row asks of where it plugs in, and that may be wired in place as well.

    By its kind, or by its place.
    """
    here = "of" in row and not row.get("in_place")
    here = here and stands_here(
        circuit, row, detached=site.panel(circuit.panel_id).detached_building
    )
    perhaps = read_toml("protection")["plugged"]["perhaps"]
    return [
        a.name
        for a in circuit.appliances
        if a.kind in row.get("if_plugged", ())
        or (here and a.kind in perhaps and _is_within(circuit, a, rules))
    ]


def _told_indoors(circuit: Circuit) -> bool:
    return bool(circuit.area.strip()) and not _names_one_of(_outdoor_words(), circuit.area)


def _outdoor_words() -> list[str]:
    words: list[str] = read_toml("protection")["outdoors"]["words"]
    return words


def _names_one_of(words: list[str], text: str) -> bool:
    """Whether a text has a word that begins with one of these."""
    return bool(words) and bool(re.search(rf"\b({'|'.join(words)})", text, re.I))


def _plugs(circuit: Circuit, rules: Rulebook) -> Iterator[str]:
    """Ids of what plugs in, within the volts and amps of outlets that 210.8(A) or (B) reaches."""
    for appliance in circuit.appliances:
        if is_plugged(appliance.kind) and _is_within(circuit, appliance, rules):
            yield appliance.id


def _is_within(circuit: Circuit, appliance: Appliance, rules: Rulebook) -> bool:
    outlets = "shared" if circuit.place == "common_area" else "plug"
    within = circuit.breaker_a <= rules.value(f"{outlets}_ground_fault_most_a")
    return within and appliance.volts <= rules.value(f"{outlets}_ground_fault_most_v")
