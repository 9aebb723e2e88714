"""Amps on each leg and on the neutral, row by row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import zip_longest
from typing import Literal

from server.domain.base import LEGS, Leg
from server.rules.demand.worksheet import LegRow, LegSheet
from server.rules.editions import Figure, Rulebook
from server.rules.words import percent

NeutralUse = Literal["none", "full", "cooking_dryer"]


@dataclass(frozen=True)
class Share:
    """What one load puts on the legs: demand volt-amperes and how the neutral carries them.

    ``leg`` None lies on both legs. ``va_120`` of it is drawn from one leg to neutral.
    ``motor_va`` is the motor in it, for the largest-motor row.
    """

    label: str
    va: float
    volts: float
    leg: Leg | None
    neutral: NeutralUse
    va_120: float = 0.0
    motor_va: float = 0.0


def _balanced(share: Share, volts: float, reduced: float, sections: tuple[str, str]) -> LegRow:
    hot = share.va / max(share.volts, volts if share.neutral == "full" else share.volts)
    neutral = {"none": 0.0, "full": share.va / volts, "cooking_dryer": share.va / volts * reduced}
    note = f"neutral at {percent(reduced)}" if share.neutral == "cooking_dryer" else ""
    section = sections[1] if share.neutral == "cooking_dryer" else sections[0]
    return LegRow(share.label, hot, hot, neutral[share.neutral], note, section)


def _leg_amps(shares: Iterable[Share], leg: Leg) -> list[tuple[str, float]]:
    amps = [(s.label, s.va / s.volts) for s in shares if s.leg == leg]
    return sorted(amps, key=lambda pair: -pair[1])


def leg_sheet(
    shares: Iterable[Share], *, volts: float, rules: Rulebook, motor_raised: bool = False
) -> LegSheet:
    """Rows and totals of both legs and the neutral.

    120 V loads are paired largest with largest across the legs; each row's neutral is its larger
    leg. The largest motor of each leg is raised by 25 %.

    Parameters
    ----------
    shares : iterable of Share   Demand of everything the conductor carries.
    volts : float                Volts between the legs. [V]
    motor_raised : bool          The largest motor is already raised in its own share.
    """
    every = tuple(shares)
    reduced = rules.figure("neutral_cooking_dryer_factor")
    largest = rules.figure("neutral_load")
    sections = (largest.cite.section, reduced.cite.section)
    single = [s for s in every if s.leg is not None]
    rows = [_balanced(s, volts, reduced.value, sections) for s in every if s.leg is None]
    for one, other in zip_longest(_leg_amps(single, "L1"), _leg_amps(single, "L2")):
        label = " and ".join(name for name, _ in filter(None, (one, other)))
        first, second = one[1] if one else 0.0, other[1] if other else 0.0
        rows.append(LegRow(label, first, second, max(first, second), section=sections[0]))
    extra = rules.figure("largest_motor_extra")
    if not motor_raised:
        rows += _motor_row(every, extra)
    l1, l2 = sum(r.l1_a for r in rows), sum(r.l2_a for r in rows)
    neutral = sum(r.neutral_a for r in rows)
    above = rules.figure("neutral_above_a")
    if neutral > above.value:
        cut = (neutral - above.value) * (1.0 - rules.value("neutral_above_factor"))
        rows.append(
            LegRow(
                f"Neutral above {above.value:g} A",
                0.0,
                0.0,
                -cut,
                f"counted at {percent(rules.value('neutral_above_factor'))}",
                rules.figure("neutral_above_factor").cite.section,
            )
        )
        neutral -= cut
    both = sum(
        _balanced(s, volts, reduced.value, sections).neutral_a for s in every if s.leg is None
    )
    on_leg = {leg: sum(a for _, a in _leg_amps(single, leg)) for leg in LEGS}
    return LegSheet(tuple(rows), l1, l2, neutral, both + max(on_leg.values()), reduced.cite)


def _motor_row(shares: tuple[Share, ...], figure: Figure) -> list[LegRow]:
    def largest(leg: Leg, *, single_only: bool = False) -> float:
        return max(
            (
                s.motor_va / s.volts
                for s in shares
                if s.leg == leg or (s.leg is None and not single_only)
            ),
            default=0.0,
        )

    extra = figure.value
    first, second = extra * largest("L1"), extra * largest("L2")
    neutral = extra * max(largest("L1", single_only=True), largest("L2", single_only=True))
    if not first and not second:
        return []
    words = f"{percent(extra)} of the largest motor"
    return [LegRow(words, first, second, neutral, section=figure.cite.section)]
