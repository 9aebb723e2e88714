"""The assignment board: buses as columns, their limits, their circuits and where each may go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.circuit import Circuit
from server.domain.edits import free_spaces
from server.domain.panel import Panel, leg_of_space
from server.domain.site import Site
from server.domain.topology import (
    Bus,
    BusKind,
    bus_of_circuit,
    bus_of_panel,
    buses,
    generator_can_energise,
)
from server.simulate.compare import compare
from server.simulate.odds import Odds
from server.simulate.results import Run, Status
from server.web import words
from server.web.board_edits import HANDLE, PANEL, handle_of
from server.web.board_limits import LimitBar, Outcome, limits_by_bus, outcome, worst_bar
from server.web.drawing.columns import circuit_amps
from server.web.drawing.moment import NONE, Moment
from server.web.format import amps_or_dash, count, duration, listed, percent, rating


@dataclass(frozen=True)
class Target:
    """A place a circuit may go to."""

    value: str
    name: str
    room: str
    kind: BusKind
    possible: bool


@dataclass(frozen=True)
class CircuitCard:
    """A circuit with everything that rides on it."""

    id: str
    name: str
    riders: str
    breaker: str
    l1: str
    l2: str
    guess: bool
    pinned: bool
    role: str
    has_role: bool
    partner: str
    targets: tuple[Target, ...]
    moved: bool


@dataclass(frozen=True)
class ClassGroup:
    """Circuits of one class."""

    name: str
    cards: tuple[CircuitCard, ...]


@dataclass(frozen=True)
class Section:
    """A panel (or handle set) of a bus. ``target`` is what a move to it is called."""

    id: str
    name: str
    note: str
    groups: tuple[ClassGroup, ...]
    target: str = ""


@dataclass(frozen=True)
class BoardColumn:
    """A bus."""

    id: str
    name: str
    kind: BusKind
    count: str
    fed: str
    worst: str
    worst_status: Status
    limits: tuple[LimitBar, ...]
    sections: tuple[Section, ...]


@dataclass(frozen=True)
class Board:
    """Everything the board shows."""

    columns: tuple[tuple[BusKind, tuple[BoardColumn, ...]], ...]
    shared: tuple[LimitBar, ...]
    roles_only: bool
    minute: str
    outcome: Outcome | None

    @property
    def can_move(self) -> bool:
        """Whether any circuit has another place to go to."""
        return any(
            card.targets
            for _, columns in self.columns
            for column in columns
            for section in column.sections
            for group in section.groups
            for card in group.cards
        )


def board(
    site: Site,
    run: Run | None,
    before: Run | None,
    moved_id: str,
    *,
    moved_ids: tuple[str, ...] = (),
    odds: Odds | None = None,
) -> Board:
    """The board of a site; with ``before``, each limit also shows how it stood then.

    ``moved_ids`` are all the circuits that were changed, where there is more than one; ``odds`` are
    of many draws of the run, where they were made.
    """
    changes = {c.point.id: c for c in compare(before, run)} if run and before else {}
    moment = _worst_moment(run)
    limits = limits_by_bus(run, changes, odds)
    maker = _Maker(site, moment, frozenset((moved_id, *moved_ids)))
    made = [maker.column(bus, limits.get(bus.id, ()), run) for bus in buses(site) if bus.panel_ids]
    made += [maker.handle_column(t.id, limits) for t in site.transfer_switches if t.handles]
    kinds = dict.fromkeys(c.kind for c in made)
    known = {c.id for c in made}
    loose = tuple(bar for bus_id, bars in limits.items() if bus_id not in known for bar in bars)
    return Board(
        columns=tuple((kind, tuple(c for c in made if c.kind == kind)) for kind in kinds),
        shared=loose,
        roles_only="normal" not in kinds and bool(site.generators),
        minute=moment.at.strftime("%H:%M") if moment else "",
        outcome=outcome(before, run, moved_id, moved_ids) if before and run else None,
    )


def _worst_moment(run: Run | None) -> Moment | None:
    if run is None:
        return None
    worst = run.verdict.worst
    return Moment(run, run.step_of(worst.worst.at) if worst else 0)


class _Maker:
    """Builds columns and cards; looks up free places once a panel."""

    def __init__(self, site: Site, moment: Moment | None, moved_ids: frozenset[str]) -> None:
        self.site, self.moment, self.moved_ids = site, moment, moved_ids
        self.bus_of_circuit = bus_of_circuit(site)
        self.bus_of_panel = bus_of_panel(site)
        self.free = {p.id: free_spaces(site, p) for p in site.panels}

    def column(self, bus: Bus, limits: tuple[LimitBar, ...], run: Run | None) -> BoardColumn:
        own = [self.site.circuit(c) for c in bus.circuit_ids]
        sections = tuple(
            self._section(panel, [c for c in own if c.panel_id == panel.id])
            for panel in (self.site.panel(p) for p in bus.panel_ids)
        )
        result = next((b for b in run.bus_results if b.bus.id == bus.id), None) if run else None
        dead = (
            f" Dead for {duration(result.dead_min)} of this run."
            if result and result.dead_min >= 1
            else ""
        )
        return BoardColumn(
            id=bus.id,
            name=bus.name,
            kind=bus.kind,
            count=count(len(own), "circuit"),
            fed=fed_sentence(self.site, bus) + dead,
            worst=_worst_words(limits),
            worst_status=_worst_status(limits),
            limits=limits,
            sections=sections,
        )

    def handle_column(self, switch_id: str, limits: dict[str, tuple[LimitBar, ...]]) -> BoardColumn:
        switch = next(t for t in self.site.transfer_switches if t.id == switch_id)
        own = [self.site.circuit(h.circuit_id) for h in switch.handles]
        ids = {f"{switch.id}:{c.id}" for c in own} | {switch.id}
        bars = tuple(bar for place in list(limits) if place in ids for bar in limits.pop(place))
        groups = tuple(self._groups(own))
        return BoardColumn(
            id=switch.id,
            name=f"Switchable, {switch.name}",
            kind="switchable",
            count=count(len(own), "handle"),
            fed="Each circuit has its own handle: its own breaker, or the generator.",
            worst=_worst_words(bars),
            worst_status=_worst_status(bars),
            limits=bars,
            sections=(
                Section(
                    switch.id,
                    switch.name,
                    f"{rating(switch.rating_a)} A",
                    groups,
                    f"{HANDLE}{switch.id}",
                ),
            ),
        )

    def _section(self, panel: Panel, circuits: list[Circuit]) -> Section:
        used = panel.spaces - len(self.free[panel.id])
        note = f"{used} of {panel.spaces} spaces taken"
        groups = tuple(self._groups(circuits))
        return Section(panel.id, panel.name, note, groups, f"{PANEL}{panel.id}")

    def _groups(self, circuits: list[Circuit]) -> Iterator[ClassGroup]:
        for value, name in words.LOAD_CLASSES:
            own = [c for c in circuits if c.load_class == value]
            if own:
                yield ClassGroup(name, tuple(self.card(c) for c in _pairs_together(own)))

    def card(self, circuit: Circuit) -> CircuitCard:
        """One circuit with its amps at the worst minute."""
        pair = circuit_amps(self.moment, circuit) if self.moment else NONE
        cells = [amps_or_dash(v) if self.moment else "" for v in pair]
        if circuit.poles == 1:
            other = 1 if leg_of_space(circuit.spaces[0]) == "L1" else 0
            cells[other] = ""
        bus = self.bus_of_circuit[circuit.id]
        partner = self.site.circuit_by_id.get(circuit.multiwire_partner_id or "")
        return CircuitCard(
            id=circuit.id,
            name=circuit.name,
            riders=listed([a.name for a in circuit.appliances]) or "nothing on it yet",
            breaker=f"{rating(circuit.breaker_a)} A",
            l1=cells[0],
            l2=cells[1],
            guess=any(a.figure_source == "guess" for a in circuit.appliances),
            pinned=circuit.pinned,
            role=circuit.outage_role,
            has_role=bus.kind != "normal" and _may_be_on_generator(self.site, bus),
            partner=partner.name if partner else "",
            targets=tuple(self._targets(circuit, partner)),
            moved=circuit.id in self.moved_ids,
        )

    def _targets(self, circuit: Circuit, partner: Circuit | None) -> Iterator[Target]:
        on_handle = handle_of(self.site, circuit.id)
        for panel in self.site.panels:
            kind = self.bus_of_panel[panel.id].kind
            if on_handle is not None:
                if panel.id == circuit.panel_id:
                    yield Target(
                        f"{PANEL}{panel.id}", panel.name, "off the handle", kind, possible=True
                    )
                continue
            if panel.id == circuit.panel_id:
                continue
            places = self._places(panel.id, circuit.poles)
            need = 2 if partner and partner.panel_id != panel.id else 1
            room = _room_words(places, circuit.poles)
            yield Target(f"{PANEL}{panel.id}", panel.name, room, kind, possible=places >= need)
        if on_handle is None and partner is None:
            for switch in self.site.transfer_switches:
                if switch.kind == "handles":
                    yield Target(
                        f"{HANDLE}{switch.id}",
                        switch.name,
                        "onto a handle",
                        "switchable",
                        possible=True,
                    )

    def _places(self, panel_id: str, poles: int) -> int:
        free = self.free[panel_id]
        if poles == 1:
            return len(free)
        taken: set[int] = set()
        for space in sorted(free):
            if space not in taken and space + 2 in free and space + 2 not in taken:
                taken |= {space, space + 2}
        return len(taken) // 2


def _room_words(places: int, poles: int) -> str:
    if poles == 1:
        return count(places, "free space") if places else "no free space"
    return count(places, "free pair") if places else "no free pair of spaces"


def _pairs_together(circuits: list[Circuit]) -> list[Circuit]:
    """The same circuits with multiwire partners next to each other."""
    by_id = {c.id: c for c in circuits}
    found: dict[str, Circuit] = {}
    for circuit in circuits:
        found.setdefault(circuit.id, circuit)
        partner = by_id.get(circuit.multiwire_partner_id or "")
        if partner is not None:
            found.setdefault(partner.id, partner)
    return list(found.values())


def _may_be_on_generator(site: Site, bus: Bus) -> bool:
    return not bus.panel_ids or generator_can_energise(site, bus.panel_ids[0])


def _worst_status(limits: tuple[LimitBar, ...]) -> Status:
    worst = worst_bar(limits)
    return worst.status if worst else "within"


def _worst_words(limits: tuple[LimitBar, ...]) -> str:
    worst = worst_bar(limits)
    return f"{percent(worst.percent)} %" if worst else ""


def fed_sentence(site: Site, bus: Bus) -> str:
    """What feeds a bus, in a sentence or two."""
    switch = next((t for t in site.transfer_switches if t.id == bus.root_id), None)
    throw = next((d for d in site.double_throws if d.id == bus.root_id), None)
    solar = [a.name for a in site.solar if a.panel_id in bus.panel_ids]
    if throw is not None:
        rest = "NORMAL" if throw.resting == "normal" else "BACKED-UP"
        return f"Either feed, by the {rating(throw.rating_a)} A {throw.name}. Rests on {rest}."
    if switch is not None:
        kind = {"interlock": "an interlock", "manual": "a manual switch"}.get(
            switch.kind, "an automatic switch"
        )
        return (
            f"Utility or generator, through {switch.name}, {kind} of {rating(switch.rating_a)} A."
        )
    if bus.kind == "generator":
        return "Generator only."
    text = f"Utility only, from {site.name_of[bus.root_id]}."
    if solar:
        text += f" {listed(solar)} ties in here, and goes dark with the grid."
    return text
