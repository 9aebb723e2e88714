"""Stops and fuel of one of several sets."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from server.advise.outage_plan import outage_plan
from server.domain.scenario import Delivery, OwnSet, Stop, Window
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.domain.supply_edits import remove_part
from server.exchange.sitefile import read_site_file, write_site_file
from server.simulate.day_parts import service_stops
from server.simulate.levels import levels
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, with_parts
from tests.simulate.test_own_sets import ran_h, two
from tests.simulate.test_templates import build


def at(hour: float) -> datetime:
    return START + timedelta(hours=hour)


def stop(hour: float, until: float, set_id: str | None = None) -> Stop:
    return Stop(start=at(hour), end=at(until), set_id=set_id)


def during(run: Run) -> list[str]:
    plan = outage_plan(run)
    assert plan is not None
    return [t.text for t in plan.during]


def test_a_stop_of_one_set_leaves_the_other_running() -> None:
    """Half an hour off four less a start: the house runs on."""
    site, day = two()
    whole = ran_h(simulate(site, day))
    site, day = two(generator_stops=(stop(3, 3.5, "other"),))
    run = simulate(site, day)
    hours = ran_h(run)
    assert hours["set"] == whole["set"]
    assert hours["other"] == pytest.approx(whole["other"] - 0.5, abs=0.02)
    told = during(run)
    assert any(t.startswith("Stop Barn set for 30 min") for t in told)
    assert not any("Stop House set" in t or "House set and Barn set" in t for t in told)


def test_a_stop_of_no_named_set_stops_both_and_each_tells_its_own_burn() -> None:
    site, day = two(generator_stops=(stop(2, 2.5, "other"), stop(3, 3.5)))
    hours = ran_h(simulate(site, day))
    assert hours["set"] - hours["other"] == pytest.approx(0.5, abs=0.02)
    (both,) = [t for t in during(simulate(site, day)) if t.startswith("Stop House set and")]
    assert "by House set since the last stop" in both
    assert "by Barn set since the last stop" in both


def test_fuel_for_one_tank_is_not_in_the_other() -> None:
    """0.4 and 20 gal at first; five come for the barn and find room, none for the house."""
    due = (Delivery(at=at(2), gallons=5, set_id="other"),)
    site, day = two(OwnSet(set_id="other", fuel_share=0.02), deliveries=due)
    run = simulate(site, day)
    there = {n.generator_id: n.there_gal for n in run.fuel}
    assert there == pytest.approx({"set": 20.0, "other": 5.4}, abs=0.05)
    assert [n.left_over_gal for n in run.fuel] == pytest.approx([0.0, 0.0])
    (held,) = [v for v in levels(run) if v.name.startswith("House set")]
    assert float(held.values.max()) <= 20.0
    assert "Fuel is due: 5 gal for Barn set." in " ".join(during(run))


def test_fuel_for_no_named_set_is_so_much_for_each() -> None:
    share = (OwnSet(set_id="other", fuel_share=0.5), OwnSet(set_id="set", fuel_share=0.5))
    site, day = two(*share, deliveries=(Delivery(at=at(2), gallons=5),))
    run = simulate(site, day)
    assert [n.there_gal for n in run.fuel] == pytest.approx([15.0, 15.0])
    assert "5 gal for House set and 5 gal for Barn set" in " ".join(during(run))


def test_what_names_a_set_goes_with_it_and_comes_back_from_a_file() -> None:
    rows = {
        "generator_stops": (stop(2, 3, "other"), stop(3, 4)),
        "deliveries": (Delivery(at=at(2), gallons=5, set_id="other"),),
    }
    site, day = two(**rows)
    (again,) = read_site_file(write_site_file(site)).scenarios
    assert (again.generator_stops, again.deliveries) == (day.generator_stops, day.deliveries)
    (left,) = remove_part(site, "other", then="below").scenarios
    assert left.generator_stops == (stop(3, 4),)
    assert left.deliveries == ()
    for name, rows_of in (("stops", "generator_stops"), ("brings fuel for", "deliveries")):
        row = rows[rows_of][0].model_copy(update={"set_id": "nobody"})
        with pytest.raises(ValueError, match=f"{name} a generator that is not here"):
            Site.model_validate(
                with_parts(site, scenarios=()).model_dump()
                | {"scenarios": [day.model_copy(update={rows_of: (row,)}).model_dump()]}
            )


def test_sets_that_are_stopped_otherwise_are_stopped_by_themselves() -> None:
    """A portable every eight hours, a fixed one by its oil; two alike together."""
    site, _ = two()
    house, barn = site.generators
    outage = Window(start=at(0), end=at(72))
    assert {s.set_id for s in service_stops(site, outage)} == {None}
    apart = with_parts(
        site, generators=(house, barn.model_copy(update={"portable": True, "start": "by_hand"}))
    )
    stops = list(service_stops(apart, outage))
    counts = {i: sum(s.set_id == i for s in stops) for i in ("set", "other")}
    assert counts["other"] >= 8
    assert 1 <= counts["set"] <= 3


def test_late_fuel_comes_for_each_tank_by_its_size() -> None:
    """Half of 500 gal, and half of 50 for the other."""
    site, _ = two()
    tanks = {"set": 500.0, "other": 50.0}
    sets = tuple(
        g.model_copy(update={"tank": FuelTank(capacity_gal=tanks[g.id])}) for g in site.generators
    )
    site = with_parts(site, generators=sets)
    due = {d.set_id: d.gallons for d in build("late-fuel", site).deliveries}
    assert due["set"] == 10 * due["other"] == 250.0
