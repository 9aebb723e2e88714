"""Panels whose volts fall too far, as findings."""

from __future__ import annotations

from server.advise.starts import DIP_CLOSE, DIP_OVER
from server.advise.volts import MotorVolts, PanelVolts
from server.domain.finding import Finding
from server.rules.editions import Rulebook

_MEND = "Take a larger wire for the long run, or move heavy loads nearer to the source."


def volts_findings(found: tuple[PanelVolts, ...], rules: Rulebook) -> tuple[Finding, ...]:
    """Panels that lose more than the advice for a whole path, running or at a motor's start.

    A start that a small set cannot carry is a finding of its own and not told again here.
    """
    return tuple(finding for one in found if (finding := _finding(one, rules)) is not None)


def _finding(one: PanelVolts, rules: Rulebook) -> Finding | None:
    advice = rules.figure("drop_total_advice")
    motor = one.motor
    if one.status == "over":
        return Finding(
            "volts-low",
            "warning",
            one.panel_id,
            f"{one.name} falls to {one.volts_v:.1f} V {one.where} while {one.source} feeds it: "
            f"{100.0 * one.share_lost:.1f} % is lost on the way.",
            _MEND,
            section=advice.cite.section,
            source=advice.cite.source,
            value=round(100.0 * one.share_lost, 1),
            limit=100.0 * advice.value,
            unit="%",
            where=one.source,
        )
    if motor is not None and motor.status == "over" and motor.set_dip < DIP_CLOSE:
        return Finding(
            "volts-low",
            "warning",
            one.panel_id,
            _start_words(one, motor),
            f"{_MEND} A soft starter asks for less.",
            source="Past 30 % motor relays drop out: common practice, no source.",
            value=round(100.0 * motor.share_lost, 1),
            limit=100.0 * DIP_OVER,
            unit="%",
            where=one.source,
        )
    return None


def _start_words(one: PanelVolts, motor: MotorVolts) -> str:
    if motor.elsewhere:
        return (
            f"{one.name} falls to {motor.volts_v:.0f} of {motor.nominal_v:.0f} V as {motor.name} "
            f"starts on {motor.elsewhere}, fed by {one.source}."
        )
    return (
        f"{motor.name} has {motor.volts_v:.0f} of its {motor.nominal_v:.0f} V as it starts, "
        f"fed by {one.source} through {one.name}."
    )
