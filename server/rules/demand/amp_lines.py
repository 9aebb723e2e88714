"""From total volt-amperes to amps, one line a step, so that each can be checked by hand."""

from __future__ import annotations

from dataclasses import dataclass

from server.rules.editions import Figure
from server.rules.ocpd import next_standard_a

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
    *, total_va: float, volts: float, legs_a: tuple[float, float] | None, own: bool
) -> LegAmps:
    """Amps of each leg, with the sums.

    Parameters
    ----------
    legs_a : (L1, L2), optional   Amps by the standard method's legs. None: a sheet without legs.
    own : bool                    Whether those legs are of the method itself.

    Examples
    --------
    21,480 VA by a method that borrows legs of 100 A and 80 A: 89.5 x 100 / 90.

    >>> legs = leg_amps(total_va=21_480, volts=240, legs_a=(100.0, 80.0), own=False)
    >>> round(legs.l1_a, 2), round(legs.l2_a, 2)
    (99.44, 79.56)
    """
    amps = total_va / volts
    lines = [
        AmpLine("Total over volts", f"{total_va:,.0f} VA / {volts:g} V", amps, "A", "220.5(A)")
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
    leg_a: float,
    continuous_va: float,
    volts: float,
    factor: Figure,
    least: Figure | None,
    rounded_a: float,
) -> tuple[AmpLine, ...]:
    """From the heavier leg to the next standard rating."""
    lines = []
    more = factor.value - 1.0
    needed_a = leg_a + more * continuous_va / volts
    if continuous_va and more:
        lines += [
            AmpLine("Continuous part", "what runs three hours or longer", continuous_va, "VA"),
            AmpLine(
                f"{more * 100:.0f} % of it",
                f"{more:g} × {continuous_va:,.0f} VA / {volts:g} V",
                more * continuous_va / volts,
                "A",
                factor.cite.words,
            ),
            AmpLine(
                "For the device and the wire",
                f"{leg_a:.1f} A + {more * continuous_va / volts:.1f} A",
                needed_a,
                "A",
            ),
        ]
    if least is not None and least.value > rounded_a:
        lines.append(AmpLine("Least for one dwelling", "", least.value, "A", least.cite.words))
    asked = max(rounded_a, least.value if least is not None else 0.0)
    lines.append(
        AmpLine(
            "Next standard rating",
            f"at least {asked:g} A, to the nearest ampere",
            next_standard_a(asked),
            "A",
            "220.5(B), 240.6(A)",
        )
    )
    return tuple(lines)
