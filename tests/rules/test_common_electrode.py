"""One conductor to the electrodes for two sets of service conductors goes by both together."""

from __future__ import annotations

import pytest

from server.domain.panel import Panel
from server.domain.supply import Feeder, Segment
from server.rules.check import check_site
from server.rules.wiring.electrodes import copper_in_common, copper_to_electrodes
from tests import builders
from tests.builders import circuit, with_parts
from tests.rules.check_sites import RULES


def two_sets(first: str, second: str):
    """A house of two panels with mains of 200 A, each on a set of service conductors."""
    site = builders.normal_only_site(scenarios=(), floor_area_ft2=2000)
    (own,) = site.feeders
    wires = [Segment(run_ft=20, size=size) for size in (first, second)]
    panel = site.panels[0].model_copy(update={"main_a": 200.0, "rating_a": 200.0})
    other = Panel(id="other", name="Other panel", rating_a=200, main_a=200, spaces=20)
    feeders = (
        own.model_copy(update={"segments": (wires[0],), "breaker_a": None}),
        Feeder(id="set-2", name="Set 2", from_id=own.from_id, to_id=other.id, segments=(wires[1],)),
    )
    more = circuit("more-lights", other.id, 1)
    return with_parts(site, panels=(panel, other), feeders=feeders, circuits=(*site.circuits, more))


@pytest.mark.parametrize(
    ("sizes", "apart", "together"),
    # Table 250.66 and its note 1: 2 x 167,800 = 335,600 cmil is over 3/0 to 350 kcmil's row of 2;
    # 2 x 250 kcmil is over 350 to 600 kcmil's row of 1/0.
    [(("3/0", "3/0"), "4", "2"), (("250", "250"), "2", "1/0")],
)
def test_alike_sets_ask_for_more_where_one_conductor_serves_both(sizes, apart, together):
    site = two_sets(*sizes)
    wiring = check_site(site).wiring
    alone = {copper_to_electrodes(w, RULES) for w in wiring if w.service}
    assert alone == {apart}
    assert set(copper_in_common(site, wiring, RULES).values()) == {together}


def test_sets_that_are_not_alike_and_one_alone_are_left_out():
    site = two_sets("3/0", "4/0")
    assert copper_in_common(site, check_site(site).wiring, RULES) == {}
    one = builders.normal_only_site(scenarios=())
    assert copper_in_common(one, check_site(one).wiring, RULES) == {}
