"""Pulling wire: bends between pull points, and how large a box at one must be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from server.domain.working import Term, Working
from server.rules.editions import Rulebook
from server.rules.ranges import within
from server.rules.tables import conductor

STEEPEST_DEG = 180.0


@dataclass(frozen=True)
class Box:
    """Least inside lengths of a box that wires of 4 AWG or larger are pulled through. [in]

    ``straight_in`` is along a straight pull. ``angle_in`` is from a raceway to the opposite wall
    of an angle or U pull or a splice, ``apart_in`` between the two raceways of the same wires.
    ``straight`` and ``working`` are how the first two came out, each of its own section.
    """

    straight_in: float
    angle_in: float
    apart_in: float
    straight: Working
    working: Working


def pull_points(bends_deg: Iterable[float], *, rules: Rulebook) -> tuple[int, ...]:
    """After which bends, counted from 1, a pull point is needed at the latest.

    >>> from server.rules.editions import rulebook
    >>> pull_points([90, 90, 90, 90, 45, 90], rules=rulebook("2023"))
    (4,)

    Raises
    ------
    InputError   For a bend outside 0° to 180°.
    """
    limit = rules.value("bends_between_pulls_deg")
    points, since = [], 0.0
    for passed, bend in enumerate(bends_deg):
        within(bend, 0, STEEPEST_DEG, field="bends_deg", unit="°")
        if since + bend > limit:
            points.append(passed)
            since = 0.0
        since += bend
    return tuple(points)


def pull_points_needed(bends_deg: Iterable[float], *, rules: Rulebook) -> int:
    """Pull points to add so that no stretch has more than the permitted bends.

    >>> from server.rules.editions import rulebook
    >>> pull_points_needed([90, 90, 90, 90], rules=rulebook("2023"))
    0
    >>> pull_points_needed([90] * 5, rules=rulebook("2023"))
    1
    """
    return len(pull_points(bends_deg, rules=rules))


def trade_size_in(trade_size: str) -> float:
    """A trade size as a number of inches.

    >>> trade_size_in("1-1/4"), trade_size_in("3/4"), trade_size_in("2")
    (1.25, 0.75, 2.0)
    """
    return float(sum(Fraction(part) for part in trade_size.split("-")))


def least_box(
    *, trade_size: str, largest_wire: str, raceways: int = 1, rules: Rulebook
) -> Box | None:
    """The least box for equal raceways side by side, None where its volume decides instead.

    Wires under 4 AWG are held by the box's volume (314.16), which is not worked out here.

    >>> from server.rules.editions import rulebook
    >>> box = least_box(trade_size="3", largest_wire="250", rules=rulebook("2023"))
    >>> box.straight_in, box.angle_in
    (24.0, 18.0)
    >>> least_box(trade_size="1", largest_wire="6", rules=rulebook("2023")) is None
    True

    Raises
    ------
    InputError   For a size of wire that is not here, or no raceway.
    """
    within(raceways, 1, 60, field="raceways")
    if conductor(largest_wire).cmil < rules.value("box_least_cmil"):
        return None
    size = trade_size_in(trade_size)
    straight = rules.figure("box_straight_factor")
    angle = rules.figure("box_angle_factor")
    across = angle.value * size + (raceways - 1) * size
    along = straight.value * size
    return Box(
        straight_in=along,
        angle_in=across,
        apart_in=angle.value * size,
        straight=Working(
            title=f"Box of a straight pull, raceways of {trade_size} in",
            value=along,
            unit="in",
            formula="factor of a straight pull × the largest raceway",
            terms=(Term("Largest raceway", size, "in"), straight.term("Straight pull")),
            source=straight.cite.words,
        ),
        working=Working(
            title=f"Box of an angle or U pull or a splice, raceways of {trade_size} in",
            value=across,
            unit="in",
            formula="angle or splice: its factor × the largest + the others in the row",
            terms=(
                Term("Largest raceway", size, "in"),
                Term("Raceways in the row", float(raceways), ""),
                angle.term("Angle or U pull, or splice"),
            ),
            source=angle.cite.words,
        ),
    )
