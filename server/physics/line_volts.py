"""Volts along a tree of three-wire lines, with loads of constant power and of constant impedance.

Solved by sweeps: currents are summed towards the source, volts are taken away from it, until the
volts no longer move. Basic circuit theory (Kirchhoff); no code rule is used here.
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

_SWEEPS = 80
_STILL_V = 1e-6


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


def volts_under_load(
    tree: Tree, *, power_va: Complex, impedance_va: Complex, sweeps: int = _SWEEPS
) -> Complex:
    """Volts L1 to neutral, L2 to neutral and L1 to L2 at every node: (nodes, 3, times).

    ``power_va`` and ``impedance_va`` are (nodes, 3, times): complex VA that loads on L1, on L2 and
    between them draw, at whatever volts they get, or at the source's volts and with the square of
    theirs after that. One sweep gives the drop at nominal amps.

    >>> ohm = np.array([0, 0.1 + 0j])
    >>> tree = Tree((-1, 0), ohm, ohm, (120 + 0j, -120 + 0j))
    >>> heater = np.zeros((2, 3, 1), dtype=complex)
    >>> heater[1, BETWEEN] = 4800.0
    >>> volts = volts_under_load(tree, power_va=0 * heater, impedance_va=heater)
    >>> round(float(abs(volts[1, BETWEEN, 0])), 3)  # 240 V over 12 + 0.2 ohm
    236.066
    """
    nominal = tree.nominal_v[:, None]
    size = np.abs(nominal)
    square = np.where(size > 0.0, size**2, np.inf)
    admittance = np.conj(impedance_va) / square
    held = np.conj(power_va) / square
    wires = np.zeros((len(tree.parent), 3, power_va.shape[2]), dtype=np.complex128)
    wires[:, :2] = np.array(tree.source_v)[None, :, None]
    found = _across(wires)
    for _ in range(sweeps):
        share = np.maximum(np.abs(found) / np.where(size > 0.0, size, 1.0), HELD_DOWN_TO)
        amps = (admittance + held / share**2) * found
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
        for node in range(1, len(tree.parent)):
            ohm = np.array([tree.hot_ohm[node], tree.hot_ohm[node], tree.neutral_ohm[node]])
            wires[node] = wires[tree.parent[node]] - ohm[:, None] * into[node]
        before, found = found, _across(wires)
        if np.abs(found - before).max(initial=0.0) < _STILL_V:
            break
    return found


def _across(wires: Complex) -> Complex:
    """Volts L1 to neutral, L2 to neutral and L1 to L2 out of the volts of the three wires."""
    first, second, neutral = wires[:, 0], wires[:, 1], wires[:, 2]
    return np.stack([first - neutral, second - neutral, first - second], axis=1)
