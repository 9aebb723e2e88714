"""Note 2 of Table 220.55 with ranges of 8-3/4 kW or less, by hand.

The reading taken counts a range of 8 kW as 12 (forums.mikeholt.com thread 2576655); the other one
averages those over 8-3/4 kW alone.
"""

from __future__ import annotations

import pytest

from server.domain.errors import InputError
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
        # (12 + 12 + 12 + 14) / 4 = 12.5: one step on 17 kW is 17.85; by Note 3, 0.55 x 18 + 8.8 is
        # 18.7, as are two steps.
        ((5, 6, 7, 14), 17.85, "18.7"),
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


@pytest.mark.parametrize(
    ("kw", "demand_kw"),
    [
        (12.49, 8.0),
        (12.5, 8.4),
        (12.51, 8.4),
        (13.0, 8.4),
        (13.49, 8.4),
        (13.5, 8.8),
        (27.0, 14.0),
    ],
)
def test_half_a_kw_above_twelve_is_a_step(kw, demand_kw):
    """Note 1: 5 % of 8 kW for each kW or major fraction over 12; one half is taken for one."""
    assert cooking_demand([kw]).demand_kw == pytest.approx(demand_kw)


@pytest.mark.parametrize(
    ("count", "each_kw", "demand_kw"),
    [
        (10, 5, 0.34 * 50),
        (11, 5, 0.32 * 55),
        (12, 5, 0.32 * 60),
        (15, 5, 0.32 * 75),
        (16, 5, 0.28 * 80),
        (21, 5, 0.26 * 105),
        (26, 5, 0.24 * 130),
        (31, 5, 0.22 * 155),
        (41, 5, 0.20 * 205),
        # 25 kW and 3/4 kW for each of 41 and more: of 8.75 kW by column B 0.2 x 358.75 is more.
        (41, 8.75, 25 + 0.75 * 41),
        (51, 5, 0.18 * 255),
        (61, 5, 0.16 * 305),
        (1000, 3.5, 0.16 * 3500),
        (11, 3, 0.47 * 33),
        (20, 3, 0.35 * 60),
        (25, 2, 0.30 * 50),
        (40, 3, 0.30 * 120),
    ],
)
def test_columns_a_and_b_go_on_past_ten(count, each_kw, demand_kw):
    """Table 220.55, from memory: B 32 % for 11 to 15, A 47 % for 11 down to 30 % from 25 on."""
    assert cooking_demand([each_kw] * count).demand_kw == pytest.approx(demand_kw)


def test_no_more_than_the_table_s_count_is_covered():
    with pytest.raises(InputError, match="1 to 1000"):
        cooking_demand([5] * 1001)


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
