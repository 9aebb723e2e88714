"""The lowest volts at every panel of a run, running and while the hardest motors start."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from server.advise.lines import SiteTree, Tap, drawn_va, site_trees, taps_of
from server.advise.starts import (
    ASSUMED_REACTANCE_PU,
    DIP_CLOSE,
    DIP_OVER,
    SetStarts,
    Start,
    start_kva,
    winding_factor,
)
from server.domain.appliance import Appliance
from server.domain.base import Leg
from server.domain.working import Term, Working
from server.physics.legs import NOMINAL_V, resistive_share
from server.physics.line_volts import BETWEEN, Complex, volts_at_nominal_amps, volts_under_load
from server.physics.motor import start_dip
from server.rules.editions import Rulebook, rulebook, table_cite
from server.simulate.flows import StepFlows
from server.simulate.network import Network
from server.simulate.results import Run, Status

_CANDIDATES = 6
"""Cells of each panel and leg that are solved in full, of those lowest at nominal volts."""


MOST_V = 126.0
"""The most of 120 V. Source: ANSI C84.1, range A (from memory)."""


@dataclass(frozen=True)
class MotorVolts:
    """Volts at a panel as a motor starts, in the panel's worst minute: at the motor's terminals.

    Of a motor ``elsewhere`` under the same source, the name of its panel or switch, they are those
    of this panel's lower leg. ``share_lost`` counts the dip of a generator, ``set_dip``, as well as
    the line. ``guess``: its start is one.
    """

    name: str
    volts_v: float
    nominal_v: float
    share_lost: float
    set_dip: float
    guess: bool
    status: Status
    elsewhere: str = ""


@dataclass(frozen=True)
class _Candidate:
    """The largest motor that ran on one node and wire of a tree."""

    kva: float
    guess: bool
    tap: Tap
    wire: int
    appliance: Appliance


@dataclass(frozen=True)
class PanelVolts:
    """The lowest one-minute mean of volts to neutral at a panel while one source feeds it.

    Where no neutral comes there it is of the volts between its legs, and ``leg`` is None.
    ``between_v`` is between the legs at that time, None on a set of 120 V only. ``unmeasured`` are
    feeders on the way without a usable length and wire; with any, the true volts are lower.
    ``joint`` is what several motors that surely start together leave, None where the hardest single
    ``motor`` leaves less.
    """

    panel_id: str
    name: str
    source_id: str
    source: str
    leg: Leg | None
    volts_v: float
    between_v: float | None
    share_lost: float
    at: datetime
    unmeasured: tuple[str, ...]
    motor: MotorVolts | None
    status: Status
    working: Working
    joint: MotorVolts | None = None

    @property
    def lifted_v(self) -> float | None:
        """Volts of the other leg then, where a shared neutral lifts them too far; else None. [V]"""
        if self.leg is None or self.between_v is None:
            return None
        other_v = self.between_v - self.volts_v
        return other_v if other_v > MOST_V else None

    @property
    def where(self) -> str:
        """Between what the volts are, in a sentence."""
        return "between its legs" if self.leg is None else f"on {self.leg}"


def panel_volts(run: Run, starts: Iterable[SetStarts] = ()) -> tuple[PanelVolts, ...]:
    """Lowest volts of every panel under every source that fed it, the lowest first.

    ``starts`` are those of its sets, for what starts together on them.

    Raises
    ------
    TypeError   For a run whose march was not kept.
    """
    flows = run.flows
    if not isinstance(flows, StepFlows):
        raise TypeError("The march of this run was not kept.")
    rules = rulebook(run.site.code_edition)
    network = Network(run.site, run.points)
    together = {
        one.generator_id: one.worst for one in starts if one.worst and len(one.worst.motors) > 1
    }
    found: dict[tuple[str, str], PanelVolts] = {}
    for state, cells in flows.cells_by_state():
        trees = site_trees(network, state) if cells.size else ()
        for site_tree, taps in zip(trees, taps_of(network, state, trees), strict=True):
            stretch = _Stretch(run, flows, rules, site_tree, tuple(taps), cells, together)
            for one in stretch.panels():
                key = (one.panel_id, one.source_id)
                found[key] = _worse(found[key], one) if key in found else one
    return tuple(sorted(found.values(), key=lambda one: -one.share_lost))


def _worse(known: PanelVolts, new: PanelVolts) -> PanelVolts:
    """The lower volts of two stretches, with the start that leaves least in either."""
    motors = [one.motor for one in (known, new) if one.motor is not None]
    joint = [one.joint for one in (known, new) if one.joint is not None]
    lower = new if new.share_lost > known.share_lost else known
    return replace(
        lower,
        motor=max(motors, key=lambda m: m.share_lost, default=None),
        joint=max(joint, key=lambda m: m.share_lost, default=None),
    )


@dataclass(frozen=True)
class _Stretch:
    """The cells in which one tree stood."""

    run: Run
    flows: StepFlows
    rules: Rulebook
    site_tree: SiteTree
    taps: tuple[Tap, ...]
    cells: NDArray[np.int64]
    together: Mapping[str, Start]

    def panels(self) -> list[PanelVolts]:
        """The lowest volts of each panel.

        All cells are screened by the drop at nominal amps; those that are lowest there are solved.
        """
        tree = self.site_tree.tree
        power, impedance = drawn_va(self.site_tree, self.taps, self.flows.taken_w[:, self.cells])
        screened = np.abs(volts_at_nominal_amps(tree, power_va=power, impedance_va=impedance))
        count = min(_CANDIDATES, self.cells.size)
        lowest = np.argpartition(screened[:, :BETWEEN], count - 1, axis=2)[:, :, :count]
        bare = [node for node in range(len(self.site_tree.nodes)) if self._between_alone(node)]
        across = np.argpartition(screened[bare, BETWEEN], count - 1, axis=1)[:, :count]
        chosen = np.unique(np.append(lowest, across))
        power, impedance = power[:, :, chosen], impedance[:, :, chosen]
        volts = np.abs(volts_under_load(tree, power_va=power, impedance_va=impedance))
        found = []
        for node, name in enumerate(self.site_tree.nodes):
            if name in self.run.site.panel_by_id:
                first = BETWEEN if self._between_alone(node) else 0
                lowest_v = volts[node, first : first + 1 if first else BETWEEN]
                wire, time = divmod(int(lowest_v.argmin()), lowest_v.shape[1])
                wire += first
                cell = int(self.cells[chosen[time]])
                drawn = power[:, :, [time]], impedance[:, :, [time]]
                motor = self._motor(node, cell, *drawn)
                told = self._panel(node, wire, volts[node, :, time], cell, motor)
                joint = self._joint(node, cell, *drawn)
                if joint is not None and motor is not None:
                    joint = joint if joint.share_lost > motor.share_lost else None
                found.append(replace(told, joint=joint))
        return found

    def _between_alone(self, node: int) -> bool:
        """Whether a node has volts between its legs and no neutral."""
        return self.site_tree.system != "120" and not self.site_tree.neutral[node]

    def _nominal_v(self, wire: int) -> float:
        return abs(self.site_tree.tree.nominal_v[wire]) if wire == BETWEEN else NOMINAL_V

    def _panel(
        self,
        node: int,
        wire: int,
        volts: NDArray[np.float64],
        cell: int,
        motor: MotorVolts | None,
    ) -> PanelVolts:
        site, site_tree = self.run.site, self.site_tree
        at_s = float(self.flows.cells.start_s[cell])
        lost = 1.0 - float(volts[wire]) / self._nominal_v(wire)
        leg: Leg = "L1" if wire == int(site_tree.flipped[node]) else "L2"
        panel = site.panel_by_id[site_tree.nodes[node]]
        return PanelVolts(
            panel_id=panel.id,
            name=panel.name,
            source_id=site_tree.source_id,
            source=site.name_of[site_tree.source_id],
            leg=None if wire == BETWEEN else leg,
            volts_v=float(volts[wire]),
            between_v=None if site_tree.system == "120" else float(volts[BETWEEN]),
            share_lost=lost,
            at=self.run.scenario.start + timedelta(seconds=at_s),
            unmeasured=site_tree.unmeasured[node],
            motor=motor,
            status=_status(
                lost,
                close=self.rules.value("drop_run_advice"),
                over=self.rules.value("drop_total_advice"),
            ),
            working=self._working(node, panel.name, float(volts[wire]), wire),
        )

    def _working(self, node: int, name: str, volts_v: float, wire: int) -> Working:
        ohm, at = 0j, node
        while at > 0:
            ohm += complex(self.site_tree.tree.hot_ohm[at])
            at = self.site_tree.tree.parent[at]
        cite = table_cite("impedance", self.rules.edition).words
        between = wire == BETWEEN
        back = "both hots" if between else "the hot and of the neutral"
        return Working(
            title=f"{name}, lowest volts {'between its legs' if between else 'to neutral'}",
            value=volts_v,
            unit="V",
            formula=f"source volts − amps × ohms of {back}, feeder by feeder, "
            "as phasors; resistances as impedances, all else at constant power",
            terms=(
                Term("source", self._nominal_v(wire), "V", "taken as nominal"),
                Term("each hot, resistance", ohm.real, "Ω", cite),
                Term("each hot, reactance", ohm.imag, "Ω", cite),
            ),
            source=cite,
        )

    @cached_property
    def _candidates(self) -> tuple[_Candidate, ...]:
        """The largest motor that ran on each node and wire; no other there dips any panel more."""
        appliances = {a.id: a for c in self.run.site.circuits for a in c.appliances}
        found: dict[tuple[int, int], _Candidate] = {}
        for tap in self.taps:
            appliance = appliances.get(self.flows.loads[tap.row].id)
            start = start_kva(appliance) if appliance else None
            if appliance is None or start is None:
                continue
            if not self.flows.taken_w[tap.row, self.cells].any():
                continue
            wire = tap.wire if appliance.volts == 120 else BETWEEN
            known = found.get((tap.node, wire))
            if known is None or start[0] > known.kva:
                found[tap.node, wire] = _Candidate(*start[:2], tap, wire, appliance)
        return tuple(found.values())

    def _motor(self, node: int, cell: int, power: Complex, impedance: Complex) -> MotorVolts | None:
        """The start that leaves least at this node, of any motor of the tree, as ``cell`` ran."""
        found = (self._started(one, node, cell, power, impedance) for one in self._candidates)
        return max(found, key=lambda one: one.share_lost, default=None)

    def _started(
        self, one: _Candidate, node: int, cell: int, power: Complex, impedance: Complex
    ) -> MotorVolts:
        """Volts at a node as one motor starts on top of what ran in ``cell``."""
        dip = _set_dip(self.run, self.site_tree.source_id, one.kva, one.appliance)
        volts = self._as_they_start((one,), dip, cell, power, impedance)[node]
        there = one.tap.node == node
        wire = one.wire if there else self._lower_wire(node, volts)
        name, at = one.appliance.name, self.site_tree.nodes[one.tap.node]
        elsewhere = "" if there else self.run.site.name_of[at]
        return self._told(name, float(volts[wire]), wire, dip, guess=one.guess, elsewhere=elsewhere)

    def _joint(self, node: int, cell: int, power: Complex, impedance: Complex) -> MotorVolts | None:
        """What is left at a node as those start that are hardest together, on its lower leg."""
        start = self.together.get(self.site_tree.source_id)
        if start is None:
            return None
        tap_of = {self.flows.loads[tap.row].id: tap for tap in self.taps}
        parts = []
        for motor in start.motors:
            tap = tap_of.get(motor.appliance.id)
            if tap is not None:
                wire = tap.wire if motor.appliance.volts == 120 else BETWEEN
                parts.append(_Candidate(motor.kva, motor.guess, tap, wire, motor.appliance))
        if len(parts) < len(start.motors):
            return None
        volts = self._as_they_start(parts, start.dip, cell, power, impedance)[node]
        wire = self._lower_wire(node, volts)
        name, guess = f"{len(parts)} motors at once", any(one.guess for one in parts)
        return self._told(name, float(volts[wire]), wire, start.dip, guess=guess)

    def _as_they_start(
        self, parts: Iterable[_Candidate], dip: float, cell: int, power: Complex, impedance: Complex
    ) -> NDArray[np.float64]:
        """Volts of every node and wire as motors start in place of what they took in ``cell``."""
        tree, left = self.site_tree.tree, 1.0 - dip
        sagged = replace(tree, source_v=(tree.source_v[0] * left, tree.source_v[1] * left))
        factor = self.rules.value("start_power_factor")
        power, impedance = power.copy(), impedance.copy()
        for one in parts:
            tap, taken_w = one.tap, float(self.flows.taken_w[one.tap.row, cell])
            start_va = one.kva * 1000.0 * complex(factor, math.sqrt(1.0 - factor * factor))
            if one.wire == BETWEEN:
                start_va *= resistive_share(self.site_tree.system)
            power[tap.node, tap.wire] -= tap.to_neutral_va * taken_w
            power[tap.node, BETWEEN] -= tap.between_va * taken_w
            impedance[tap.node, one.wire] += start_va
        solved = volts_under_load(sagged, power_va=power, impedance_va=impedance * left**2)
        return np.abs(solved[:, :, 0])

    def _told(
        self, name: str, volts_v: float, wire: int, dip: float, *, guess: bool, elsewhere: str = ""
    ) -> MotorVolts:
        nominal_v = float(np.abs(self.site_tree.tree.nominal_v[wire]))
        lost = 1.0 - volts_v / nominal_v
        return MotorVolts(
            name=name,
            volts_v=volts_v,
            nominal_v=nominal_v,
            share_lost=lost,
            set_dip=dip,
            guess=guess,
            status=_status(lost, close=DIP_CLOSE, over=DIP_OVER),
            elsewhere=elsewhere,
        )

    def _lower_wire(self, node: int, volts: NDArray[np.float64]) -> int:
        if self._between_alone(node):
            return BETWEEN
        return 0 if self.site_tree.system == "120" else int(volts[:BETWEEN].argmin())


def _status(lost: float, *, close: float, over: float) -> Status:
    return "over" if lost > over else ("close" if lost > close else "within")


def _set_dip(run: Run, source_id: str, kva: float, appliance: Appliance) -> float:
    """Share of its volts that a set loses at this start; none at the utility's meter."""
    for generator in run.site.generators:
        if generator.id == source_id:
            pu = generator.reactance_pu or ASSUMED_REACTANCE_PU
            return start_dip(
                start_kva=kva * winding_factor(generator, appliance),
                set_kva=generator.kva,
                reactance_pu=pu,
            )
    return 0.0
