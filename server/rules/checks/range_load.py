"""What cooking on one branch circuit counts for."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.rules.demand.circuit_loads import RANGES, category_of
from server.rules.demand.cooking import cooking_demand
from server.rules.tables import read_toml

WALL_OVEN, MOST_OVENS = "wall-oven", 2
"""What stands with one cooktop as one range (Note 4 of Table 220.55)."""


def cooking_branch_kw(cooking: list[Appliance]) -> float:
    """What cooking on one branch circuit counts for (Note 4 of Table 220.55). [kW]

    A range by column C of the table, and as one range a cooktop with one or two ovens; whatever
    else by its nameplate.
    """
    as_range, others = _as_a_range(cooking)
    return _range_kw(as_range) + sum(map(plate_kw, others))


def left_by_note_3_kw(circuit: Circuit) -> float:
    """What columns A and B, which Note 3 permits, would take off a small range, else 0. [kW]"""
    pieces, _ = _as_a_range([a for a in circuit.appliances if category_of(a) == "cooking"])
    kw = sum(map(plate_kw, pieces))
    notes = read_toml("cooking")["notes"]
    if not notes["least_kw"] < kw <= notes["column_c_kw"]:
        return 0.0
    return max(0.0, _range_kw(pieces) - cooking_demand([kw]).demand_kw)


def smaller_by_note_3(circuit: Circuit) -> str:
    """That Note 3 would count a small range for less, empty where it would not.

    The larger figure is our choice (common practice, no source): a breaker is bought once, and the
    authority may not take the smaller.
    """
    less_kw = left_by_note_3_kw(circuit)
    if less_kw < 1e-9:
        return ""
    pieces, _ = _as_a_range([a for a in circuit.appliances if category_of(a) == "cooking"])
    kw, ours = sum(map(plate_kw, pieces)), _range_kw(pieces)
    theirs = ours - less_kw
    notes = read_toml("cooking")["notes"]
    column = "A" if kw < notes["column_b_kw"] else "B"
    return (
        f" As one range its {kw:.2f} kW of cooking counts for {ours:.2f} kW, the lesser of plate "
        f"and column C of Table 220.55. Note 3 lets column {column} stand, {theirs:.2f} kW: the "
        "larger is our safe choice."
    )


def plate_kw(appliance: Appliance) -> float:
    """Nameplate of an appliance. [kVA, which counts as kW]"""
    return appliance.load_w / appliance.power_factor / 1000


def _as_a_range(cooking: list[Appliance]) -> tuple[list[Appliance], list[Appliance]]:
    """What counts as one range on a circuit, and the rest."""
    ranges = [a for a in cooking if a.kind in RANGES]
    others = [a for a in cooking if a.kind not in RANGES]
    ovens = sum(a.kind == WALL_OVEN for a in others)
    if not ranges and len(others) - ovens == 1 and 1 <= ovens <= MOST_OVENS:
        return others, []
    return ranges, others


def _range_kw(pieces: list[Appliance]) -> float:
    kw = sum(map(plate_kw, pieces))
    notes = read_toml("cooking")["notes"]
    if not pieces or kw > notes["largest_kw"]:
        return kw
    return min(kw, cooking_demand([max(kw, notes["rated_kw"])]).demand_kw)
