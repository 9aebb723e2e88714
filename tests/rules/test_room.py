"""What may still be added at an element, back to its sources."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.demand.room import rooms
from server.rules.wiring.carried import carried_a
from server.rules.wiring.feeder import governing
from server.web.demand import summary
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES


def room_of(site):
    report = check_site(site)
    sheets = {d.element_id: governing(d) for d in report.demand}
    return rooms(site, sheets, carried_a(report.wiring, RULES))


def shed(*, main_a=200, swap=False):
    """A 60 A shed with 1,200 VA on its L1, behind a panel that carries 4,800 VA between legs."""
    return with_parts(
        builders.normal_only_site(scenarios=()),
        services=(builders.service(main_a=main_a),),
        panels=(
            builders.panel("main", main_a=main_a, neutral_bonded=True),
            builders.panel("shed", rating_a=100, detached_building=True),
        ),
        feeders=(
            builders.feeder("grid", "main"),
            builders.feeder("main", "shed", breaker_a=60, spaces=(10, 12), swap_legs=swap),
        ),
        circuits=(
            builders.circuit("heat", "main", 5, 7, load_w=4800, breaker_a=30),
            builders.circuit("mats", "shed", 1, load_w=1200, place="outbuilding"),
        ),
        floor_area_ft2=0,
    )


def test_what_a_feeder_has_left_holds_the_panel_behind_it():
    room = room_of(shed())["shed"]
    # 60 A less 10 A on L1: 50 A at 240 V; its L2 is free, 60 A at 120 V.
    assert room.va == pytest.approx(12_000)
    assert room.on == {"L1": pytest.approx(6000), "L2": pytest.approx(7200)}


@pytest.mark.parametrize(
    ("size", "insulation", "va", "held_by"),
    [("6", "NM-B", 10_800, "the wire of "), ("4", "NM-B", 12_000, "")],
)
def test_the_wire_holds_the_room_where_its_device_is_the_next_size_up(
    size, insulation, va, held_by
):
    """6 copper in cable carries 55 A (Table 310.16 at 60 °C, 334.80) behind 60 A (240.4(B))."""
    base = shed()
    laid = (Segment(run_ft=50, size=size, metal="copper", insulation=insulation),)
    feeders = tuple(
        f.model_copy(update={"segments": laid}) if f.to_id == "shed" else f for f in base.feeders
    )
    room = room_of(with_parts(base, feeders=feeders))["shed"]
    assert room.va == pytest.approx(va)
    assert room.binding_name.startswith(held_by or "Panel shed")


def test_a_full_service_leaves_no_room_behind_a_large_feeder():
    site = shed(main_a=60)
    reports = {d.element_id: governing(d) for d in check_site(site).demand}
    room = rooms(site, reports, {})["shed"]
    service = reports["grid"]
    assert reports["shed"].can_add_va == pytest.approx(12_000)  # 60 A less 10 A, alone
    assert room.va == pytest.approx((60 - service.needed_a) * 240)
    assert room.va < reports["shed"].can_add_va
    assert room.binding_name in {"Service grid", "Feeder grid-main", "Panel main"}
    assert room.left[0] == ("Panel shed", pytest.approx(50))
    assert min(a for _, a in room.left) * 240 == pytest.approx(room.va)


def test_every_element_has_at_most_the_room_of_all_that_feeds_it():
    for site in (builders.backed_up_site(), builders.double_throw_site(), shed(main_a=60)):
        found = room_of(site)
        for feeder in site.feeders:
            for behind, ahead in ((feeder.to_id, feeder.id), (feeder.id, feeder.from_id)):
                if behind in found and ahead in found:
                    assert found[behind].va <= found[ahead].va + 1e-6


def test_a_leg_is_followed_where_a_feeder_crosses():
    straight, crossed = shed(main_a=60), shed(main_a=60, swap=True)
    light = builders.circuit("light", "main", 1, load_w=3600, place="common_area")

    def lit(site):
        return with_parts(site, circuits=(*site.circuits, light))

    # What burns on L1 of the main panel takes from L1 of the shed, crossed from its L2.
    one, other = room_of(lit(straight))["shed"], room_of(lit(crossed))["shed"]
    assert one.on["L1"] < one.on["L2"]
    assert other.on["L2"] < one.on["L2"]


def test_a_set_holds_the_panels_behind_it_and_the_utility_is_told_beside():
    site = with_parts(
        builders.backed_up_site(scenarios=()),
        generators=(builders.generator(rated_kw=6),),
    )
    room = room_of(site)["backed"]
    assert room.binding_id in {"set", "set-ats-generator"}
    assert room.utility is not None
    assert room.utility.va > room.va
    assert room.utility.binding_id not in {"set", "set-ats-generator"}


def test_a_240_v_load_is_not_held_by_a_set_of_one_leg():
    site = builders.set_120_only_site(scenarios=())
    found = room_of(site)
    assert found["set"].on == {}
    assert all(r.va >= 0 for r in found.values())


def test_the_summary_tells_the_room_and_what_holds_it():
    site = shed(main_a=40)
    rows = {r.element.element_id: r for g in summary(site, "2023", None, {}) for r in g.rows}
    assert rows["shed"].room == room_of(site)["shed"]
