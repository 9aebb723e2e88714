"""The plan of a run that begins inside an outage, or after one."""

from __future__ import annotations

from server.advise.outage_plan import outage_plan
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, generator, scenario


def test_of_an_outage_under_way_the_plan_begins_with_what_can_still_be_done() -> None:
    site = backed_up_site(generators=(generator(start="by_hand", fuel="gasoline"),))
    day = scenario("out", span_h=12, outage_h=(-5, 6))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    assert plan.under_way
    assert {t.at for t in plan.before} == {START}
    said = " ".join(t.text for t in (*plan.before, *plan.during))
    assert "Check the oil of" in said
    assert "start it once" not in said
    assert "Charge in full" not in said
    assert all(t.at is None or t.at >= START for t in plan.during)


def test_an_outage_that_is_over_has_no_plan() -> None:
    day = scenario("over", span_h=12, outage_h=(-5, -1))
    assert outage_plan(simulate(backed_up_site(), day)) is None
