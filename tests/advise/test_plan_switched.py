"""A switch worked by hand is thrown by somebody, in the order of the hands, and back again."""

from __future__ import annotations

import pytest

from server.advise.outage_plan import outage_plan
from server.domain.site import Site
from server.domain.supply import Generator
from server.simulate.run import simulate
from tests.builders import backed_up_site, interlock_site, with_parts


def tasks(site: Site) -> tuple[list[str], list[str]]:
    """What is done as an outage begins, and once it is over."""
    plan = outage_plan(simulate(site, site.scenario("out")))
    assert plan is not None
    return [t.text for t in plan.during], [t.text for t in plan.after]


def with_set(site: Site, **changes: object) -> Site:
    made = site.generators[0].model_dump() | changes
    return with_parts(site, generators=(Generator.model_validate(made),))


@pytest.mark.parametrize("start", ["by_hand", "automatic"])
def test_the_interlock_is_thrown_by_hand_and_back(start: str):
    during, after = tasks(with_set(interlock_site(), start=start))
    on = next(t for t in during if "the plate of Interlock over" in t)
    main, plate = on.index("open the main"), on.index("slide the plate")
    assert main < plate < on.index("close the back-fed breaker") < on.index("one at a time")
    back = next(t for t in after if "change back by hand: " in t)
    assert back.index("open the load breakers and the back-fed breaker") < back.index("close the m")
    assert "let Generator set cool 5 min without load, then stop it" in back


def test_a_wheeled_set_is_out_and_runs_before_it_is_changed_over():
    during, _ = tasks(with_set(interlock_site(), start="by_hand"))
    on = next(t for t in during if t.startswith("Wheel Generator set outdoors, plug its cord in"))
    assert on.index("start it with nothing on it") < on.index("about 15 min after the power fails")
    assert not any("starts by itself" in t for t in during)


def test_a_set_that_starts_by_itself_behind_a_hand_switch_is_not_said_to_take_over():
    during, _ = tasks(with_set(interlock_site(), start="automatic"))
    on = next(t for t in during if t.startswith("Generator set starts by itself"))
    assert "It takes nothing over by itself" in on


def test_an_automatic_switch_is_thrown_by_nobody():
    during, after = tasks(backed_up_site())
    assert not any("throw" in t or "slide" in t for t in (*during, *after))
