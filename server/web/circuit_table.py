"""What the table of circuits shows: panels in order, their circuits, and what the filter keeps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.circuit import Circuit
from server.domain.edits import free_spaces
from server.domain.panel import Panel, leg_of_space
from server.domain.site import Site
from server.domain.topology import Bus, bus_of_panel


@dataclass(frozen=True)
class Filter:
    """What a person looks for: words in any name, a class, a role."""

    find: str = ""
    load_class: str = ""
    outage_role: str = ""

    @property
    def active(self) -> bool:
        """Whether anything is filtered at all."""
        return bool(self.find or self.load_class or self.outage_role)

    def keeps(self, circuit: Circuit) -> bool:
        """Whether a circuit is shown."""
        if self.load_class and circuit.load_class != self.load_class:
            return False
        if self.outage_role and circuit.outage_role != self.outage_role:
            return False
        names = (circuit.name, circuit.area, *(a.name for a in circuit.appliances))
        text = " ".join(names).casefold()
        return all(word in text for word in self.find.casefold().split())


@dataclass(frozen=True)
class Row:
    """One circuit of the table. ``connected_w`` adds its appliances' full loads."""

    circuit: Circuit
    spaces: str
    legs: str
    connected_w: float
    guessed: bool


@dataclass(frozen=True)
class Group:
    """One panel of the table."""

    panel: Panel
    bus: Bus | None
    rows: tuple[Row, ...]
    total: int
    connected_w: float
    free: tuple[int, ...]
    free_words: str


def groups(site: Site, wanted: Filter) -> tuple[Group, ...]:
    """Every panel with the circuits the filter keeps, in the order of their spaces."""
    bus_by_panel = bus_of_panel(site)
    return tuple(_group(site, panel, bus_by_panel.get(panel.id), wanted) for panel in site.panels)


def _group(site: Site, panel: Panel, bus: Bus | None, wanted: Filter) -> Group:
    mine = [c for c in site.circuits if c.panel_id == panel.id]
    rows = tuple(
        row_of(c) for c in sorted(mine, key=lambda c: (c.spaces, c.half or "")) if wanted.keeps(c)
    )
    free = tuple(sorted(free_spaces(site, panel)))
    total_w = sum(row.connected_w for row in rows)
    return Group(panel, bus, rows, len(mine), total_w, free, ranges(free))


def row_of(circuit: Circuit) -> Row:
    """How one circuit is written."""
    legs = sorted({leg_of_space(space) for space in circuit.spaces})
    return Row(
        circuit,
        spaces=", ".join(map(str, circuit.spaces)) + (circuit.half or ""),
        legs=" ".join(legs),
        connected_w=sum(a.load_w for a in circuit.appliances),
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
