"""The amps of a set in the check are those a run limits its legs to."""

from __future__ import annotations

import pytest

from server.rules.demand.ratings import generator_a
from server.simulate.limits import generator_leg_limit
from tests import builders
from tests.builders import with_parts


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
