"""Which lanes the timeline editor has."""

from __future__ import annotations

from server.web.scenario_form import form_of
from server.web.timeline_lanes import lanes
from tests.advise.test_relief import two_ovens
from tests.builders import double_throw_site, normal_only_site, with_parts


def test_a_house_without_generator_has_only_the_utility():
    site = normal_only_site()
    assert [x.list for x in lanes(site, form_of(site.scenarios[0]).values)] == ["outages"]


def test_switches_by_hand_circuits_and_started_appliances_have_lanes():
    site = double_throw_site()
    by_hand = site.circuit("b").model_copy(update={"outage_role": "by_hand"})
    site = with_parts(site, circuits=tuple(by_hand if c.id == "b" else c for c in site.circuits))
    found = lanes(site, form_of(site.scenarios[0]).values)
    assert [(x.kind, x.part_id) for x in found if x.part_id] == [("move", "throw"), ("window", "b")]
    assert next(x for x in found if x.kind == "move").resting == "normal"
    kilns, day = two_ovens()
    started = [x.part_id for x in lanes(kilns, form_of(day).values) if x.kind == "event"]
    assert started == ["oven", "kiln"]


def test_the_page_has_a_track_for_each_lane(browser, stored):
    page = browser.get(f"/sites/{stored.id}/scenarios/out/edit").text
    for one in lanes(stored.site, form_of(stored.site.scenario("out")).values):
        assert f'data-list="{one.list}" data-part="{one.part_id}"' in page
