from __future__ import annotations

import pytest

from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.check import check_site
from tests.builders import backed_up_site, feeder, normal_only_site, panel, with_parts
from tests.rules.check_sites import HOUSE, of_kind


def barn(*segments: Segment, detached: bool = True, bonded: bool = True) -> Site:
    site = normal_only_site()
    other = panel("barn", rating_a=100, detached_building=detached, neutral_bonded=bonded)
    run = feeder("main", "barn", breaker_a=60, spaces=(18, 20), segments=segments)
    return with_parts(site, panels=(*site.panels, other), feeders=(*site.feeders, run))


BARE = Segment(run_ft=100, size="4")
EMT = Segment(run_ft=100, size="4", raceway="EMT")
PVC = Segment(run_ft=20, size="4", raceway="PVC 40")
GROUNDED = Segment(run_ft=100, size="4", ground_size="10")


@pytest.mark.parametrize(
    ("site", "asked"),
    [
        (barn(BARE), True),
        (barn(GROUNDED), False),
        (barn(BARE, GROUNDED), False),
        (barn(), False),
        (barn(BARE, detached=False), False),
    ],
)
def test_an_old_three_wire_feeder_to_another_building_is_asked_about(
    site: Site, asked: bool
) -> None:
    found = {f.code: f for f in check_site(site).findings}
    assert ("detached-three-wire" in found) is asked
    assert ("two-neutral-bonds" in found) is not asked
    if asked:
        assert found["detached-three-wire"].severity == "warning"
        assert found["detached-three-wire"].section == "250.32(B)(1) exception"
        assert "of metal run between" in found["detached-three-wire"].mend


def test_an_unbonded_panel_of_another_building_is_not_asked_about() -> None:
    found = {f.code for f in check_site(barn(BARE, bonded=False)).findings}
    assert "detached-three-wire" not in found


def test_a_second_bond_beside_the_old_feeder_still_blocks() -> None:
    site = barn(BARE)
    third = panel("loft", rating_a=100, neutral_bonded=True)
    run = feeder("barn", "loft", breaker_a=60, spaces=(2, 4))
    site = with_parts(site, panels=(*site.panels, third), feeders=(*site.feeders, run))
    assert "two-neutral-bonds" in {f.code for f in check_site(site).findings}


def test_a_feeder_in_metal_all_the_way_is_no_old_one() -> None:
    """250.32(B)(1) exception: no metal path; EMT is the ground itself, 250.118. From memory."""
    report = check_site(barn(EMT))
    found = {f.code: f for f in report.findings}
    assert "detached-three-wire" not in found
    assert found["two-neutral-bonds"].severity == "blocking"
    bonded = found["detached-neutral-bonded"]
    assert "in metal all the way (EMT)" in bonded.text
    assert bonded.section == "250.32(B)(1) exception, 250.118(A)"
    assert "detached-neutral-bonded" not in {
        f.code for f in check_site(barn(EMT, bonded=False)).findings
    }


@pytest.mark.parametrize("segment", [BARE, GROUNDED])
def test_no_ground_fills_the_raceway_of_an_old_one(segment: Segment) -> None:
    """Table 5, THWN-2, from memory: three of 4 at 0.0824 in²; a ground of 10 is of 0.0211 in²."""
    told = {"raceway": "PVC 40", "raceway_trade_size": "1"}
    wire = segment.model_copy(update=told)
    site = barn(wire)
    heat = of_kind("heat", "barn", (1, 3), "wall-heater", load_w=5_000, breaker_a=30)
    report = check_site(with_parts(site, zones=HOUSE, circuits=(*site.circuits, heat)))
    (one,) = (w for w in report.wiring if w.feeder_id == "main-barn")
    fill = one.segments[0].fill
    assert fill is not None
    ground = 0 if segment is BARE else 1
    assert fill.count == 3 + ground
    assert fill.area_in2 == pytest.approx(3 * 0.0824 + ground * 0.0211)


def test_a_length_of_plastic_leaves_the_question_open() -> None:
    found = {f.code for f in check_site(barn(EMT, PVC)).findings}
    assert "detached-three-wire" in found
    assert "two-neutral-bonds" not in found


@pytest.mark.parametrize(
    ("edition", "service"),
    [("2017", "250.24(A)(5)"), ("2020", "250.24(A)(5)"), ("2023", "250.24(B)")],
)
@pytest.mark.parametrize(("detached", "own"), [(True, "250.32(B)"), (False, "250.142(B)")])
def test_a_second_bond_cites_where_it_lies(edition, service, detached, own) -> None:
    """250.32(B) of another building, 250.142(B) of a subpanel, 250.30 of a set: from memory."""
    report = check_site(barn(GROUNDED, detached=detached), edition=edition)
    (found,) = [f for f in report.findings if f.code == "two-neutral-bonds"]
    assert found.section == f"{service}, {own}"


def test_a_bonded_set_behind_a_plain_switch_cites_its_own_section() -> None:
    base = backed_up_site(scenarios=())
    sets = tuple(g.model_copy(update={"neutral_bonded": True}) for g in base.generators)
    report = check_site(with_parts(base, generators=sets))
    sections = {f.section for f in report.findings if f.code == "two-neutral-bonds"}
    assert sections == {"250.24(B), 250.30"}
