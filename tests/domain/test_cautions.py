"""Cautions that stand under a result."""

from __future__ import annotations

from server.domain.cautions import REFUEL, result_cautions
from tests.builders import backed_up_site, scenario


def test_a_stop_for_oil_carries_the_caution_of_refuelling_as_an_entered_one_does():
    site = backed_up_site()
    for minutes, told in ((None, False), (30.0, True)):
        day = scenario("out", outage_h=(2, 5), oil_stop_min=minutes)
        assert (REFUEL in result_cautions(site, day, over=False)) is told
