"""What a manager that measures a set lets pass: its setting, on the legs for hours, and neutral."""

from __future__ import annotations

from dataclasses import replace

from server.rules.demand.amp_lines import AmpLine, standard_line
from server.rules.demand.worksheet import LegRow, LegSheet, Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.ocpd import standard_or_none_a

LEAST_SHOWN_A = 0.05
"""Less does not show in tenths."""


def up_to_setting(
    left: Worksheet, everything: Worksheet, *, name: str, setting_a: float, rules: Rulebook
) -> Worksheet:
    """What is left under management, no less than what the manager lets on beside it.

    It sheds only above its setting: below, all of its circuits can be on. So wires and device hold
    the setting as a continuous load (220.70), and the neutral carries what of all of it is to
    neutral, up to the setting. The sum itself stays what is left with all of them off.

    Parameters
    ----------
    left : Worksheet        What counts.
    everything : Worksheet  The same with all that the manager may let on, as if it never shed.
    name : str              The manager's.
    setting_a : float       What it holds a leg at. [A]
    """
    factor = 1.0
    figure = rules.figure("continuous_factor")
    if rules.on("managed_setting_continuous"):
        factor = figure.value
    asked = tuple(min(factor * setting_a, a) for a in everything.leg_needed_a)
    needed = (
        max(left.leg_needed_a[0], asked[0]),
        max(left.leg_needed_a[1], asked[1]),
    )
    needed_a = max(needed)
    lines, standard_a = left.amp_lines, left.standard_a
    if needed_a > left.needed_a + LEAST_SHOWN_A:
        rounded_a = round_half_up(needed_a)
        cite = rules.figure("managed_setting").cite.words
        words = f"{factor:g} × {setting_a:g} A, as a continuous load"
        if needed_a < factor * setting_a - LEAST_SHOWN_A:
            words += f", and no more than all of it, {needed_a:.1f} A"
        lines = (
            *lines[:-1],
            AmpLine(f"What {name} lets pass", words, needed_a, "A", cite),
            standard_line(rounded_a, rules.load_article),
        )
        standard_a = standard_or_none_a(rounded_a)
    legs = left.legs
    if legs is not None and everything.legs is not None:
        legs = _neutral(legs, everything.legs, name=name, setting_a=setting_a)
    return replace(
        left,
        leg_needed_a=needed,
        needed_a=max(left.needed_a, needed_a),
        amp_lines=lines,
        standard_a=standard_a,
        legs=legs,
    )


def _neutral(legs: LegSheet, everything: LegSheet, *, name: str, setting_a: float) -> LegSheet:
    most_a = min(everything.neutral_a, setting_a)
    more_a = most_a - legs.neutral_a
    if more_a < LEAST_SHOWN_A:
        return legs
    held = f", held at {setting_a:g} A" if everything.neutral_a > setting_a else ""
    row = LegRow(
        f"What {name} lets on",
        0.0,
        0.0,
        more_a,
        f"{everything.neutral_a:.1f} A to neutral with all of it on{held}",
        legs.neutral_cite.section,
    )
    return replace(
        legs,
        rows=(*legs.rows, row),
        neutral_a=most_a,
        unbalance_a=max(legs.unbalance_a, min(everything.unbalance_a, setting_a)),
    )
