from __future__ import annotations

import pytest

from server.domain.site import Site
from server.domain.supply import Segment
from server.rules.check import check_site
from tests.builders import feeder, normal_only_site, panel, with_parts


def barn(*segments: Segment, detached: bool = True, bonded: bool = True) -> Site:
    site = normal_only_site()
    other = panel("barn", rating_a=100, detached_building=detached, neutral_bonded=bonded)
    run = feeder("main", "barn", breaker_a=60, spaces=(18, 20), segments=segments)
    return with_parts(site, panels=(*site.panels, other), feeders=(*site.feeders, run))


BARE = Segment(run_ft=100, size="4")
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
