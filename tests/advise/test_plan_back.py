"""Power that goes, comes back and goes again: a set that turns is not started, nor left thrown."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.advise.outage_plan import OutagePlan, outage_plan
from server.domain.scenario import Window
from server.domain.supply import FuelTank
from server.simulate.run import simulate
from tests.builders import START, backed_up_site, generator, interlock_site, scenario, with_parts

STARTED = "Wheel Generator set outdoors, plug its cord in, and start it with nothing on it"


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def planned(base, *outages: tuple[float, float], sets=None, **changes) -> OutagePlan:
    """A plan of outages in minutes after noon."""
    windows = tuple(Window(start=at(a), end=at(b)) for a, b in outages)
    day = scenario("out", span_h=12, outages=windows, **changes)
    site = with_parts(base, generators=sets or base.generators, scenarios=(day,))
    plan = outage_plan(simulate(site, day))
    assert plan is not None
    return plan


def of_set(plan: OutagePlan) -> list[tuple[datetime, str]]:
    return [(t.at, t.text) for t in plan.during if "Generator set" in t.text and t.at is not None]


def test_a_set_by_hand_that_still_carries_the_house_is_not_started_again():
    """Back for 10 min of the 20 that a person waits: nothing was changed back."""
    told = of_set(planned(interlock_site(), (30, 90), (100, 160)))
    assert [when for when, _ in told] == [at(30), at(100)]
    assert told[0][1].startswith(STARTED)
    assert told[1][1] == (
        "Generator set runs and carries its loads still: let it run on, and do not change back "
        "until the power has stayed for about 20 min."
    )


def test_a_set_by_hand_that_still_cools_is_changed_over_to_without_a_start():
    """Back for 22 min: changed back after 20, 5 min of cooling, so it turns until minute 115."""
    told = of_set(planned(interlock_site(), (30, 90), (112, 160)))
    assert [when for when, _ in told] == [at(30), at(90), at(112)]
    assert told[1][1].startswith("Wait for steady volts, about 20 min; change back by hand")
    assert told[2][1].startswith("Generator set turns already: about 15 min after the power")


def test_between_two_outages_a_person_changes_back_and_starts_anew():
    told = of_set(planned(interlock_site(), (30, 90), (300, 360)))
    assert [when for when, _ in told] == [at(30), at(90), at(300)]
    assert told[2][1].startswith(STARTED)


@pytest.mark.parametrize(
    ("again_min", "words"),
    [
        (95, "Generator set turns already and goes on carrying its loads; see that it does."),
        (102, "Generator set turns already and takes over by itself; see that it does."),
        (200, "Generator set starts by itself; see that it does."),
    ],
)
def test_an_automatic_set_starts_by_itself_only_where_it_stands(again_min, words):
    """Its switch goes back after 10 min, it cools for 5: thrown until 100, turning until 105."""
    told = of_set(planned(backed_up_site(), (30, 90), (again_min, 260)))
    assert [when for when, _ in told] == [at(30), at(again_min)]
    assert told[1][1] == words


def test_outages_that_touch_are_one():
    told = of_set(planned(interlock_site(), (30, 90), (90, 160)))
    assert [when for when, _ in told] == [at(30)]


def test_a_set_without_fuel_is_not_started_in_a_later_outage():
    dry = generator(tank=FuelTank(capacity_gal=0.5, fill_share=1.0, reserve_share=0.0))
    told = of_set(planned(backed_up_site(), (30, 400), (500, 560), sets=(dry,)))
    assert [when for when, _ in told][::2] == [at(30)]
    assert "stops here unless more fuel was brought" in told[1][1]
