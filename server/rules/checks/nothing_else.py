"""Circuits that a dwelling must have for a kitchen, laundry or bathroom, and what else is on them.

They are for the outlets of that room and for nothing else: 210.52(B)(2), 210.11(C)(2), (C)(3).
Which kinds mark such a circuit, and which may be on it, is in ``tables/protection.toml``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.cords import is_plugged
from server.rules.demand.circuit_loads import category_of, kind_row
from server.rules.demand.outlets import outside_area
from server.rules.editions import Rulebook
from server.rules.tables import read_toml
from server.rules.words import a_rating, listed


@dataclass(frozen=True)
class Mixed:
    """A required circuit with something else on it.

    ``row`` tells the room it is for, ``own`` are the room's things, ``others`` the rest;
    ``may_be_right`` is whether they may be there after all, by what the site does not tell.
    """

    row: Mapping[str, Any]
    own: tuple[Appliance, ...]
    others: tuple[Appliance, ...]
    may_be_right: bool

    def outlets_move(self, circuit: Circuit, rules: Rulebook) -> bool:
        """Whether its breaker is not what the outlets ask for, so that they take a new circuit."""
        return circuit.breaker_a != rules.value(self.row["rating"])

    def movers(self, circuit: Circuit, rules: Rulebook) -> tuple[Appliance, ...]:
        """What takes a new circuit: the others, as long as this one is right for its outlets."""
        return self.own if self.outlets_move(circuit, rules) else self.others

    def apart_words(self, circuit: Circuit, rules: Rulebook, joined: str) -> str:
        """What takes a new circuit, and which, with ``joined`` between the two."""
        if not self.outlets_move(circuit, rules):
            return f"{listed([a.name for a in self.others])}{joined}a circuit apart"
        least_a = rules.value(self.row["rating"])
        return f"the {self.row['outlets']}{joined}{a_rating(least_a)} circuit apart"


def mixed(site: Site, circuit: Circuit) -> Mixed | None:
    """What stands with the outlets of a kitchen, laundry or bathroom, None where nothing does."""
    if any(a.volts != 120 for a in circuit.appliances) or outside_area(site, circuit, {}):
        return None
    for row in read_toml("protection")["nothing_else"]["room"]:
        certain = any(a.kind in row["kinds"] for a in circuit.appliances)
        if not (certain or any(_is_of_counters(row, a) for a in circuit.appliances)):
            continue
        own = tuple(a for a in circuit.appliances if _belongs(row, a))
        others = tuple(a for a in circuit.appliances if not _belongs(row, a))
        if others:
            right = all(_may_be_there(row, a) for a in others)
            return Mixed(row, own, others, right or not certain)
    return None


def nothing_else_checks(site: Site, circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """A required circuit that feeds something else: a note where that may be right."""
    found = mixed(site, circuit)
    if found is None:
        return
    names, outlets = listed([a.name for a in found.others]), found.row["outlets"]
    least_a = rules.value(found.row["rating"])
    yield made(
        "plug-circuit-shared",
        "note" if found.may_be_right else "warning",
        circuit.id,
        text=f"{circuit.name} feeds {outlets} and also {names}. A dwelling’s circuit of "
        f"{least_a:g} A for {outlets} has no other outlets. {found.row['but']}",
        mend=f"Give {found.apart_words(circuit, rules, ' ')}, unless this is right as it is. "
        "An older circuit may stand as it was built: ask.",
        figure=rules.figure(found.row["figure"]),
    )


def _is_of_counters(row: Mapping[str, Any], appliance: Appliance) -> bool:
    """Whether it is carried about on the room's outlets, and so tells of them less surely."""
    stays = (kind_row(appliance.kind) or {}).get("own_circuit")
    return category_of(appliance) == row.get("counters") and not stays


def _belongs(row: Mapping[str, Any], appliance: Appliance) -> bool:
    named = (*row["kinds"], *row.get("with", ()))
    return appliance.kind in named or category_of(appliance) == row.get("category")


def _may_be_there(row: Mapping[str, Any], appliance: Appliance) -> bool:
    """Whether it may be carried to the room's outlets, or be the kind that may stand on them."""
    outlets = appliance.kind in read_toml("protection")["nothing_else"]["outlets"]
    if appliance.kind in row.get("may", ()):
        return True
    return not outlets and (is_plugged(appliance.kind) or row.get("wired_may", False))
