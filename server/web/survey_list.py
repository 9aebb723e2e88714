"""The survey's list: every breaker of each panel from the top down, circuits and what else is."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.backfed import backfed_a
from server.domain.circuit import Circuit
from server.domain.panel import Panel, leg_of_space
from server.domain.site import Site
from server.domain.space_edits import other_breakers
from server.domain.supply import Feeder, SolarArray, TransferSwitch
from server.simulate.outcome import medical_device
from server.web.circuit_table import row_of

FEW_CIRCUITS = 50
"""As many breakers as one still scrolls past; common practice, no source."""


@dataclass(frozen=True)
class TraceRow:
    """One breaker of the list; ``device`` is a medical device on it, or empty.

    ``cold`` names what keeps food or goods cold on it.
    """

    circuit: Circuit
    spaces: str
    legs: str
    device: str
    cold: tuple[str, ...] = ()


@dataclass(frozen=True)
class OtherRow:
    """A breaker that is no circuit's: what it carries, what to know of it at the panel. [A]

    ``breaker_a`` is None where its amps were not read.
    """

    spaces: str
    legs: str
    does: str
    hint: str
    breaker_a: float | None


@dataclass(frozen=True)
class TracePanel:
    """A panel with its breakers from the top down; ``open`` where they are listed at once.

    ``rows`` are its circuits, ``lines`` those and its other breakers.
    """

    panel: Panel
    rows: tuple[TraceRow, ...]
    lines: tuple[TraceRow | OtherRow, ...]
    traced: int
    open: bool


def trace_panels(site: Site) -> tuple[TracePanel, ...]:
    """The panels that have breakers, each from its first space on.

    In a house of many breakers only the panel with the next one to trace is open.
    """
    found: list[TracePanel] = []
    few = len(site.circuits) <= FEW_CIRCUITS
    at_work = False
    for panel in site.panels:
        circuits = in_order(site, panel)
        rows = tuple(
            TraceRow(c, row_of(c).spaces, row_of(c).legs, medical_device(c), kept_cold(c))
            for c in circuits
        )
        lines = _lines(site, panel, rows)
        if lines:
            left = any(c.traced == "not_yet" for c in circuits)
            traced = sum(c.traced == "traced" for c in circuits)
            found.append(TracePanel(panel, rows, lines, traced, few or (left and not at_work)))
            at_work = at_work or left
    return tuple(found)


def kept_cold(circuit: Circuit) -> tuple[str, ...]:
    """What on a circuit keeps food or goods cold, by name."""
    return tuple(a.name for a in circuit.appliances if a.behaviour.model == "cold_box")


def in_order(site: Site, panel: Panel) -> list[Circuit]:
    """The circuits of a panel by space, halves of a tandem a before b."""
    mine = (c for c in site.circuits if c.panel_id == panel.id)
    return sorted(mine, key=lambda c: (c.spaces[0], c.half or ""))


def _lines(site: Site, panel: Panel, rows: tuple[TraceRow, ...]) -> tuple[TraceRow | OtherRow, ...]:
    placed: list[tuple[int, TraceRow | OtherRow]] = [(r.circuit.spaces[0], r) for r in rows]
    for part in other_breakers(site, panel):
        if part.spaces:
            legs = sorted({leg_of_space(space) for space in part.spaces})
            spaces = ", ".join(map(str, part.spaces))
            does, hint = _does(site, part)
            row = OtherRow(spaces, " ".join(legs), does, hint, _rating_a(site, part))
            placed.append((part.spaces[0], row))
    return tuple(line for _, line in sorted(placed, key=lambda pair: pair[0]))


def _does(site: Site, part: Feeder | SolarArray | TransferSwitch) -> tuple[str, str]:
    """What a breaker that is no circuit's carries, and what to know of it at the panel."""
    if isinstance(part, Feeder):
        return f"feeds {site.name_of[part.to_id]}", "Off, it darkens everything behind it."
    if isinstance(part, SolarArray):
        return f"brings in {part.name}", "It brings power in: both sides can be live."
    return (
        "brings in the generator",
        f"{part.name} lets only this one or the main be on.",
    )


def _rating_a(site: Site, part: Feeder | SolarArray | TransferSwitch) -> float | None:
    return backfed_a(site, part) if isinstance(part, TransferSwitch) else part.breaker_a
