"""From total volt-amperes to amps, one line a step, so that each can be checked by hand."""

from __future__ import annotations

from dataclasses import dataclass

from server.rules.editions import Figure
from server.rules.ocpd import next_standard_a

LEG_V = 120.0
"""Volts of a leg to the neutral. [V]"""
LENT = (
    "common practice, no source: a method without legs of its own takes the unbalance of the "
    "standard method, in proportion"
)


@dataclass(frozen=True)
class AmpLine:
    """One step: what it is, the sum that gives it, and where that stands."""

    label: str
    sum: str
    value: float
    unit: str
    source: str = ""


@dataclass(frozen=True)
class Continuous:
    """What runs three hours or longer: between the legs, and from each leg to neutral. [VA]"""

    between_va: float = 0.0
    l1_va: float = 0.0
    l2_va: float = 0.0

    @property
    def total_va(self) -> float:
        """All of it. [VA]"""
        return self.between_va + self.l1_va + self.l2_va

    def amps(self, volts: float) -> tuple[float, float]:
        """Amps on L1 and on L2; a source of one leg carries all of it on that. [A]

        Examples
        --------
        Two mats of 600 VA on L1 are 10 A there, and nothing on L2:

        >>> Continuous(l1_va=1200).amps(240)
        (10.0, 0.0)
        """
        if volts <= LEG_V:
            return self.total_va / volts, self.total_va / volts
        both = self.between_va / volts
        return both + self.l1_va / LEG_V, both + self.l2_va / LEG_V

    def words(self, leg: int, volts: float) -> str:
        """The sum of one leg's amps, 0 for L1, but for its factor."""
        on_leg = (self.l1_va, self.l2_va)[leg]
        if volts <= LEG_V:
            return f"{self.total_va:,.0f} VA / {volts:g} V"
        parts = [f"{self.between_va:,.0f} VA / {volts:g} V"] if self.between_va else []
        parts += [f"{on_leg:,.0f} VA / {LEG_V:g} V"] if on_leg else []
        return " + ".join(parts) if len(parts) == 1 else f"({' + '.join(parts)})"


@dataclass(frozen=True)
class LegAmps:
    """Amps of both legs by a method, and the lines that lead to the heavier one.

    ``l1_a`` and ``l2_a`` are as the method itself or the standard method lends them; where their
    heavier one is under the total over volts, both are that.
    """

    l1_a: float
    l2_a: float
    lines: tuple[AmpLine, ...]

    @property
    def heavier_a(self) -> float:
        """Amps of the heavier leg."""
        return max(self.l1_a, self.l2_a)


def leg_amps(
    *,
    total_va: float,
    volts: float,
    legs_a: tuple[float, float] | None,
    own: bool,
    article: str = "220",
) -> LegAmps:
    """Amps of each leg, with the sums.

    Parameters
    ----------
    legs_a : (L1, L2), optional   Amps by the standard method's legs. None: a sheet without legs.
    own : bool                    Whether those legs are of the method itself.
    article : str                 The article of load calculations in the edition.

    Examples
    --------
    21,480 VA by a method that borrows legs of 100 A and 80 A: 89.5 x 100 / 90.

    >>> legs = leg_amps(total_va=21_480, volts=240, legs_a=(100.0, 80.0), own=False)
    >>> round(legs.l1_a, 2), round(legs.l2_a, 2)
    (99.44, 79.56)
    """
    amps = total_va / volts
    lines = [
        AmpLine(
            "Total over volts",
            f"{total_va:,.0f} VA / {volts:g} V",
            amps,
            "A",
            f"{article}.5(A)",
        )
    ]
    if legs_a is None or not max(legs_a):
        return LegAmps(amps, amps, tuple(lines))
    first, second = legs_a
    heavier, name = max(first, second), "L1" if first >= second else "L2"
    if own:
        lines.append(
            AmpLine(f"Heavier leg, {name}", "its column of the leg table below", heavier, "A")
        )
        if heavier < amps:
            return LegAmps(amps, amps, tuple(lines[:1]))
        return LegAmps(first, second, tuple(lines) if heavier > amps + 0.05 else tuple(lines[:1]))
    middle = (first + second) / 2.0
    share = heavier / middle
    if share > 1.0 + 1e-9:
        lines += [
            AmpLine("L1 by the standard method", "the leg table below", first, "A"),
            AmpLine("L2 by the standard method", "the leg table below", second, "A"),
            AmpLine("Mean of the two", f"({first:.1f} A + {second:.1f} A) / 2", middle, "A"),
            AmpLine("Heavier over mean", f"{heavier:.1f} A / {middle:.1f} A", share, "times", LENT),
            AmpLine(
                f"On the heavier leg, {name}", f"{amps:.1f} A × {share:.3f}", amps * share, "A"
            ),
        ]
    return LegAmps(amps * first / middle, amps * second / middle, tuple(lines))


def device_lines(
    *,
    found: LegAmps,
    continuous: Continuous,
    volts: float,
    factor: Figure,
    least: Figure | None,
    least_words: str,
    rounded_a: float,
    article: str = "220",
) -> tuple[AmpLine, ...]:
    """From the legs to the next standard rating, by the leg that needs most."""
    lines = []
    more = factor.value - 1.0
    extra = [more * a for a in continuous.amps(volts)]
    legs = (found.l1_a, found.l2_a)
    leg = 0 if legs[0] + extra[0] >= legs[1] + extra[1] else 1
    if continuous.total_va and more:
        where = "" if abs(extra[0] - extra[1]) < 1e-9 else f" on L{leg + 1}"
        lines.append(
            AmpLine("Continuous part", "what runs three hours or longer", continuous.total_va, "VA")
        )
        if extra[leg]:
            lines.append(
                AmpLine(
                    f"{more * 100:.0f} % of it{where}",
                    f"{more:g} × {continuous.words(leg, volts)}",
                    extra[leg],
                    "A",
                    factor.cite.words,
                )
            )
        lines.append(
            AmpLine(
                f"For the device and the wire{where}",
                f"{legs[leg]:.1f} A + {extra[leg]:.1f} A",
                legs[leg] + extra[leg],
                "A",
            )
        )
    if least is not None and least.value > rounded_a:
        lines.append(AmpLine(least_words, "", least.value, "A", least.cite.words))
    asked = max(rounded_a, least.value if least is not None else 0.0)
    lines.append(
        AmpLine(
            "Next standard rating",
            f"at least {asked:g} A, to the nearest ampere",
            next_standard_a(asked),
            "A",
            f"{article}.5(B), 240.6(A)",
        )
    )
    return tuple(lines)
