"""Note 2 of Table 220.55 with ranges of 8-3/4 kW or less, by hand.

The reading taken counts a range of 8 kW as 12 (forums.mikeholt.com thread 2576655); the other one
averages those over 8-3/4 kW alone.
"""

from __future__ import annotations

import pytest

from server.rules.demand.cooking import cooking_demand
from server.rules.demand.report import demand_of
from tests.rules.check_sites import RULES, of_kind, plain


@pytest.mark.parametrize(
    ("ratings", "demand_kw", "other"),
    [
        # (12 + 12 + 14) / 3 = 12.67: one step on 14 kW; of 14 kW alone two steps.
        ((3, 8, 14), 14.7, "15.4"),
        # (12 + 14) / 2 = 13: one step on 11 kW; two steps.
        ((8, 14), 11.55, "12.1"),
        ((8.75, 14), 11.55, "12.1"),
        # (12 + 12 + 12 + 14) / 4 = 12.5: no step on 17 kW; two steps are 18.7.
        ((5, 6, 7, 14), 17.0, "18.7"),
        # (12 + 20) / 2 = 16: four steps; of 20 kW eight are 15.4, but by Note 3 it is
        # 0.8 x 1.8 + 8 x 1.4 = 12.64, which is less than either: taken, and no other reading.
        ((1.8, 20), 12.64, None),
        # (12 + 16) / 2 = 14: 12.1; four steps are 13.2, Note 3 is 2.16 + 9.6 = 11.76: taken.
        ((2.7, 16), 11.76, None),
        # 12.1; Note 3 is 0.8 x 3.4 + 9.6 = 12.32, less than the 13.2 of four steps.
        ((3.4, 16), 12.1, "12.32"),
        ((9, 14), 11.55, None),  # both over 8-3/4 kW: 12 and 14
        ((8, 12), 11.0, None),
        ((8, 11), 11.0, None),
        ((8, 8), 10.4, None),  # column B, 65 % of 16
        ((3, 6), 7.2, None),  # Note 3, columns A and B: 80 % of 3 and 80 % of 6
        ((14, 14), 12.1, None),
    ],
)
def test_both_readings_of_note_2_are_told(ratings, demand_kw, other):
    found = cooking_demand(ratings)
    assert found.demand_kw == pytest.approx(demand_kw)
    if other is None:
        assert "larger ones alone" not in found.note
    else:
        assert "8.75 kW or less are averaged in as 12 kW" in found.note
        assert f"larger ones alone it would be {other} kW" in found.note


def test_the_line_of_the_sheet_says_which_reading_it_takes():
    small = of_kind("small", "main", (1, 3), "range-oven", load_w=8000, breaker_a=40)
    large = of_kind("large", "main", (5, 7), "range-oven", load_w=14_000, breaker_a=50)
    sheet = next(
        s
        for s in demand_of(plain(small, large), "main", rules=RULES).sheets
        if s.method == "standard"
    )
    (line,) = (x for x in sheet.lines if "220.55" in x.cite.section)
    assert line.demand_va == pytest.approx(11_550)
    assert "larger ones alone it would be 12.1 kW" in line.note
