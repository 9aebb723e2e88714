"""Mains as breakers come, and a set of service conductors that ends behind an interlock.

240.6(A) for the ratings; 230.90(A) and 230.40 exception 2 for conductors that end in one main.
"""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.rules.check import check_site
from server.rules.overcurrent import devices_above
from server.rules.wiring.feeder import feeder_wiring
from tests import builders
from tests.builders import feeder, panel, with_parts
from tests.rules.check_sites import RULES, codes, found


@pytest.mark.parametrize(
    ("main_a", "told"), [(200, ""), (130, "125 A and 150 A"), (320, "listed for a service of 400")]
)
def test_a_main_of_no_standard_rating_is_told(main_a, told):
    site = builders.normal_only_site(
        services=(builders.service(main_a=main_a),), scenarios=(), floor_area_ft2=1500
    )
    if told:
        assert told in found(site, "main-not-standard").text
    else:
        assert "main-not-standard" not in codes(site)


def test_a_main_entered_for_the_service_and_its_panel_is_told_once():
    base = builders.normal_only_site(
        services=(builders.service(main_a=320),), scenarios=(), floor_area_ft2=1500
    )

    def told_at(main_a):
        site = with_parts(base, panels=(panel("main", rating_a=400, main_a=main_a),))
        findings = check_site(site).findings
        return [f.element_id for f in findings if f.code == "main-not-standard"]

    assert told_at(320) == ["grid"]
    assert told_at(330) == ["grid", "main"]


def two_mains():
    """400 A of service on two panels of 200 A, an interlock at the first."""
    base = builders.interlock_site(scenarios=())
    lock = base.transfer_switches[0].model_copy(update={"rating_a": 200})
    first = panel("main", rating_a=200, main_a=200, neutral_bonded=True)
    second = panel("other", rating_a=200, main_a=200, neutral_bonded=True)
    run = (Segment(run_ft=20, size="4/0", metal="aluminum"),)
    feeders = tuple(
        f.model_copy(update={"segments": run}) if f.from_id == "grid" else f for f in base.feeders
    )
    return with_parts(
        base,
        services=(builders.service(main_a=400),),
        transfer_switches=(lock,),
        panels=(first, second),
        feeders=(*feeders, feeder("grid", "other", segments=run)),
    )


def test_conductors_to_an_interlock_end_in_the_main_that_it_holds():
    site = two_mains()
    wires = {w.feeder_id: w for w in feeder_wiring(site, rules=RULES)}
    assert wires["grid-lock-utility"].device_a == 200
    assert ("the main of Panel main", 200.0) in tuple(devices_above(site, "lock"))
    assert not {"breaker-above-switch", "wire-too-small"} & codes(site)
