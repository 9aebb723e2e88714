"""Three or more dwelling units that share a service (220.84)."""

from __future__ import annotations

import pytest

from server.rules.demand.report import demand_of
from server.rules.editions import EDITIONS, rulebook
from server.rules.wiring.feeder import governing
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import of_kind
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


def without_cooking():
    """Three flats none of which cooks electrically."""
    whole = three_flats()
    return with_parts(whole, circuits=tuple(c for c in whole.circuits if "-oven" not in c.id))


@pytest.mark.parametrize("edition", EDITIONS)
def test_where_none_cooks_electrically_each_counts_8_kw_for_it(edition):
    """220.84(A)(2) exception: Part IV for the same load plus 8 kW a unit, where that is less."""
    found = demand_of(without_cooking(), "grid", rules=rulebook(edition))
    sheet = found.sheet("multifamily")
    (taken,) = (x for x in sheet.lines if x.label.startswith("Electric cooking"))
    article = "120" if edition == "2026" else "220"
    assert (taken.connected_va, taken.cite.section) == (24_000, f"{article}.84(A)(2) exception")
    each = sum(x.connected_va for x in sheet.lines if x.label.startswith("Attic: "))
    assert sheet.total_va == pytest.approx(0.45 * (3 * each + 24_000))
    assert governing(found) is sheet


def test_three_flats_that_cook_with_gas_are_47_385_va():
    """2,700 + 3,000 + 1,500 + 4,500 + 5,400 + 10,000 = 27,100 VA each; 45 % of 105,300 VA."""
    sheet = demand_of(without_cooking(), "grid", rules=RULES).sheet("multifamily")
    assert sheet.total_va == pytest.approx(47_385)
    assert any("None cooks electrically" in note for note in sheet.notes)


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


def test_what_stands_in_an_outbuilding_of_one_is_added_in_full():
    """220.84(B), from memory: a kiln of 9,600 VA of no unit in full, in the flat at 45 %."""
    kiln = of_kind("kiln", "down", (2, 4), "kiln", load_w=9600, power_factor=1.0)
    alone = demand_of(three_flats(), "grid", rules=RULES).sheet("multifamily")
    inside = demand_of(three_flats(shared=(kiln,)), "grid", rules=RULES).sheet("multifamily")
    kiln = kiln.model_copy(update={"place": "outbuilding"})
    apart = demand_of(three_flats(shared=(kiln,)), "grid", rules=RULES).sheet("multifamily")
    assert inside.total_va == pytest.approx(alone.total_va + 0.45 * 9600)
    assert apart.total_va == pytest.approx(alone.total_va + 9600)
