"""From total volt-amperes to amps, one line a step, so that each can be checked by hand."""

from __future__ import annotations

from dataclasses import dataclass

from server.rules.editions import Figure
from server.rules.leg import LEG_V
from server.rules.ocpd import standard_or_none_a, standard_ratings_a

WYE = "Annex D, Example D5(a)"
"""Where loads of 120 V and between the legs of a wye are added apart, each over its own volts."""
LENT = (
    "common practice, no source: a method without legs of its own takes the unbalance of the "
    "standard method, in proportion"
)


def of_wye(volts: float) -> bool:
    """Whether these volts between two legs are those of a 120/208 V wye."""
    return LEG_V < volts < 2 * LEG_V


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

    def __add__(self, other: Continuous) -> Continuous:
        """Both of them."""
        return Continuous(
            self.between_va + other.between_va, self.l1_va + other.l1_va, self.l2_va + other.l2_va
        )

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

    ``even_a`` is the total with its 120 V loads half on each leg. ``l1_a`` and ``l2_a`` are as the
    method itself or the standard method lends them; where their heavier one is under ``even_a``,
    both are that.
    """

    even_a: float
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
    to_neutral_va: float = 0.0,
    article: str = "220",
) -> LegAmps:
    """Amps of each leg, with the sums.

    On two legs of a 120/208 V wye a method with legs of its own counts 120 V loads over 2 × 120 V
    and the rest over 208 V (Annex D, Example D5(a)). A method that borrows its legs does not tell
    the two apart: all of it counts over 208 V, which is the most it can be (``over_208_note``).

    Parameters
    ----------
    legs_a : (L1, L2), optional   Amps by the standard method's legs. None: a sheet without legs.
    own : bool                    Whether those legs are of the method itself.
    to_neutral_va : float         What of the total lies from a leg to neutral. [VA]
    article : str                 The article of load calculations in the edition.

    Examples
    --------
    21,480 VA by a method that borrows legs of 100 A and 80 A: 89.5 x 100 / 90.

    >>> legs = leg_amps(total_va=21_480, volts=240, legs_a=(100.0, 80.0), own=False)
    >>> round(legs.l1_a, 2), round(legs.l2_a, 2)
    (99.44, 79.56)
    """
    wye = own and legs_a is not None and of_wye(volts)
    lines = [*_even_lines(total_va, to_neutral_va if wye else 0.0, volts, article)]
    even = tuple(lines)
    amps = lines[-1].value
    if legs_a is None or not max(legs_a):
        return LegAmps(amps, amps, amps, even)
    first, second = legs_a
    heavier, name = max(first, second), "L1" if first >= second else "L2"
    if own:
        lines.append(
            AmpLine(f"Heavier leg, {name}", "its column of the leg table below", heavier, "A")
        )
        if heavier < amps:
            return LegAmps(amps, amps, amps, even)
        return LegAmps(amps, first, second, tuple(lines) if heavier > amps + 0.05 else even)
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
    return LegAmps(amps, amps * first / middle, amps * second / middle, tuple(lines))


def over_208_note(
    *, total_va: float, volts: float, legs_a: tuple[float, float] | None, to_neutral_va: float
) -> str:
    """What is assumed where a method counts all of its total between two legs of a wye.

    Parameters
    ----------
    legs_a : (L1, L2), optional   Amps by the standard method's legs, where the sheet has them.
    to_neutral_va : float         What of the standard method's demand lies to neutral. [VA]

    Examples
    --------
    10,000 VA, half of which lies to neutral: 20.8 A + 24.0 A, under 48.1 A.

    >>> note = over_208_note(
    ...     total_va=10_000, volts=208, legs_a=(44.871795, 44.871795), to_neutral_va=5_000)
    >>> note[note.index("With"):]
    'With 5,000 VA of it to neutral, as by the standard method, it would be 44.9 A.'
    """
    words = (
        f"All {total_va:,.0f} VA count over {volts:g} V, as if between the legs "
        f"({total_va / volts:.1f} A on each). This is the most it can be evenly spread: 120 V "
        f"loads lie half on each leg, over 2 × {LEG_V:g} V, and the method does not tell them "
        "apart (common practice, no source)."
    )
    if legs_a is None or not max(legs_a):
        return words
    between_va = (sum(legs_a) / 2.0 - to_neutral_va / (2 * LEG_V)) * volts
    single_va = total_va * to_neutral_va / (to_neutral_va + between_va)
    amps = single_va / (2 * LEG_V) + (total_va - single_va) / volts
    return (
        f"{words} With {single_va:,.0f} VA of it to neutral, as by the standard method, it would "
        f"be {amps:.1f} A."
    )


def _even_lines(
    total_va: float, to_neutral_va: float, volts: float, article: str
) -> tuple[AmpLine, ...]:
    """From the total to amps of a leg, what lies to neutral apart; the last line has them."""
    section = f"{article}.5(A)"
    to_neutral_va = min(to_neutral_va, total_va)
    between_va = total_va - to_neutral_va
    if not to_neutral_va:
        words = f"{total_va:,.0f} VA / {volts:g} V"
        return (AmpLine("Total over volts", words, total_va / volts, "A", section),)
    single_a, between_a = to_neutral_va / (2 * LEG_V), between_va / volts
    return (
        AmpLine(
            "To neutral, half on each leg",
            f"{to_neutral_va:,.0f} VA / 2 / {LEG_V:g} V",
            single_a,
            "A",
            WYE,
        ),
        AmpLine("Between the legs", f"{between_va:,.0f} VA / {volts:g} V", between_a, "A", section),
        AmpLine(
            "Both on a leg",
            f"{single_a:.1f} A + {between_a:.1f} A",
            single_a + between_a,
            "A",
            WYE,
        ),
    )


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
    lines.append(standard_line(asked, article))
    return tuple(lines)


def standard_line(asked_a: float, article: str = "220") -> AmpLine:
    """The next standard rating for so many whole amperes, or that the largest is too small."""
    standard = standard_or_none_a(asked_a)
    return AmpLine(
        "The largest standard rating is too small" if standard is None else "Next standard rating",
        f"at least {asked_a:g} A, to the nearest ampere",
        standard_ratings_a()[-1] if standard is None else standard,
        "A",
        f"{article}.5(B), 240.6(A)",
    )
