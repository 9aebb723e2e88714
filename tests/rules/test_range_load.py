"""Cooking on one branch circuit: Table 220.55, column C and Notes 1, 3 and 4, by hand."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.rules.checks.range_load import (
    cooking_branch_kw,
    left_by_note_3_kw,
    plate_kw,
    smaller_by_note_3,
)
from tests.builders import circuit


def pieces(*named):
    return [
        KINDS[kind].appliance(f"piece-{at}", load_w=load_w)
        for at, (kind, load_w) in enumerate(named)
    ]


@pytest.mark.parametrize(
    ("named", "kw"),
    [
        ([("cooktop", 6000), ("wall-oven", 4000)], 8.0),  # one range of 10 kW, column C
        ([("cooktop", 6000), ("wall-oven", 4000), ("wall-oven", 4000)], 8.8),  # 8 x (1 + 2 x 5 %)
        ([("cooktop", 4000), *[("wall-oven", 3000)] * 3], 13.0),  # more than Note 4 joins
        ([("cooktop", 3000), ("cooktop", 3000), ("wall-oven", 3000)], 9.0),
        ([("wall-oven", 9000)], 9.0),  # alone, by its plate
        ([("wall-oven", 4000), ("wall-oven", 4000)], 8.0),
        ([("range-oven", 5000), ("range-burners", 7000)], 8.0),
        ([("range-burners", 12_000), ("wall-oven", 4000)], 12.0),  # the oven beside it
        ([("range-burners", 27_000)], 14.0),  # 8 x (1 + 15 x 5 %)
        ([("range-burners", 30_000)], 30.0),  # past Note 1
        ([("range-burners", 6000)], 6.0),  # no more than its plate
    ],
)
def test_a_cooktop_with_one_or_two_ovens_is_one_range(named, kw):
    assert cooking_branch_kw(pieces(*named)) == pytest.approx(kw)


@pytest.mark.parametrize(
    ("load_w", "left_kw", "column"),
    [
        (1750, 0.0, ""),  # Note 3 begins above it
        (2000, 0.4, "A"),  # 80 %
        (3400, 0.68, "A"),
        (3500, 0.7, "B"),
        (8750, 1.0, "B"),  # 8 kW of column C, 7 of B
        (8800, 0.0, ""),
    ],
)
def test_note_3_takes_off_what_columns_a_and_b_are_less(load_w, left_kw, column):
    stove = circuit("c", "main", 1, 3, appliances=tuple(pieces(("range-burners", load_w))))
    assert left_by_note_3_kw(stove) == pytest.approx(left_kw)
    told = smaller_by_note_3(stove)
    assert (f"column {column} stand" in told) if column else told == ""
    beside = circuit(
        "d", "main", 1, 3, appliances=(*stove.appliances, KINDS["dryer"].appliance("dry"))
    )
    assert left_by_note_3_kw(beside) == pytest.approx(left_kw)


def test_a_plate_in_watts_is_taken_at_its_power_factor():
    (oven,) = pieces(("wall-oven", 4000))
    assert plate_kw(oven.model_copy(update={"power_factor": 0.8})) == pytest.approx(5.0)
