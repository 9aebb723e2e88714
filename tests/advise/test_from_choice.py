"""Dark stretches that the scenario itself chooses, as the next step tells them."""

from __future__ import annotations

from server.advise.next_step import next_step
from tests.builders import backed_up_site, generator, scenario, with_parts


def test_a_stop_for_oil_is_named_as_such_and_can_be_shorter_but_not_later():
    """It turns from 10 s after 13:00 on: 5 h are run 10 s after 18:00."""
    base = backed_up_site()
    day = scenario("out", span_h=12, outage_h=(1, 11), oil_stop_min=30.0)
    fed = base.circuit("d").model_copy(update={"load_class": "must_serve"})
    others = tuple(c for c in base.circuits if c.id != "d")
    oiled = (generator(oil_check_h=5.0),)
    step = next_step(
        with_parts(base, circuits=(*others, fed), generators=oiled, scenarios=(day,)), day
    )
    assert (
        "that is the stop of 30 min for the oil that this scenario makes at Thu 26 Nov 18:00"
        in step.sentence
    )
    assert "a battery of its own through the stop, or a shorter stop" in step.sentence
