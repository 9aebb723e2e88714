"""Every rating that may be entered can be checked, the smallest too: a slip hides no finding."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())
FIELDS = [
    ("services", "main_a"),
    ("panels", "rating_a"),
    ("panels", "main_a"),
    ("feeders", "breaker_a"),
    ("feeders", "ampacity_a"),
    ("feeders", "neutral_ampacity_a"),
    ("transfer_switches", "rating_a"),
    ("double_throws", "rating_a"),
    ("generators", "breaker_a"),
    ("generators", "inlet_a"),
    ("solar", "breaker_a"),
    ("circuits", "breaker_a"),
]


@pytest.mark.parametrize("rating_a", [0.1, 0.5, 14.0, 4000.0])
@pytest.mark.parametrize(("group", "field"), FIELDS, ids=lambda v: v)
def test_a_rating_at_an_edge_is_checked(group: str, field: str, rating_a: float):
    parts = getattr(FARM, group)
    assert parts
    slipped = tuple(p.model_copy(update={field: rating_a}) for p in parts)
    report = check_site(with_parts(FARM, **{group: slipped}), recheck=True)
    assert report.findings
    assert report.demand
