"""What hangs below each bus bar at one moment: circuits, feeders and subpanels, summed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.circuit import Circuit
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Feeder, TransferSwitch
from server.domain.topology import BUS_WORDS, BusKind, bus_of_panel
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.drawing.moment import NONE, Moment, Pair
from server.web.format import amps, amps_or_dash, count, kilowatts, rating

SMALL_A = 1.0
"""Circuits under this are drawn together in one row. [A]"""
CIRCUIT_ROWS = 12
"""The largest circuits of a panel get a row each, and all that are past their breaker."""
SMALL_W = 50.0
"""What asks for less than this on a dead bus is drawn together in one row. [W]"""
ASKING_ROWS = 6


@dataclass(frozen=True)
class Row:
    """A line under a bus bar. ``look`` is circuit, more, feeder, asked or total."""

    name: str
    device: str
    l1: str
    l2: str
    look: str
    depth: int = 0
    over: bool = False
    weight_a: float = 0.0
    guess: bool = False


@dataclass(frozen=True)
class Column:
    """A bus bar with everything below it."""

    id: str
    title: str
    bus: str
    kind: BusKind
    state: str
    dead: bool
    rows: tuple[Row, ...]
    total: Row | None
    bar: LegBar | None
    point_id: str | None
    fed: str


def columns(moment: Moment) -> tuple[Column, ...]:
    """A column for every panel that no panel feeds, then one for every handle set."""
    roots = [p for p in moment.site.panels if not _parent_panel(moment.site, p)]
    order = {"normal": 0, "backed_up": 1, "switchable": 2, "generator": 3}
    bus = bus_of_panel(moment.site)
    roots.sort(key=lambda p: order[bus[p.id].kind])
    return (
        *(_panel_column(moment, panel) for panel in roots),
        *(_handle_column(moment, t) for t in moment.site.transfer_switches if t.handles),
    )


def circuit_amps(moment: Moment, circuit: Circuit) -> Pair:
    """A circuit's part of its bus bar's amps, as its row of the drawing has it. [A]

    It is that part of each leg's total, so that the parts add up; a clamp on the circuit alone
    reads somewhat more where power factors differ. On a transfer handle it is the circuit's own.
    """
    if circuit.id in _handled_ids(moment.site):
        return moment.amps(f"circuit_breaker:{circuit.id}") or NONE
    panel = moment.site.panel(circuit.panel_id)
    while parent := _parent_panel(moment.site, panel):
        panel = moment.site.panel(parent)
    first, second = moment.shares(f"panel_bus:{panel.id}").get(circuit.id, NONE)
    return first, second


def _parent_panel(site: Site, panel: Panel) -> str | None:
    feeders = site.feeders_into.get(panel.id, ())
    return next((f.from_id for f in feeders if f.from_id in site.panel_by_id), None)


def state_words(moment: Moment, element_id: str) -> str:
    """How an element is fed at this moment: dead, on utility, on generator, on BACKED-UP."""
    if not moment.live(element_id):
        return "dead"
    feeder = next((f for f in moment.site.feeders_into.get(element_id, ())), None)
    root = feeder.from_id if feeder else element_id
    if any(d.id == root for d in moment.site.double_throws):
        return "on BACKED-UP" if moment.selected(root) == "backed_up" else "on NORMAL"
    if any(t.id == root for t in moment.site.transfer_switches):
        return "on generator" if moment.selected(root) == "generator" else "on utility"
    if any(g.id == root for g in moment.site.generators):
        return "on generator"
    return "on utility" if not moment.utility_out() else "live"


def _panel_column(moment: Moment, panel: Panel) -> Column:
    site = moment.site
    bus = bus_of_panel(site)[panel.id]
    point_id = f"panel_bus:{panel.id}"
    carried = moment.amps(point_id) or NONE
    dead = not moment.live(panel.id)
    rows = tuple(_asked(moment, panel) if dead else _live_rows(moment, panel))
    total = None
    if not dead:
        limit_a = moment.limit(point_id) or panel.rating_a
        total = Row(
            f"{BUS_WORDS[bus.kind]} carries",
            f"{rating(limit_a)} A",
            amps(carried[0]),
            amps(carried[1]),
            "total",
            over=max(carried) > limit_a,
        )
    return Column(
        id=panel.id,
        title=panel.name,
        bus=BUS_WORDS[bus.kind],
        kind=bus.kind,
        state=state_words(moment, panel.id),
        dead=dead,
        rows=rows,
        total=total,
        bar=leg_bar(l1_a=carried[0], l2_a=carried[1], limit_a=panel.rating_a, dead=dead),
        point_id=point_id,
        fed=fed_by(site, panel.id),
    )


def fed_by(site: Site, element_id: str) -> str:
    """In words, what a panel is fed from."""
    names: list[str] = []
    while feeders := site.feeders_into.get(element_id, ()):
        element_id = feeders[0].from_id
        names.append(site.name_of[element_id])
        if len(feeders) > 1 or len(names) > 6:
            break
    return f"fed from {names[0]}" if names else ""


def _live_rows(moment: Moment, panel: Panel) -> Iterator[Row]:
    shares = moment.shares(f"panel_bus:{panel.id}")
    yield from _through_switches(moment, panel, shares)
    yield from _handled(moment, panel, shares)
    yield from _circuit_rows(moment, panel, shares, depth=0)
    for feeder, child in _subpanels(moment.site, panel):
        below = _circuits_fed(moment, child.id)
        l1, l2 = _sum(shares, below)
        point = moment.point_of_feeder(feeder) or f"panel_bus:{child.id}"
        limit_a = moment.limit(point) or child.rating_a
        yield Row(
            child.name,
            f"{rating(limit_a)} A",
            amps_or_dash(l1),
            amps_or_dash(l2),
            "feeder",
            over=max(moment.amps(point) or NONE) > limit_a,
            weight_a=max(l1, l2),
        )
        yield from _circuit_rows(moment, child, shares, depth=1)


def _through_switches(
    moment: Moment, panel: Panel, shares: dict[str, list[float]]
) -> Iterator[Row]:
    for feeder in moment.site.feeders:
        if feeder.from_id != panel.id or feeder.to_id in moment.site.panel_by_id:
            continue
        below = (
            frozenset[str]() if not moment.carries(feeder) else _circuits_fed(moment, feeder.to_id)
        )
        l1, l2 = _sum(shares, below)
        point = moment.point_of_feeder(feeder)
        limit_a = moment.limit(point) if point else None
        yield Row(
            f"To {moment.site.name_of[feeder.to_id]}",
            f"{rating(limit_a)} A" if limit_a else "",
            amps_or_dash(l1),
            amps_or_dash(l2),
            "feeder",
            over=limit_a is not None and max(l1, l2) > limit_a,
            weight_a=max(l1, l2),
        )


def _handled_ids(site: Site) -> frozenset[str]:
    return frozenset(h.circuit_id for t in site.transfer_switches for h in t.handles)


def _handled(moment: Moment, panel: Panel, shares: dict[str, list[float]]) -> Iterator[Row]:
    """Circuits of this panel that are on transfer handles, in one row."""
    handled = _handled_ids(moment.site)
    ids = frozenset(c.id for c in moment.site.circuits if c.panel_id == panel.id) & handled
    if not ids:
        return
    l1, l2 = _sum(shares, ids)
    name = count(len(ids), "circuit on a handle", "circuits on handles")
    yield Row(name, "", amps_or_dash(l1), amps_or_dash(l2), "feeder", weight_a=max(l1, l2))


def _circuit_rows(
    moment: Moment, panel: Panel, shares: dict[str, list[float]], *, depth: int
) -> Iterator[Row]:
    handled = _handled_ids(moment.site)
    own = [c for c in moment.site.circuits if c.panel_id == panel.id and c.id not in handled]
    big = [c for c in own if max(shares.get(c.id, NONE)) >= SMALL_A]
    big.sort(key=lambda c: -max(shares[c.id]))
    cut = len(big) > CIRCUIT_ROWS
    big = [c for n, c in enumerate(big) if n < CIRCUIT_ROWS or max(shares[c.id]) > c.breaker_a]
    for circuit in big:
        yield _circuit_row(circuit, shares[circuit.id], depth)
    small = [c for c in own if c.id in shares and c not in big]
    if small:
        l1, l2 = _sum(shares, frozenset(c.id for c in small))
        yield Row(
            f"{len(small)} smaller"
            if cut
            else f"{count(len(small), 'other')} under {rating(SMALL_A)} A",
            "",
            amps_or_dash(l1),
            amps_or_dash(l2),
            "more",
            depth,
        )


def _circuit_row(circuit: Circuit, pair: list[float] | Pair, depth: int) -> Row:
    cells = [amps_or_dash(value) for value in pair]
    if circuit.poles == 1:
        cells = [
            cell if abs(value) >= 0.05 else "" for cell, value in zip(cells, pair, strict=True)
        ]
    return Row(
        circuit.name,
        f"{rating(circuit.breaker_a)} A",
        cells[0],
        cells[1],
        "circuit",
        depth,
        over=max(pair) > circuit.breaker_a,
        weight_a=max(pair),
        guess=any(a.figure_source == "guess" for a in circuit.appliances),
    )


def _asked(moment: Moment, panel: Panel) -> Iterator[Row]:
    """Rows of a dead bus: what asks for power and gets none, in kilowatts."""
    panels = {panel.id, *(child.id for _, child in _subpanels(moment.site, panel))}
    ids = {c.id for c in moment.site.circuits if c.panel_id in panels}
    ids -= _handled_ids(moment.site)
    asking = [
        (float(moment.run.wanted_w[i, moment.step]), circuit)
        for i, circuit in enumerate(moment.site.circuits)
        if circuit.id in ids and moment.run.wanted_w[i, moment.step] >= 1.0
    ]
    asking.sort(key=lambda pair: -pair[0])
    big = [pair for pair in asking if pair[0] >= SMALL_W][:ASKING_ROWS]
    for watts, circuit in big:
        device = f"{rating(circuit.breaker_a)} A"
        yield Row(circuit.name, device, "", f"{kilowatts(watts)} kW", "asked")
    rest = asking[len(big) :]
    if rest:
        watts = sum(w for w, _ in rest)
        yield Row(count(len(rest), "other"), "", "", f"{kilowatts(watts)} kW", "asked")


def _sum(shares: dict[str, list[float]], ids: frozenset[str]) -> Pair:
    pairs = [pair for circuit_id, pair in shares.items() if circuit_id in ids]
    return sum(p[0] for p in pairs), sum(p[1] for p in pairs)


def _subpanels(site: Site, panel: Panel) -> Iterator[tuple[Feeder, Panel]]:
    for feeder in site.feeders:
        if feeder.from_id == panel.id and feeder.to_id in site.panel_by_id:
            child = site.panel_by_id[feeder.to_id]
            yield feeder, child
            yield from _subpanels(site, child)


def _circuits_fed(moment: Moment, element_id: str) -> frozenset[str]:
    """Circuits that get their power through an element at this moment."""
    reached, waiting = {element_id}, [element_id]
    while waiting:
        here = waiting.pop()
        for feeder in moment.site.feeders:
            if feeder.from_id == here and feeder.to_id not in reached and moment.carries(feeder):
                reached.add(feeder.to_id)
                waiting.append(feeder.to_id)
    return frozenset(c.id for c in moment.site.circuits if c.panel_id in reached)


def _handle_column(moment: Moment, switch: TransferSwitch) -> Column:
    site = moment.site
    rows = []
    for handle in switch.handles:
        circuit = site.circuit(handle.circuit_id)
        pair = moment.amps(f"circuit_breaker:{circuit.id}") or NONE
        row = _circuit_row(circuit, pair, 0)
        if not moment.circuit_live(circuit.id):
            row = Row(circuit.name, row.device, "", "dead", "asked")
        rows.append(row)
    live = any(moment.circuit_live(h.circuit_id) for h in switch.handles)
    generator = any(moment.circuit_on_generator(h.circuit_id) for h in switch.handles)
    carried = moment.amps(f"transfer_switch:{switch.id}") or NONE
    return Column(
        id=switch.id,
        title=switch.name,
        bus="Switchable, by handle",
        kind="switchable",
        state="on generator" if generator else "on utility" if live else "dead",
        dead=not live,
        rows=tuple(rows),
        total=None,
        bar=leg_bar(l1_a=carried[0], l2_a=carried[1], limit_a=switch.rating_a, dead=not live),
        point_id=f"transfer_switch:{switch.id}",
        fed="each handle: its own breaker, or the generator",
    )
