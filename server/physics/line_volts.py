"""Volts along a tree of three-wire lines, with loads of constant power and of constant impedance.

Solved by sweeps: currents are summed towards the source, volts are taken away from it, until the
volts no longer move; where they run away from each other, all volts at once. Basic circuit theory
(Kirchhoff); no code rule is used here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Complex = NDArray[np.complex128]

L1, L2, BETWEEN = 0, 1, 2
HELD_DOWN_TO = 0.5
"""Share of its volts under which a load of constant power is taken as an impedance: below it no
real appliance holds its power, and the sweeps would find no answer."""

_ROUNDS = 80
_HEAVY_ROUNDS = 1000
_STILL_V = 1e-6
_ENDS = np.array([[1, 0, -1], [0, 1, -1], [1, -1, 0]])
"""Wires L1, L2 and neutral that loads on L1, on L2 and between them leave (1) and come back by."""


@dataclass(frozen=True)
class Tree:
    """Nodes that hang from one source, the source first and each after what it hangs from.

    parent       (nodes,)     index of the node ahead, -1 for the source.
    hot_ohm      (nodes,)     impedance of each hot of the line into the node. [ohm]
    neutral_ohm  (nodes,)     impedance of its neutral. [ohm]
    source_v     (2,)         volts of both legs to neutral at the source, as phasors.
    """

    parent: tuple[int, ...]
    hot_ohm: Complex
    neutral_ohm: Complex
    source_v: tuple[complex, complex]

    @property
    def nominal_v(self) -> Complex:
        """Volts of L1, L2 and between them at the source."""
        first, second = self.source_v
        return np.array([first, second, first - second])


def volts_under_load(tree: Tree, *, power_va: Complex, impedance_va: Complex) -> Complex:
    """Volts L1 to neutral, L2 to neutral and L1 to L2 at every node: (nodes, 3, times).

    ``power_va`` and ``impedance_va`` are (nodes, 3, times): complex VA that loads on L1, on L2 and
    between them draw, at whatever volts they get, or at the source's volts and with the square of
    theirs after that.

    >>> ohm = np.array([0, 0.1 + 0j])
    >>> tree = Tree((-1, 0), ohm, ohm, (120 + 0j, -120 + 0j))
    >>> heater = np.zeros((2, 3, 1), dtype=complex)
    >>> heater[1, BETWEEN] = 4800.0
    >>> volts = volts_under_load(tree, power_va=0 * heater, impedance_va=heater)
    >>> round(float(abs(volts[1, BETWEEN, 0])), 3)  # 240 V over 12 + 0.2 ohm
    236.066
    """
    admittance, held = _siemens(tree, impedance_va), _siemens(tree, power_va)
    found = _at_source(tree, power_va.shape[2])
    for _ in range(_ROUNDS):
        before, found = found, _swept(tree, admittance, held, found)
        moved_v = np.abs(found - before).max(axis=(0, 1), initial=0.0)
        if moved_v.max(initial=0.0) < _STILL_V:
            return found
    heavy = moved_v >= _STILL_V
    found[:, :, heavy] = _solved(tree, admittance[:, :, heavy], held[:, :, heavy])
    return found


def volts_at_nominal_amps(tree: Tree, *, power_va: Complex, impedance_va: Complex) -> Complex:
    """The same by one sweep: all draw the amps of their VA at the source's volts."""
    admittance, held = _siemens(tree, impedance_va), _siemens(tree, power_va)
    return _swept(tree, admittance, held, _at_source(tree, power_va.shape[2]))


def _siemens(tree: Tree, va: Complex) -> Complex:
    """Admittance of loads that draw ``va`` at the source's volts; none where it has no volts."""
    square = np.abs(tree.nominal_v[:, None]) ** 2
    siemens: Complex = va.conj() / np.where(square > 0.0, square, np.inf)
    return siemens


def _at_source(tree: Tree, times: int) -> Complex:
    volts = np.empty((len(tree.parent), 3, times), dtype=np.complex128)
    volts[:] = tree.nominal_v[:, None]
    return volts


def _share(tree: Tree, volts: Complex) -> NDArray[np.float64]:
    """Share of the source's volts by which loads of constant power are taken."""
    size = np.abs(tree.nominal_v[:, None])
    return np.maximum(np.abs(volts) / np.where(size > 0.0, size, 1.0), HELD_DOWN_TO)


def _swept(tree: Tree, admittance: Complex, held: Complex, volts: Complex) -> Complex:
    """Volts after the amps at ``volts`` are summed to the source and their drops taken away."""
    amps = (admittance + held / _share(tree, volts) ** 2) * volts
    into = np.stack(
        [
            amps[:, L1] + amps[:, BETWEEN],
            amps[:, L2] - amps[:, BETWEEN],
            -(amps[:, L1] + amps[:, L2]),
        ],
        axis=1,
    )
    for node in range(len(tree.parent) - 1, 0, -1):
        into[tree.parent[node]] += into[node]
    wires = np.zeros_like(volts)
    wires[0, :2] = np.array(tree.source_v)[:, None]
    for node in range(1, len(tree.parent)):
        ohm = np.array([tree.hot_ohm[node], tree.hot_ohm[node], tree.neutral_ohm[node]])
        wires[node] = wires[tree.parent[node]] - ohm[:, None] * into[node]
    return _across(wires)


def _solved(tree: Tree, admittance: Complex, held: Complex) -> Complex:
    """Volts where sweeps do not settle: loads so heavy that the line takes half of the volts.

    The volts of all wires are the source's less the ohms they share with each load times its amps,
    solved for them at once; only the share of constant power is found by rounds.
    """
    nodes, _, times = admittance.shape
    shared = _ohms_shared(tree)
    wires = np.zeros((nodes, 3, times), dtype=np.complex128)
    source = np.zeros((times, nodes, 3), dtype=np.complex128)
    source[:, :, :2] = np.array(tree.source_v)
    volts = _at_source(tree, times)
    share = _share(tree, volts)
    for _ in range(_HEAVY_ROUNDS):
        loads = (admittance + held / share**2).transpose(2, 0, 1)
        amps = np.einsum("tjb,bw,bv->tjwv", loads, _ENDS, _ENDS)
        drop = np.einsum("wkj,tjwv->tkwjv", shared, amps).reshape(times, 3 * nodes, 3 * nodes)
        flat = np.linalg.solve(np.eye(3 * nodes) + drop, source.reshape(times, 3 * nodes, 1))
        wires[:] = flat.reshape(times, nodes, 3).transpose(1, 2, 0)
        before, volts = volts, _across(wires)
        if np.abs(volts - before).max(initial=0.0) < _STILL_V:
            break
        share = np.sqrt(share * _share(tree, volts))
    return volts


def _ohms_shared(tree: Tree) -> Complex:
    """Ohms of L1, L2 and neutral on the way that is common to two nodes: (3, nodes, nodes)."""
    on_way = np.zeros((len(tree.parent), len(tree.parent)))
    for node in range(1, len(tree.parent)):
        on_way[node] = on_way[tree.parent[node]]
        on_way[node, node] = 1.0
    ohms = np.stack([tree.hot_ohm, tree.hot_ohm, tree.neutral_ohm])
    shared: Complex = np.einsum("kn,wn,jn->wkj", on_way, ohms, on_way)
    return shared


def _across(wires: Complex) -> Complex:
    """Volts L1 to neutral, L2 to neutral and L1 to L2 out of the volts of the three wires."""
    first, second, neutral = wires[:, 0], wires[:, 1], wires[:, 2]
    return np.stack([first - neutral, second - neutral, first - second], axis=1)
