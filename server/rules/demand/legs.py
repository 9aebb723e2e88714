"""Amps on each leg and on the neutral, row by row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Literal

from server.domain.base import LEGS, Leg
from server.rules.demand.amp_lines import of_wye
from server.rules.demand.worksheet import LegRow, LegSheet
from server.rules.editions import Figure, Rulebook
from server.rules.leg import LEG_V
from server.rules.words import percent

NeutralUse = Literal["none", "full", "cooking_dryer", "part"]
LEAST_ADDED_A = 0.05
"""Below this nothing would show in a row of tenths."""


@dataclass(frozen=True)
class Share:
    """What one load puts on the legs: demand volt-amperes and how the neutral carries them.

    ``leg`` None lies on both legs. ``va_120`` of a load between the legs is drawn from
    ``leg_120`` to neutral, or from both alike where that is None. ``motor_va`` is the motor in it,
    for the largest-motor row. Where ``legs_a`` tells the amps of L1 and L2, they count for ``va``,
    and ``to_neutral_a`` what of them each leg has to the neutral. [A]
    """

    label: str
    va: float
    volts: float
    leg: Leg | None
    neutral: NeutralUse
    va_120: float = 0.0
    motor_va: float = 0.0
    leg_120: Leg | None = None
    legs_a: tuple[float, float] | None = None
    to_neutral_a: tuple[float, float] = (0.0, 0.0)

    @property
    def between(self) -> bool:
        """Whether it lies between the legs, but for its ``va_120``."""
        return self.leg is None and self.neutral != "full"

    @property
    def to_neutral_va(self) -> float:
        """What of it lies from a leg to neutral. [VA]"""
        return (self.va_120 if self.leg_120 else 0.0) if self.between else self.va

    def hot_a(self, leg: Leg, volts: float) -> float:
        """Amps of a load on both legs on one of them, over these volts. [A]"""
        if self.legs_a is not None:
            return self.legs_a[LEGS.index(leg)]
        if self.leg_120 is None:
            return self.va / volts
        on_it = self.va_120 / LEG_V if leg == self.leg_120 else 0.0
        return (self.va - self.va_120) / volts + on_it


def _balanced(share: Share, volts: float, reduced: float, sections: tuple[str, str]) -> LegRow:
    spread = 2 * LEG_V if of_wye(volts) else volts
    over = max(share.volts, spread) if share.neutral == "full" else share.volts
    hot = {leg: share.hot_a(leg, over) for leg in LEGS}
    neutral = {
        "none": 0.0,
        "full": share.va / spread,
        "cooking_dryer": share.va / volts * reduced,
        "part": max(share.to_neutral_a),
    }
    note = f"neutral at {percent(reduced)}" if share.neutral == "cooking_dryer" else ""
    section = sections[1] if share.neutral == "cooking_dryer" else sections[0]
    if share.leg_120 is not None:
        note += f", {share.va_120:,.0f} VA of it from {share.leg_120} to neutral"
    return LegRow(share.label, hot["L1"], hot["L2"], neutral[share.neutral], note, section)


def _leg_amps(shares: Iterable[Share], leg: Leg) -> list[tuple[str, float]]:
    amps = [(s.label, s.va / s.volts) for s in shares if s.leg == leg]
    return sorted(amps, key=lambda pair: -pair[1])


def leg_sheet(
    shares: Iterable[Share], *, volts: float, rules: Rulebook, motor_raised: bool = False
) -> LegSheet:
    """Rows and totals of both legs and the neutral.

    120 V loads are paired largest with largest across the legs; each row's neutral is its larger
    leg, as the examples of the code add them. 120 V loads on both legs are half on each, over
    120 V. The sum is held to the largest load between the
    neutral and any one leg, which is what 220.61(A) asks for. The largest motor of each leg is
    raised by 25 %. On two legs of a 120/208 V wye the neutral is not reduced, and a load between
    them counts its nameplate over 208 V, whatever volts it is made for (220.5(A)).

    Parameters
    ----------
    shares : iterable of Share   Demand of everything the conductor carries.
    volts : float                Volts between the legs. [V]
    motor_raised : bool          The largest motor is already raised in its own share.
    """
    wye = of_wye(volts)
    every = tuple(replace(s, volts=volts) if wye and s.between else s for s in shares)
    reduced = rules.figure("neutral_wye_factor" if wye else "neutral_cooking_dryer_factor")
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
    both = sum(
        _balanced(s, volts, reduced.value, sections).neutral_a
        for s in every
        if s.leg is None and s.neutral != "part"
    )
    on_leg = {
        leg: sum(a for _, a in _leg_amps(single, leg)) + sum(s.to_neutral_a[i] for s in every)
        for i, leg in enumerate(LEGS)
    }
    if not motor_raised:
        on_leg = {leg: a + extra.value * _largest(single, leg) for leg, a in on_leg.items()}
    unbalance = both + max(on_leg.values())
    if neutral > unbalance + 1e-9:
        rows.append(
            LegRow(
                "No more than the fuller leg to neutral",
                0.0,
                0.0,
                unbalance - neutral,
                f"{both:.1f} A on both, {on_leg['L1']:.1f} A on L1, {on_leg['L2']:.1f} A on L2",
                largest.cite.section,
            )
        )
        neutral = unbalance
    above = rules.figure("neutral_above_a")
    if neutral > above.value and not wye:
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
    single_va = sum(s.to_neutral_va for s in every)
    to_neutral_a = (both + on_leg["L1"], both + on_leg["L2"])
    return LegSheet(
        tuple(rows), l1, l2, neutral, unbalance, largest.cite, single_va, to_neutral_a=to_neutral_a
    )


def with_other_season(legs: LegSheet, other: LegSheet, running: str) -> LegSheet:
    """These legs, each wire no less than where the smaller of heating and cooling runs instead.

    220.60 leaves that out of the sum; 220.61(A) asks the neutral for the maximum unbalance all the
    same, and a leg carries what is on it alone. What it adds is the last row.

    Parameters
    ----------
    other : LegSheet   The same with what is left out of the sum in place of what counts.
    running : str      What runs there, for the row.
    """
    fuller = no_less(
        legs,
        other,
        f"More where {running} alone runs",
        "; left out of the sum, not off the wires it loads",
    )
    added = (fuller.l1_a - legs.l1_a, fuller.l2_a - legs.l2_a)
    return replace(fuller, other_season_a=added)


def no_less(legs: LegSheet, other: LegSheet, label: str, why: str = "") -> LegSheet:
    """These legs, each wire no less than in the other sheet; what that adds is the last row."""
    first, second = max(0.0, other.l1_a - legs.l1_a), max(0.0, other.l2_a - legs.l2_a)
    neutral = max(0.0, other.neutral_a - legs.neutral_a)
    unbalance = max(legs.unbalance_a, other.unbalance_a)
    on_l1, on_l2 = (max(a, b) for a, b in zip(legs.to_neutral_a, other.to_neutral_a, strict=True))
    legs = replace(legs, unbalance_a=unbalance, to_neutral_a=(on_l1, on_l2))
    if max(first, second, neutral) < LEAST_ADDED_A:
        return legs
    row = LegRow(
        label,
        first,
        second,
        neutral,
        f"then {other.l1_a:.1f} A on L1, {other.l2_a:.1f} A on L2, {other.neutral_a:.1f} A on the "
        f"neutral{why}",
        legs.neutral_cite.section,
    )
    return replace(
        legs,
        rows=(*legs.rows, row),
        l1_a=legs.l1_a + first,
        l2_a=legs.l2_a + second,
        neutral_a=legs.neutral_a + neutral,
    )


def _largest(shares: Iterable[Share], leg: Leg) -> float:
    """Largest motor on a leg, those between the legs among them. [A]"""
    return max((s.motor_va / s.volts for s in shares if s.leg in (leg, None)), default=0.0)


def _motor_row(shares: tuple[Share, ...], figure: Figure) -> list[LegRow]:
    extra = figure.value
    first, second = extra * _largest(shares, "L1"), extra * _largest(shares, "L2")
    single = [s for s in shares if s.leg is not None]
    neutral = extra * max(_largest(single, "L1"), _largest(single, "L2"))
    if not first and not second:
        return []
    words = f"{percent(extra)} of the largest motor"
    return [LegRow(words, first, second, neutral, section=figure.cite.section)]
