"""A panel as it hangs on the wall: two columns of spaces, the leg of each row, who is in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.backfed import backfed_a
from server.domain.circuit import Circuit
from server.domain.panel import Panel, leg_of_space
from server.domain.site import Site
from server.domain.space_edits import other_breakers
from server.domain.supply import Feeder, SolarArray, TransferSwitch
from server.domain.topology import Bus, bus_of_panel
from server.domain.working import Term, Working
from server.physics.legs import System, amps_per_watt
from server.web.drawing.legbar import LegBar, leg_bar

WIRE = {"L1": 0, "L2": 1}
LEAST_CHANGE_A = 0.05
"""Half of the last digit that is printed."""


@dataclass(frozen=True)
class Slot:
    """What stands in one space. ``rows`` is how many rows it covers, 0 below the first of them.

    ``others`` names a breaker that is not a circuit's: of a feeder or of solar.
    """

    space: int
    rows: int = 1
    circuits: tuple[Circuit, ...] = ()
    others: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class SpaceRow:
    """One row of a panel; ``right`` is None below the last space of an odd number."""

    leg: str
    left: Slot
    right: Slot | None


@dataclass(frozen=True)
class PanelFace:
    """One panel to draw, and how what is connected to it lies on the legs."""

    panel: Panel
    bus: Bus | None
    rows: tuple[SpaceRow, ...]
    free: int
    bar: LegBar
    workings: tuple[Working, ...]


@dataclass(frozen=True)
class LegsThen:
    """The legs of a panel as saved, and as a move not yet made would leave them. [A]"""

    panel: Panel
    bar: LegBar
    now_a: tuple[float, float]
    then_a: tuple[float, float]


def legs_after(before: Site, after: Site) -> tuple[LegsThen, ...]:
    """The panels whose legs a move changes by what can be read off, in the order of the site."""
    found = []
    for panel in before.panels:
        now, then = (
            tuple(working.value for working in connected_legs(site, site.panel(panel.id)))
            for site in (before, after)
        )
        if max(abs(a - b) for a, b in zip(now, then, strict=True)) < LEAST_CHANGE_A:
            continue
        bar = leg_bar(
            l1_a=now[0],
            l2_a=now[1],
            limit_a=panel.rating_a,
            before_a=(then[0], then[1]),
            other_word="then",
        )
        found.append(LegsThen(panel, bar, (now[0], now[1]), (then[0], then[1])))
    return tuple(found)


def panel_faces(site: Site) -> tuple[PanelFace, ...]:
    """Every panel, in the order of the site."""
    buses = bus_of_panel(site)
    return tuple(_face(site, panel, buses.get(panel.id)) for panel in site.panels)


def _face(site: Site, panel: Panel, bus: Bus | None) -> PanelFace:
    slots = {slot.space: slot for slot in _slots(site, panel)}
    rows = tuple(
        SpaceRow(leg_of_space(space), slots[space], slots.get(space + 1))
        for space in range(1, panel.spaces + 1, 2)
    )
    free = sum(1 for s in slots.values() if s.rows and not s.circuits and not s.others)
    workings = connected_legs(site, panel)
    bar = leg_bar(l1_a=workings[0].value, l2_a=workings[1].value, limit_a=panel.rating_a)
    return PanelFace(panel, bus, rows, free, bar, workings)


def _slots(site: Site, panel: Panel) -> Iterator[Slot]:
    circuits: dict[int, list[Circuit]] = {}
    others: dict[int, list[tuple[str, str]]] = {}
    covered: set[int] = set()
    for circuit in site.circuits:
        if circuit.panel_id == panel.id:
            circuits.setdefault(circuit.spaces[0], []).append(circuit)
            covered.update(circuit.spaces[1:])
    for part in other_breakers(site, panel):
        if part.spaces:
            others.setdefault(part.spaces[0], []).append((part.id, _other_name(site, part)))
            covered.update(part.spaces[1:])
    for space in range(1, panel.spaces + 1):
        mine = tuple(sorted(circuits.get(space, ()), key=lambda c: c.half or ""))
        two = any(c.poles == 2 for c in mine) or space in others
        rows = 0 if space in covered else 2 if two and space + 2 in covered else 1
        yield Slot(space, rows, mine, tuple(others.get(space, ())))


def _other_name(site: Site, part: Feeder | SolarArray | TransferSwitch) -> str:
    """What stands beside the breaker of a feeder, of solar, or of what an interlock lets in."""
    if isinstance(part, TransferSwitch):
        return f"{part.name}: back-fed breaker {backfed_a(site, part):g} A, held by the interlock"
    return part.name


def connected_legs(site: Site, panel: Panel) -> tuple[Working, Working]:
    """Amps on each leg with everything on the panel's own circuits full on at once.

    A static sum that shows how breakers are spread, not a demand load and not a run.
    """
    system: System = site.services[0].system if site.services else "120/240"
    amps = [0j, 0j]
    parts = {"L1": 0.0, "L2": 0.0, "both": 0.0}
    for circuit in (c for c in site.circuits if c.panel_id == panel.id):
        for watts, leg, power_factor in _loads(circuit):
            wire = None if leg == "both" else WIRE[leg]
            parts[leg] += watts
            pair = amps_per_watt(system=system, wire=wire, power_factor=power_factor)
            amps = [total + watts * share for total, share in zip(amps, pair, strict=True)]
    first, second = (
        _working(leg, abs(total), parts) for leg, total in zip(WIRE, amps, strict=True)
    )
    return first, second


def _working(leg: str, amps_a: float, parts: dict[str, float]) -> Working:
    return Working(
        title=f"{leg}, all connected at once",
        value=amps_a,
        unit="A",
        formula=f"watts from {leg} to neutral / 120 V + watts between the legs / their volts, "
        "each at its own power factor, added as phasors",
        terms=(
            Term(f"from {leg} to neutral", parts[leg], "W", "the appliances’ full loads"),
            Term("between the legs", parts["both"], "W", "the appliances’ full loads"),
        ),
        source="circuit theory",
    )


def _loads(circuit: Circuit) -> Iterator[tuple[float, str, float]]:
    """Watts, where they lie and their power factor, of each part of each appliance."""
    for appliance in circuit.appliances:
        pole = appliance.on_pole if circuit.poles == 2 else 1
        leg = leg_of_space(circuit.spaces[pole - 1])
        whole = appliance.volts == 240
        to_neutral = appliance.part_120_w if whole else appliance.load_w
        if to_neutral:
            yield to_neutral, leg, appliance.power_factor
        if whole and appliance.load_w > to_neutral:
            yield appliance.load_w - to_neutral, "both", appliance.power_factor
