"""What the table of circuits shows: panels in order, their circuits, what is kept and in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any
from urllib.parse import urlencode

from server.domain.circuit import Circuit
from server.domain.edits import free_spaces
from server.domain.panel import Panel, leg_of_space
from server.domain.site import Site
from server.domain.topology import Bus, bus_of_circuit, bus_of_panel
from server.web import words
from server.web.row_form import feeds_words, row_form_of

CLASSES = tuple(value for value, _ in words.LOAD_CLASSES)
ROLES = tuple(value for value, _ in words.OUTAGE_ROLES)
SIZES = tuple(value for value, _ in words.WIRE_SIZES)


def connected_w(circuit: Circuit) -> float:
    """Full loads of a circuit's appliances, added. [W]."""
    return sum(a.load_w for a in circuit.appliances)


SORTS: Mapping[str, Callable[[Circuit], Any]] = MappingProxyType(
    {
        "space": lambda c: (c.spaces, c.half or ""),
        "name": lambda c: c.name.casefold(),
        "feeds": lambda c: feeds_words(c).casefold(),
        "watts": connected_w,
        "breaker": lambda c: c.breaker_a,
        "poles": lambda c: c.poles,
        "wire": lambda c: SIZES.index(c.wire_size or ""),
        "class": lambda c: CLASSES.index(c.load_class),
        "role": lambda c: ROLES.index(c.outage_role),
        "note": lambda c: (not c.note, c.note.casefold()),
    }
)
"""What rows can be ordered by. Every order but that by space goes across the panels."""


@dataclass(frozen=True)
class Filter:
    """What a person looks for: words in any name, a class, a role; and in which order."""

    find: str = ""
    load_class: str = ""
    outage_role: str = ""
    sort: str = "space"

    @property
    def active(self) -> bool:
        """Whether anything is filtered at all."""
        return bool(self.find or self.load_class or self.outage_role)

    @property
    def key(self) -> str:
        """The order without its direction; ``space`` where it is not known."""
        key = self.sort.removeprefix("-")
        return key if key in SORTS else "space"

    @property
    def down(self) -> bool:
        """Whether the largest comes first."""
        return self.sort.startswith("-")

    @property
    def flat(self) -> bool:
        """Whether rows of all panels stand together."""
        return self.key != "space"

    def turned(self, key: str) -> str:
        """The query that orders by this column, the other way round when it already does."""
        sort = f"-{key}" if key == self.key and not self.down else key
        given = {"find": self.find, "load_class": self.load_class, "outage_role": self.outage_role}
        return urlencode({name: text for name, text in given.items() if text} | {"sort": sort})

    def aria_sort(self, key: str) -> str:
        """How a column is ordered, as a table head says it."""
        if key != self.key:
            return "none"
        return "descending" if self.down else "ascending"

    def keeps(self, circuit: Circuit) -> bool:
        """Whether a circuit is shown."""
        if self.load_class and circuit.load_class != self.load_class:
            return False
        if self.outage_role and circuit.outage_role != self.outage_role:
            return False
        names = (circuit.name, circuit.area, circuit.note, *(a.name for a in circuit.appliances))
        text = " ".join(names).casefold()
        return all(word in text for word in self.find.casefold().split())


@dataclass(frozen=True)
class Row:
    """One circuit of the table. ``connected_w`` adds its appliances' full loads.

    ``dark`` tells one whose bus no generator can feed, whatever its role in an outage would be;
    ``thrown`` one that a generator feeds only once somebody throws its switch or handle over.
    ``kept_off`` names the scenarios that keep it off while a generator feeds it.
    """

    circuit: Circuit
    spaces: str
    legs: str
    connected_w: float
    guessed: bool
    dark: bool = False
    thrown: bool = False
    kept_off: tuple[str, ...] = ()

    @property
    def in_outage(self) -> str:
        """What it does in an outage, in a few words."""
        role = words.said(words.OUTAGE_ROLES, self.circuit.outage_role)
        if self.dark:
            return "dark"
        return f"{'' if role == 'on' else f'{role}, '}thrown by hand" if self._waits else role

    @property
    def _waits(self) -> bool:
        return self.thrown and self.circuit.outage_role != "off"

    @property
    def exceptions(self) -> str:
        """Where a scenario keeps it off though its role would have it on; empty where none does."""
        if self.dark or self.circuit.outage_role == "off" or not self.kept_off:
            return ""
        named = self.kept_off[0] if len(self.kept_off) == 1 else f"{len(self.kept_off)} scenarios"
        return f"kept off in {named}"

    @property
    def typed(self) -> dict[str, str]:
        """The row as text, for changing it in place."""
        return dict(row_form_of(self.circuit).values)


@dataclass(frozen=True)
class Group:
    """Rows under one head: a panel, or all panels together (``panel`` None)."""

    panel: Panel | None
    bus: Bus | None
    rows: tuple[Row, ...]
    total: int
    free: tuple[int, ...]
    free_words: str


def groups(site: Site, wanted: Filter) -> tuple[Group, ...]:
    """Every panel with the circuits the filter keeps, in order; or all of them together."""
    if wanted.flat:
        return (Group(None, None, _rows(site, site.circuits, wanted), len(site.circuits), (), ""),)
    bus_by_panel = bus_of_panel(site)
    return tuple(_group(site, panel, bus_by_panel.get(panel.id), wanted) for panel in site.panels)


def group_of(site: Site, panel_id: str) -> Group:
    """One panel with all of its circuits."""
    return _group(site, site.panel(panel_id), bus_of_panel(site).get(panel_id), Filter())


def _group(site: Site, panel: Panel, bus: Bus | None, wanted: Filter) -> Group:
    mine = tuple(c for c in site.circuits if c.panel_id == panel.id)
    free = tuple(sorted(free_spaces(site, panel)))
    return Group(panel, bus, _rows(site, mine, wanted), len(mine), free, ranges(free))


def _rows(site: Site, circuits: Iterable[Circuit], wanted: Filter) -> tuple[Row, ...]:
    kept = [c for c in circuits if wanted.keeps(c)]
    ordered = sorted(kept, key=SORTS[wanted.key], reverse=wanted.down)
    return rows_on(site, ordered)


def rows_on(site: Site, circuits: Iterable[Circuit]) -> tuple[Row, ...]:
    """How circuits of a site are written, with what an outage does to each of them."""
    kinds = {circuit_id: bus.kind for circuit_id, bus in bus_of_circuit(site).items()}
    kept_off: dict[str, list[str]] = {}
    for scenario in site.scenarios:
        for kept in scenario.kept_off:
            kept_off.setdefault(kept.circuit_id, []).append(scenario.name)
    return tuple(
        replace(
            row_of(c),
            dark=kinds.get(c.id) == "normal",
            thrown=kinds.get(c.id) == "switchable",
            kept_off=tuple(kept_off.get(c.id, ())),
        )
        for c in circuits
    )


def row_of(circuit: Circuit) -> Row:
    """How one circuit is written."""
    legs = sorted({leg_of_space(space) for space in circuit.spaces})
    return Row(
        circuit,
        spaces=", ".join(map(str, circuit.spaces)) + (circuit.half or ""),
        legs=" ".join(legs),
        connected_w=connected_w(circuit),
        guessed=any(a.figure_source == "guess" for a in circuit.appliances),
    )


def ranges(numbers: Iterable[int]) -> str:
    """Whole numbers with runs joined.

    >>> ranges([1, 2, 3, 7, 9, 10])
    '1 to 3, 7, 9, 10'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )
