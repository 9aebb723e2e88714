"""Three or more dwelling units that share a service (220.84)."""

from __future__ import annotations

import pytest

from server.rules.demand.report import demand_of
from server.rules.editions import rulebook
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import with_parts
from tests.rules.test_demand_site import house_circuit
from tests.rules.test_two_family import flat, two_flats

RULES = rulebook("2023")


def three_flats(*, less=(), shared=(), feeders=(), panels=()):
    """The two flats with a third of 900 ft² above them."""
    two = two_flats(shared=shared)
    third = builders.panel("attic", dwelling="Attic", floor_area_ft2=900, rating_a=125)
    return with_parts(
        two,
        panels=(*two.panels, third, *panels),
        feeders=(
            *two.feeders,
            builders.feeder("common", "attic", breaker_a=125, spaces=(5, 7)),
            *feeders,
        ),
        circuits=(*two.circuits, *flat("attic", less=less)),
        floor_area_ft2=2700,
    )


def test_three_flats_count_by_their_table_and_the_lesser_governs():
    found = demand_of(three_flats(), "grid", rules=RULES)
    assert {s.method for s in found.sheets} == {"standard", "multifamily"}
    of_three, whole = found.sheet("multifamily"), found.sheet("standard")
    (share,) = (x for x in of_three.lines if x.label.startswith("45 %"))
    each = [x for x in of_three.lines if x.label.startswith("Attic: ")]
    assert share.connected_va == pytest.approx(3 * sum(x.connected_va for x in each))
    assert of_three.total_va == pytest.approx(0.45 * share.connected_va)
    assert of_three.total_va < whole.total_va
    assert governing(found) is of_three
    assert of_three.least_a == whole.least_a == 60


def test_what_three_flats_share_is_added_by_the_standard_method():
    stair = house_circuit("stair", "common", (19,), "lighting").model_copy(
        update={"place": "common_area", "plug_outlets": 0}
    )
    alone = demand_of(three_flats(), "grid", rules=RULES).sheet("multifamily")
    beside = demand_of(three_flats(shared=(stair,)), "grid", rules=RULES).sheet("multifamily")
    (line,) = (x for x in beside.lines if x.label == "What they share")
    assert line.demand_va > 0
    assert beside.total_va == pytest.approx(alone.total_va + line.demand_va)


@pytest.mark.parametrize(
    ("less", "words"), [(("oven",), "electric cooking"), (("heat",), "electric heating or cooling")]
)
def test_a_flat_without_what_220_84_asks_for_bars_the_method(less, words):
    found = demand_of(three_flats(less=less), "grid", rules=RULES)
    assert found.sheet("multifamily") is None
    (refused,) = (r for r in found.refusals if r.method == "multifamily")
    assert words in refused.reason
    assert "Attic" in refused.reason


def test_a_flat_on_two_feeders_bars_the_method_and_one_with_a_subpanel_does_not():
    more = builders.panel("attic-2", dwelling="Attic", floor_area_ft2=0, rating_a=125)

    def site(from_id):
        feeder = builders.feeder(from_id, "attic-2", breaker_a=60, spaces=(6, 8))
        return three_flats(feeders=(feeder,), panels=(more,))

    twice = demand_of(site("common"), "grid", rules=RULES)
    (refused,) = (r for r in twice.refusals if r.method == "multifamily")
    assert "Attic has 2" in refused.reason
    assert demand_of(site("attic"), "grid", rules=RULES).sheet("multifamily") is not None
