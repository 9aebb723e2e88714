"""The plan of a run that begins inside an outage, or after one."""

from __future__ import annotations

from server.advise.outage_plan import outage_plan
from server.simulate.run import simulate
from tests.advise.test_plan_harms import of_kind
from tests.builders import START, backed_up_site, generator, scenario, with_parts


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


def test_a_motor_on_a_set_that_runs_already_is_looked_at_and_not_tried_before() -> None:
    well = of_kind("well", "backed", (22, 24), "well-pump")
    base = backed_up_site()
    site = with_parts(
        base,
        panels=tuple(p.model_copy(update={"spaces": 40}) for p in base.panels),
        generators=(generator(rated_kw=3.0),),
        circuits=(*base.circuits, well),
    )
    for begun_h, words in ((-5, "See whether these run on"), (1, "Try whether")):
        plan = outage_plan(simulate(site, scenario("out", span_h=12, outage_h=(begun_h, 6))))
        assert plan is not None
        (task,) = (t for t in plan.before if "may not start" in t.text or "Try whether" in t.text)
        assert task.text.startswith(words)
        assert well.appliances[0].name in task.text
