"""The volts of a leg, of which the rules and the sums below them have one figure."""

from __future__ import annotations

from server.physics.legs import NOMINAL_V

LEG_V = NOMINAL_V
"""Volts of a leg to the neutral, as loads are worked out at (220.5(A)). [V]"""
