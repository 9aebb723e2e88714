"""Raceway fill: mixed sizes, nipples, jamming, and the trade size needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from server.domain.errors import InputError
from server.domain.supply import Segment
from server.domain.working import Term, Working
from server.physics.conductor import circle_diameter_in
from server.physics.raceway import fill_share, jam_ratio, permitted_count
from server.rules.editions import Rulebook, table_cite
from server.rules.ranges import within
from server.rules.tables import Raceway, conductor, insulation, raceway, raceways
from server.rules.wiring.read_only import ReadOnly

BARE = "bare"


@dataclass(frozen=True)
class Wires:
    """So many equal wires in a raceway. ``letters`` is the insulation, or ``bare``."""

    size: str
    count: int
    letters: str = "THWN-2"

    def __post_init__(self) -> None:
        within(self.count, 1, 200, field="count")
        self.area_in2  # noqa: B018  a size or insulation that is not here is refused on making

    @property
    def area_in2(self) -> float:
        """Area of one. [in²]

        Raises
        ------
        InputError   For a cable, which has no area of single conductors.
        """
        return _area_in2(self.size, self.letters)


@cache
def _area_in2(size: str, letters: str) -> float:
    wire = conductor(size)
    if letters == BARE:
        return wire.bare_in2
    family = insulation(letters).family
    if not family:
        raise InputError(
            f"There is no area here for {letters}: of a cable it is on its maker's sheet "
            "(Chapter 9, note 9). Fill is worked out for single wires such as THWN-2 or XHHW-2; "
            "enter those only where they lie there, as they carry other amps.",
            field="insulation",
        )
    return wire.area_in2[family]


def wires_of(
    segment: Segment, ground: str, *, two_wire: bool = False, neutral: bool = True
) -> list[Wires]:
    """The hots, any neutral and the ground of one set of a segment.

    ``ground`` is the one asked for, empty for service conductors: they have none, and one that is
    entered is not counted. ``two_wire`` is one hot and its neutral.
    """
    wires = [Wires(segment.size, 1 if two_wire else 2, segment.insulation)]
    if neutral:
        wires.append(Wires(segment.neutral_size or segment.size, 1, segment.insulation))
    if ground:
        wires.append(Wires(segment.ground_size or ground, 1, segment.insulation))
    return wires


@dataclass(frozen=True)
class Fill:
    """How full a raceway is and whether that is permitted."""

    raceway: Raceway
    count: int
    area_in2: float
    share: float
    allowed_share: float
    allowed_in2: float
    fits: bool
    jam: float | None
    jams: bool
    working: Working

    @property
    def rounded_up(self) -> bool:
        """Whether it fits only because equal wires may round up to one more (note 7)."""
        return self.fits and self.share > self.allowed_share

    @property
    def left_in2(self) -> float:
        """Area still free under the limit, negative when over. [in²]"""
        return self.allowed_in2 - self.area_in2


def allowed_share(*, count: int, nipple_in: float | None, rules: Rulebook) -> float:
    """Share of the inside that may be filled: 53, 31 or 40 %, or 60 % of a short nipple.

    >>> from server.rules.editions import rulebook
    >>> [allowed_share(count=n, nipple_in=None, rules=rulebook("2023")) for n in (1, 2, 3)]
    [0.53, 0.31, 0.4]
    """
    if nipple_in is not None:
        within(nipple_in, 0.1, rules.value("nipple_most_in"), field="nipple_in", unit="in")
        return rules.value("fill_nipple")
    names = {1: "fill_one", 2: "fill_two"}
    return rules.value(names.get(count, "fill_more"))


def fill(
    *,
    kind: str,
    trade_size: str,
    wires: Sequence[Wires],
    nipple_in: float | None = None,
    rules: Rulebook,
) -> Fill:
    """Fill of a raceway with these wires, grounds included.

    Wires all of one size and kind follow note 7: a fraction of 0.8 or more of a wire rounds up.
    Three equal wires are checked for jamming.

    >>> from server.rules.editions import rulebook
    >>> f = fill(kind="pvc40", trade_size="3", wires=[Wires("250", 6), Wires("4", 1)],
    ...     rules=rulebook("2023"))
    >>> f.fits, round(f.share, 3)
    (True, 0.339)

    Raises
    ------
    InputError   For a raceway, size or insulation that is not here, or a nipple over 24 in.
    """
    if not wires:
        raise InputError("At least one wire is needed.", field="wires")
    tube = raceway(kind, trade_size)
    count = sum(w.count for w in wires)
    area = sum(w.count * w.area_in2 for w in wires)
    share = fill_share([area], inside_in2=tube.total_in2)
    limit = allowed_share(count=count, nipple_in=nipple_in, rules=rules)
    jam, jams = _jam(wires, tube, rules)
    cite = table_cite("raceways", rules.edition)
    return Fill(
        raceway=tube,
        count=count,
        area_in2=area,
        share=share,
        allowed_share=limit,
        allowed_in2=limit * tube.total_in2,
        fits=_fits(wires, tube, limit, rules),
        jam=jam,
        jams=jams,
        working=Working(
            title=f"Fill of {tube.trade_size} in {tube.name}",
            value=share,
            unit="",
            formula="sum of wire areas / inside area",
            terms=(
                *(
                    Term(
                        f"{w.count} × {w.size} {w.letters}",
                        w.count * w.area_in2,
                        "in²",
                        table_cite("conductor_area", rules.edition).words,
                    )
                    for w in wires
                ),
                Term("Inside", tube.total_in2, "in²", cite.words),
                Term("Permitted share", limit, "", rules.figure("fill_more").cite.section),
            ),
            source=cite.words,
        ),
    )


def _fits(wires: Sequence[Wires], tube: Raceway, limit: float, rules: Rulebook) -> bool:
    """Whether wires lie within their share; alike, by the rounding of note 7."""
    allowed = limit * tube.total_in2
    if sum(w.count * w.area_in2 for w in wires) <= allowed:
        return True
    if len({w.area_in2 for w in wires}) > 1:
        return False
    return sum(w.count for w in wires) <= permitted_count(
        allowed_in2=allowed,
        wire_in2=wires[0].area_in2,
        round_up_at=rules.value("fill_round_up_at"),
    )


def _jam(wires: Sequence[Wires], tube: Raceway, rules: Rulebook) -> tuple[float | None, bool]:
    """Jam ratio where three equal largest wires lie in the raceway."""
    largest = max(wires, key=lambda w: w.area_in2)
    same = sum(w.count for w in wires if w.area_in2 == largest.area_in2)
    if same != 3:  # three wires side by side can wedge
        return None, False
    ratio = jam_ratio(
        inside_diameter_in=tube.inside_in, wire_diameter_in=circle_diameter_in(largest.area_in2)
    )
    return ratio, rules.value("jam_least") <= ratio <= rules.value("jam_most")


def trade_size_needed(
    *, kind: str, wires: Sequence[Wires], nipple_in: float | None = None, rules: Rulebook
) -> Fill:
    """The smallest trade size of a kind that holds these wires.

    Raises
    ------
    InputError   When even the largest does not.
    """
    sizes = [r for r in raceways() if r.kind == kind]
    raceway(kind, sizes[0].trade_size if sizes else "")
    count = sum(w.count for w in wires)
    limit = allowed_share(count=count, nipple_in=nipple_in, rules=rules)
    for one in sizes:
        if _fits(wires, one, limit, rules):
            return fill(
                kind=kind, trade_size=one.trade_size, wires=wires, nipple_in=nipple_in, rules=rules
            )
    raise InputError(
        f"These wires do not fit {sizes[-1].trade_size} in {sizes[-1].name}, the largest here. "
        "Use two raceways.",
        field="raceway",
    )


def trade_sizes(
    *, wires: Sequence[Wires], nipple_in: float | None = None, rules: Rulebook
) -> dict[str, Fill | None]:
    """Smallest trade size of each kind of raceway, read only; None where none is large enough."""
    found: dict[str, Fill | None] = {}
    for kind in dict.fromkeys(r.kind for r in raceways()):
        try:
            found[kind] = trade_size_needed(
                kind=kind, wires=wires, nipple_in=nipple_in, rules=rules
            )
        except InputError:
            found[kind] = None
    return ReadOnly(found)
