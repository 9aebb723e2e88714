"""A demand worksheet: its lines, its total, and what that means in amps."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from server.domain.base import LEGS, Leg
from server.domain.working import Term, Working
from server.rules.demand.amp_lines import (
    WYE,
    AmpLine,
    Continuous,
    device_lines,
    leg_amps,
    of_wye,
    over_208_note,
)
from server.rules.editions import Cite, Rulebook
from server.rules.leg import LEG_V
from server.rules.ocpd import standard_or_none_a

LEAST_WORDS = {
    "service_least_a": "Least for one dwelling",
    "service_least_other_a": "Least for a service of other than a one-family dwelling",
}
WYE_FORMULA = "to neutral / 240 V + (total − to neutral) / volts"
DEVICE_FORMULA = "; device: the larger of leg + (factor − 1) × its continuous amps"
LENT_LEGS = ("optional", "existing", "two_family", "multifamily", "farm")
"""Methods whose legs are those of the standard method, in proportion."""


@dataclass(frozen=True)
class Line:
    """One line. ``factor`` is None where the amount is carried to a later step.

    ``quantity`` times ``each`` gives ``connected_va``; times ``factor`` gives ``demand_va``.
    """

    label: str
    quantity: float
    each: float
    unit: str
    connected_va: float
    factor: float | None
    demand_va: float
    cite: Cite
    note: str = ""


@dataclass(frozen=True)
class LegRow:
    """Amps one row of the worksheet puts on each wire, and the section its neutral follows."""

    label: str
    l1_a: float
    l2_a: float
    neutral_a: float
    note: str = ""
    section: str = ""


@dataclass(frozen=True)
class LegSheet:
    """Amps of both legs and the neutral, row by row.

    ``unbalance_a`` is the largest load between the neutral and any one leg (220.61(A)): each row
    adds its larger leg, as the examples of the code do, and a last row brings the sum down to it.
    ``neutral_a`` is that after the reduction above 200 A. ``to_neutral_va`` is what of it all lies
    from a leg to neutral, ``to_neutral_a`` the amps of that on L1 and on L2, of which
    ``unbalance_a`` is the larger. ``other_season_a`` is what of both legs the smaller of heating
    and cooling adds, which is in no sum.
    """

    rows: tuple[LegRow, ...]
    l1_a: float
    l2_a: float
    neutral_a: float
    unbalance_a: float
    neutral_cite: Cite
    to_neutral_va: float = 0.0
    other_season_a: tuple[float, float] = (0.0, 0.0)
    to_neutral_a: tuple[float, float] = (0.0, 0.0)

    @property
    def counted_a(self) -> tuple[float, float]:
        """Amps of L1 and L2 of what is in the sum. [A]"""
        return self.l1_a - self.other_season_a[0], self.l2_a - self.other_season_a[1]


@dataclass(frozen=True)
class Worksheet:
    """One calculation of one conductor by one method.

    ``amps`` is total over volts, on two legs of a wye with its 120 V loads over theirs; ``leg_a``
    is the heavier leg where that is more; ``needed_a`` adds
    25 % of the continuous part, each load on its own leg, which is what devices and conductors are
    sized for. ``can_add_va`` is what a 240 V load may still come to beside it,
    ``can_add_continuous_va`` the same for a load of three hours or more;
    ``can_add_on`` says it of a 120 V load on either leg.
    None without a rating. ``leg_needed_a`` is ``needed_a`` of L1 and of L2, the larger of which is
    ``needed_a`` itself. ``amp_lines`` lead from the total to the next standard rating,
    ``standard_a``, which is None above the largest. ``plate_needed_a`` is ``needed_a`` with 25 % on
    the plates of small vehicle equipment alone, None where there is none. ``if_told``: the method
    may be used only if the user tells so; until then it is shown, and held against nothing.
    """

    method: str
    title: str
    edition: str
    provisional: bool
    element_id: str
    position: str
    lines: tuple[Line, ...]
    total_va: float
    volts: float
    amps: float
    continuous_va: float
    needed_a: float
    standard_a: float | None
    existing_a: float | None
    least_a: float | None
    leg_a: float = 0.0
    leg_needed_a: tuple[float, float] = (0.0, 0.0)
    amp_lines: tuple[AmpLine, ...] = ()
    legs: LegSheet | None = None
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    plate_needed_a: float | None = None
    if_told: bool = False
    working: Working = field(default_factory=lambda: Working("", 0.0, "", ""))

    @property
    def complete(self) -> bool:
        """Whether everything the method asks for was told."""
        return not self.missing

    @property
    def rounded_a(self) -> int:
        """Amps to the nearest whole; a fraction below one half is dropped (220.5)."""
        return round_half_up(self.amps)

    @property
    def margin_a(self) -> float | None:
        """Amps left on the existing rating, negative when it does not fit."""
        return None if self.existing_a is None else self.existing_a - max(self.amps, self.leg_a)

    @property
    def can_add_va(self) -> float | None:
        """Volt-amperes of a load between the legs that still fit, counted in full. [VA]"""
        if self.existing_a is None:
            return None
        return max(0.0, (self.existing_a - self.needed_a) * self.volts)

    @property
    def can_add_continuous_va(self) -> float | None:
        """Volt-amperes of a continuous load that still fit, such as vehicle equipment. [VA]"""
        room = self.can_add_va
        if room is None:
            return None
        return room / self.continuous_factor

    @property
    def can_add_on(self) -> dict[Leg, float] | None:
        """Volt-amperes of a 120 V load that still fit on each leg, counted in full. [VA]

        It lies on one leg alone, so the room of that leg holds half of what it holds between the
        legs; the lighter leg has more.
        """
        if self.existing_a is None or self.volts <= LEG_V:
            return None
        rooms = (max(0.0, self.existing_a - a) * LEG_V for a in self.leg_needed_a)
        return dict(zip(LEGS, rooms, strict=True))

    @property
    def continuous_a(self) -> float:
        """Amps of the heavier leg that count at the continuous factor to make ``needed_a``. [A]"""
        more = self.continuous_factor - 1.0
        return min((self.needed_a - self.leg_a) / more, self.leg_a) if more > 0 else 0.0

    @property
    def continuous_factor(self) -> float:
        """The factor of continuous loads, as used in ``needed_a``."""
        for term in self.working.terms:
            if term.name == "Continuous factor":
                return term.value
        return 1.0

    @property
    def fits(self) -> bool | None:
        """Whether the demand, to the nearest ampere, is within the rating."""
        if self.existing_a is None:
            return None
        return round_half_up(max(self.amps, self.leg_a)) <= self.existing_a

    @property
    def device_fits(self) -> bool | None:
        """Whether the rating also covers 125 % of what is continuous."""
        if self.existing_a is None:
            return None
        return round_half_up(self.needed_a) <= self.existing_a


def round_half_up(value: float) -> int:
    """Nearest whole number, one half going up.

    >>> round_half_up(77.5), round_half_up(64.2)
    (78, 64)
    """
    return math.floor(value + 0.5 + 1e-9)


def service_least(*, one_family: bool) -> str:
    """The name of the least rating of a service: of a one-family dwelling, or of any other."""
    return "service_least_a" if one_family else "service_least_other_a"


def finished(
    *,
    method: str,
    title: str,
    rules: Rulebook,
    lines: tuple[Line, ...],
    volts: float,
    continuous: Continuous,
    existing_a: float | None,
    is_service: bool,
    one_family: bool = True,
    at_service: bool = False,
    legs: LegSheet | None = None,
    missing: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> Worksheet:
    """Add the lines up and state what they mean in amps; a 120 V source has one leg only.

    ``at_service``: the conductors are those of a service, which have a rule of their own.
    """
    legs = legs if volts > LEG_V else None
    total = sum(line.demand_va for line in lines)
    factor = rules.figure("service_continuous_factor" if at_service else "continuous_factor")
    own = method not in LENT_LEGS
    legs_a = None if legs is None else (legs.l1_a, legs.l2_a) if own else legs.counted_a
    found = leg_amps(
        total_va=total,
        volts=volts,
        legs_a=legs_a,
        own=own,
        to_neutral_va=0.0 if legs is None else legs.to_neutral_va,
        article=rules.load_article,
    )
    apart = own and legs is not None and of_wye(volts)
    if of_wye(volts) and not apart:
        words = over_208_note(
            total_va=total,
            volts=volts,
            legs_a=legs_a,
            to_neutral_va=0.0 if legs is None else legs.to_neutral_va,
        )
        notes = (*notes, words)
    amps, leg_a = found.even_a, found.heavier_a
    extra = [(factor.value - 1.0) * a for a in continuous.amps(volts)]
    leg_needed_a = (found.l1_a + extra[0], found.l2_a + extra[1])
    needed = max(leg_needed_a)
    least = rules.figure(service_least(one_family=one_family)) if is_service else None
    least_a = least.value if least else None
    standard = standard_or_none_a(max(round_half_up(needed), least_a or 0.0))
    terms = (
        Term("Total", total, "VA"),
        Term("Volts", volts, "V", f"nominal, {rules.load_article}.5(A)"),
        *((Term("To neutral", legs.to_neutral_va, "VA", WYE),) if legs and apart else ()),
        factor.term("Continuous factor"),
        Term("Continuous part", continuous.total_va, "VA"),
        *((Term("Heavier leg", leg_a, "A"),) if leg_a > amps + 1e-9 else ()),
        *((least.term(LEAST_WORDS[least.name]),) if least else ()),
    )
    working = Working(
        title=title,
        value=amps,
        unit="A",
        formula=(WYE_FORMULA if apart else "total VA / volts") + DEVICE_FORMULA,
        terms=terms,
        source=rules.title,
    )
    return Worksheet(
        method=method,
        title=title,
        edition=rules.edition,
        provisional=rules.provisional,
        element_id="",
        position="",
        lines=lines,
        total_va=total,
        volts=volts,
        amps=amps,
        continuous_va=continuous.total_va,
        needed_a=needed,
        standard_a=standard,
        existing_a=existing_a,
        least_a=least_a,
        leg_a=leg_a,
        leg_needed_a=leg_needed_a,
        amp_lines=(
            *found.lines,
            *device_lines(
                found=found,
                continuous=continuous,
                volts=volts,
                factor=factor,
                least=least,
                least_words="" if least is None else LEAST_WORDS[least.name],
                rounded_a=round_half_up(needed),
                article=rules.load_article,
            ),
        ),
        legs=legs,
        missing=missing,
        notes=notes,
        working=working,
    )
