"""Demand of household cooking appliances."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.errors import InputError
from server.rules.tables import read_toml
from server.rules.words import percent


@dataclass(frozen=True)
class CookingDemand:
    """Demand of a group of cooking appliances, and how the table gave it."""

    demand_kw: float
    column: str
    note: str


def _column(count: int, name: str) -> float:
    rows = read_toml("cooking")["rows"]
    for row in rows:
        if row["count"] == count:
            return float(row[name])
    if name == "c_kw":
        for step in read_toml("cooking")["beyond"]:
            if count <= step["count"]:
                return float(step["base_kw"] + step["each_kw"] * count)
    else:
        for step in read_toml("cooking")["share_beyond"]:
            if count <= step["count"]:
                return float(step[name])
    most = read_toml("cooking")["share_beyond"][-1]["count"]
    raise InputError(
        f"The cooking table is here for 1 to {most} appliances; {count} were given.",
        field="quantity",
    )


def _column_c(ratings_kw: Sequence[float], averaged_kw: Sequence[float] = ()) -> CookingDemand:
    """Column C for these, raised by the average of them all or of those given."""
    notes = read_toml("cooking")["notes"]
    rated = float(notes["rated_kw"])
    base = _column(len(ratings_kw), "c_kw")
    averaged = [max(rated, kw) for kw in averaged_kw or ratings_kw]
    mean = sum(averaged) / len(averaged)
    # A whole kW, or a fraction of one half or more, counts as one step: what a "major fraction" is
    # at just one half the note does not say (common practice, no source; the safe side).
    steps = max(0, math.floor(mean - rated + 0.5 + 1e-9))
    demand = base * (1.0 + float(notes["step"]) * steps)
    if not steps:
        return CookingDemand(demand, "C", "Column C")
    percent = round(100 * notes["step"] * steps)
    kind = "Note 1" if len(set(ratings_kw)) == 1 else "Note 2"
    return CookingDemand(
        demand, "C", f"Column C {base:g} kW + {percent} % ({kind}, {mean:g} kW on average)"
    )


def _other_reading(
    ratings_kw: Sequence[float], taken: CookingDemand, by_note_3_kw: float
) -> CookingDemand:
    """What was taken, with the other reading of Note 2 told where that comes to more.

    The heading of the note is of ranges over 8-3/4 kW, and it counts those under 12 kW as 12 kW.
    Ranges of 8-3/4 kW or less are averaged in here; by the other reading they are not.
    """
    notes = read_toml("cooking")["notes"]
    large = [kw for kw in ratings_kw if kw > notes["column_c_kw"]]
    if not large or len(large) == len(ratings_kw) or taken.column != "C":
        return taken
    other_kw = min(_column_c(ratings_kw, large).demand_kw, by_note_3_kw)
    if other_kw <= taken.demand_kw + 1e-9:
        return taken
    note = (
        f"{taken.note}. Those of {notes['column_c_kw']:g} kW or less are averaged in as "
        f"{notes['rated_kw']:g} kW; with Note 2 read as of the larger ones alone it would be "
        f"{round(other_kw, 2):g} kW: ask the authority"
    )
    return CookingDemand(taken.demand_kw, taken.column, note)


def cooking_demand(ratings_kw: Sequence[float]) -> CookingDemand:
    """Least demand the table permits for these nameplates. [kW]

    Column C with its notes for all, or columns A and B on the summed nameplates of those up to
    8-3/4 kW with column C for the rest (Note 3).

    >>> cooking_demand([12]).demand_kw, round(cooking_demand([14]).demand_kw, 2)
    (8.0, 8.8)
    >>> round(cooking_demand([5] * 11).demand_kw, 2)
    17.6
    >>> round(cooking_demand([3]).demand_kw, 2)
    2.4

    Raises
    ------
    InputError   When a rating is outside what the table covers.
    """
    notes = read_toml("cooking")["notes"]
    least, most = float(notes["least_kw"]), float(notes["largest_kw"])
    for kw in ratings_kw:
        if not least < kw <= most:
            raise InputError(
                f"The cooking table covers appliances over {least:g} kW and up to {most:g} kW; "
                f"{kw:g} kW was given.",
                field="va",
            )
    if not ratings_kw:
        return CookingDemand(0.0, "", "none")
    found = [_column_c(ratings_kw)]
    small = [kw for kw in ratings_kw if kw < notes["column_b_kw"]]
    middle = [kw for kw in ratings_kw if notes["column_b_kw"] <= kw <= notes["column_c_kw"]]
    large = [kw for kw in ratings_kw if kw > notes["column_c_kw"]]
    if small or middle:
        demand, parts = 0.0, []
        for group, name in ((small, "a"), (middle, "b")):
            if group:
                share = _column(len(group), name)
                demand += share * sum(group)
                parts.append(f"column {name.upper()} {percent(share)} of {sum(group):g} kW")
        if large:
            rest = _column_c(large)
            demand += rest.demand_kw
            parts.append(rest.note.replace("Column", "column"))
        found.append(CookingDemand(demand, "A/B", f"Note 3: {', '.join(parts)}"))
    taken = min(found, key=lambda f: f.demand_kw)
    by_note_3_kw = next((f.demand_kw for f in found if f.column == "A/B"), math.inf)
    return _other_reading(ratings_kw, taken, by_note_3_kw)


def dryer_factor(count: int) -> float:
    """Share of the summed dryers that counts.

    >>> dryer_factor(4), dryer_factor(5), round(dryer_factor(13), 2)
    (1.0, 0.85, 0.45)
    """
    table = read_toml("dryers")
    for row in table["rows"]:
        if row["count"] == count:
            return float(row["factor"])
    for step in table["beyond"]:
        if count <= step["count"]:
            return float(step["base"] - step["step"] * (count - step["from"]))
    raise InputError(f"The dryer table covers 1 to 1000 dryers, not {count}.", field="quantity")
