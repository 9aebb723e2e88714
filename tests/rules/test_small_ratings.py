"""Every rating that may be entered can be checked, the smallest too: a slip hides no finding."""

from __future__ import annotations

import pytest

from server.domain.edits import with_changes, without_circuits
from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())
KEPT = {
    "bedrooms", "car-charger", "cooler", "counter-left", "counter-right", "dishwasher", "freezers",
    "heat-strips", "lights-ground", "range", "shed-fan", "shed-lights", "stock-heater", "sump",
    "water-heater", "workbench",
}  # fmt: skip
FEWER = with_changes(
    FARM, **without_circuits(FARM, frozenset(c.id for c in FARM.circuits if c.id not in KEPT))
)
"""The farm with fewer circuits: every finding of a slip on it is one on this, in a fifth of the
time; that is held below."""
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


EDGES_A = [0.1, 0.5, 14.0, 4000.0]
WORKED_IN_A = (0.1, 4000.0)
"""Edges at which the mends are worked in as well, which takes ten times as long as the check."""
OF_EACH_KIND = {"car-charger", "counter-left", "heat-strips", "lights-ground", "range", "sump"}
"""Circuits that are slipped where their mends are worked in: each asks for one of its own."""


def slipped(
    site: Site, group: str, field: str, rating_a: float, circuits: set[str] | None = None
) -> Site:
    parts = getattr(site, group)
    assert parts
    slips = {p.id for p in parts} if circuits is None or group != "circuits" else circuits
    changed = (p.model_copy(update={field: rating_a}) if p.id in slips else p for p in parts)
    return with_parts(site, **{group: tuple(changed)})


@pytest.mark.parametrize("rating_a", EDGES_A)
@pytest.mark.parametrize(("group", "field"), FIELDS, ids=lambda v: v)
def test_a_rating_at_an_edge_is_checked(group: str, field: str, rating_a: float):
    report = check_site(slipped(FEWER, group, field, rating_a))
    assert report.findings
    assert report.demand
    whole = check_site(slipped(FARM, group, field, rating_a))
    assert whole.demand
    assert {(f.code, f.severity) for f in whole.findings} <= {
        (f.code, f.severity) for f in report.findings
    }


@pytest.mark.parametrize("rating_a", WORKED_IN_A)
@pytest.mark.parametrize(("group", "field"), FIELDS, ids=lambda v: v)
def test_the_mends_of_a_rating_at_an_edge_are_worked_in(group: str, field: str, rating_a: float):
    site = slipped(FEWER, group, field, rating_a, OF_EACH_KIND)
    report = check_site(site, recheck=True)
    assert any(f.recheck for f in report.findings)
    assert {f.code for f in report.findings} == {f.code for f in check_site(site).findings}
