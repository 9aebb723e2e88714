"""What people go without in a run that holds is told, with the choice that lies behind it."""

from __future__ import annotations

from server.advise.gone_without import gone_without
from server.advise.levers import Lever, apply_lever
from server.advise.next_step import next_step
from server.domain.scenario import KeptOff
from server.domain.site import Site
from server.simulate.run import cached_run
from tests.builders import backed_up_site, scenario, with_parts
from tests.rules.check_sites import of_kind
from tests.simulate.test_harm_verdict import stopped, well


def house(*, kept: bool, role: str = "on", panel_id: str = "backed") -> Site:
    """A well on a large set, kept off in one of two outages, or by its role in both."""
    well = of_kind("well", panel_id, (13, 15), "well-pump").model_copy(
        update={"load_class": "important", "outage_role": role}
    )
    base = backed_up_site()
    off = (KeptOff(circuit_id="well"),) if kept else ()
    days = (
        scenario("dry", span_h=30, outage_h=(2, 28), people=4, kept_off=off),
        scenario("other", span_h=12, outage_h=(2, 8), people=4),
    )
    return with_parts(base, circuits=(*base.circuits[:2], well), scenarios=days)


def test_water_kept_off_by_choice_is_told_with_the_lever_that_gives_it():
    site = house(kept=True)
    day = site.scenario("dry")
    assert cached_run(site, day).verdict.fits
    step = next_step(site, day)
    assert "Nothing need be changed" not in step.sentence
    assert "gives no water for up to" in step.sentence
    assert "this scenario keeps it off while the generator runs" in step.sentence
    assert step.lever == Lever("on", "well", here=True)
    assert not step.lever.every_day
    now, then = apply_lever(site, day, step.lever)
    assert then.kept_off == ()
    assert now.scenario("other") == site.scenario("other")
    assert "Nothing need be changed" in next_step(now, then).sentence


def test_a_role_that_keeps_water_off_is_told_as_a_choice_too():
    site = house(kept=False, role="off")
    step = next_step(site, site.scenario("dry"))
    assert "it is set to stay off while the generator runs" in step.sentence
    assert step.lever == Lever("on", "well")


def test_minutes_without_water_and_a_run_without_harm_change_nothing():
    """The set stopped for 30 min leaves no water for minutes; for 55 min, for more than 30."""
    calm = house(kept=False)
    assert gone_without(cached_run(calm, calm.scenario("dry"))) is None
    assert gone_without(cached_run(well(), stopped(30))) is None
    longer = gone_without(cached_run(well(), stopped(55)))
    assert longer is not None
    assert "gives no water for up to" in longer.sentence
    assert longer.lever is None
