"""The amps of a set in the check are those a run limits its legs to."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.demand.ratings import binding_part, generator_a, rating_a
from server.rules.demand.report import demand_of
from server.simulate.limits import generator_leg_limit
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES


@pytest.mark.parametrize(
    ("rated_kw", "kva", "system", "amps"),
    [(8, 10, "120/240", 33.33), (20, 20, "120/208", 55.56)],
)
def test_a_set_gives_the_lesser_of_its_kva_and_kw_over_the_volts_of_its_legs(
    rated_kw, kva, system, amps
):
    base = builders.backed_up_site(scenarios=())
    (one,) = base.generators
    changes = {
        "rated_kw": rated_kw,
        "kva": kva,
        "system": system,
        "altitude_derate_per_1000ft": 0.0,
        "heat_derate_per_10f": 0.0,
    }
    one = one.model_copy(update=changes)
    site = with_parts(base, generators=(one,))
    assert generator_a(site, one.id) == pytest.approx(amps, abs=0.01)
    assert generator_a(site, one.id) == generator_leg_limit(site, one, site.design_high_f).value


@pytest.mark.parametrize(
    ("parts", "word", "limit_a"),
    [
        ({"cord_a": 30}, "cord", 30),
        ({"inlet_a": 20}, "inlet", 20),
        ({"cord_a": 30, "inlet_a": 20}, "inlet", 20),
        ({"receptacle_a": 30}, "receptacle", 30),
        ({}, None, 40),
        ({"cord_a": 40}, None, 40),
    ],
)
def test_a_set_gives_no_more_than_passes_its_cord(parts, word, limit_a):
    """9.6 kW are 40 A of a leg; a cord of 30 A bears 30 A of them (240.5, from memory)."""
    every = {"receptacle_a": 50, "cord_a": 50, "inlet_a": 50, "breaker_a": None} | parts
    plate = {"rated_kw": 9.6, "altitude_derate_per_1000ft": 0.0, "heat_derate_per_10f": 0.0}
    site = with_parts(builders.interlock_site(), generators=(builders.portable(**plate, **every),))
    assert rating_a(site, "set") == pytest.approx(limit_a)
    part = binding_part(site, "set")
    assert part == (None if word is None else (word, limit_a))
    assert binding_part(site, "main") is None
    sheet = demand_of(site, "set", rules=RULES).sheets[0]
    assert sheet.existing_a == pytest.approx(limit_a)


def test_what_is_past_a_cord_asks_for_a_larger_cord():
    kiln = builders.circuit("kiln", "main", 9, 11, load_w=8400, breaker_a=50)
    every = {"receptacle_a": 50, "cord_a": 30, "inlet_a": 50, "breaker_a": None}
    base = builders.interlock_site()
    site = with_parts(
        base,
        generators=(builders.portable(rated_kw=12, **every),),
        circuits=(*base.circuits, kiln),
    )
    finding = next(
        f
        for f in check_site(site).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    )
    assert finding.limit == 30
    assert "Its cord is rated 30 A." in finding.text
    assert "use a larger cord: " in finding.mend
    whole = with_parts(site, generators=(builders.portable(rated_kw=4, **every | {"cord_a": 50}),))
    finding = next(
        f
        for f in check_site(whole).findings
        if f.code == "demand-above-rating" and f.element_id == "set"
    )
    assert "use a larger set: " in finding.mend
