"""A day's mean of a set against its standby rating, and diesels at light load. Worked by hand."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import Cycle
from server.domain.finding import Finding
from server.domain.scenario import SwitchMove
from server.domain.site import Site
from server.domain.supply import FuelPoint
from server.simulate.burn import curve_of
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.set_load import day_mean_kw
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    generator,
    scenario,
    whole_house_site,
    with_parts,
)

HOURS = np.arange(0.0, 48 * 3600.0, 3600.0)


def site_with(**changes: Any) -> Site:
    """4.8 kW, day and night, on a set of these changes."""
    return backed_up_site(generators=(generator(**changes),))


def codes(run: Run) -> set[str]:
    return {f.code for f in run.findings}


def out_for(hours: float) -> Any:
    return scenario("long", span_h=hours + 2, outage_h=(1, 1 + hours))


def behind_a_throw(**changes: Any) -> Site:
    """A switchable panel whose BACKED-UP side a set of its own feeds, and nothing else does."""
    base = double_throw_site()
    into = next(f for f in base.feeders if f.to_input == "backed_up")
    own = into.model_copy(update={"id": "own", "from_id": "second", "spaces": ()})
    return with_parts(
        base,
        generators=(*base.generators, generator("second", name="Second set", **changes)),
        feeders=tuple(own if f.id == into.id else f for f in base.feeders),
    )


def idling(run: Run) -> list[Finding]:
    return [f for f in run.findings if f.code == "set-idles"]


def test_a_set_that_starts_by_itself_behind_a_hand_s_throw_is_told_to_idle() -> None:
    """From 10 s into an outage of 6 h to the end of its cool-down, at its burn without load."""
    site = behind_a_throw(cool_down_min=5.0, start_delay_s=10.0)
    run = simulate(site, out_for(6.0))
    (found,) = idling(run)
    assert found.element_id == "second"
    assert found.value == pytest.approx(6.0 - 10 / 3600, abs=0.02)
    idle_gal_h = curve_of(site.generators[1]).at_no_load[0]
    gallons = next(s.fuel_used for s in run.sources if s.source_id == "second")
    assert gallons is not None
    assert gallons.value == pytest.approx(idle_gal_h * (6.0 + 290 / 3600), rel=1e-3)
    assert f"burns about {found.value * idle_gal_h:.1f} gal" in found.text
    throw = site.double_throws[0]
    assert f"{throw.name}, which alone takes it, is thrown by hand" in found.text
    assert f"Throw {throw.name} to it" in found.mend


def test_one_thrown_to_or_started_by_hand_or_loaded_is_not_told_to_idle() -> None:
    site = behind_a_throw()
    at = START + timedelta(hours=1, minutes=5)
    move = SwitchMove(switch_id=site.double_throws[0].id, at=at, position="backed_up")
    day = out_for(6.0).model_copy(update={"switch_moves": (move,)})
    assert not idling(simulate(site, day))
    assert not idling(simulate(behind_a_throw(start="by_hand"), out_for(6.0)))
    assert not idling(simulate(site_with(), out_for(6.0)))


def test_a_steady_load_is_its_own_mean() -> None:
    watts, ran = np.full(48, 8000.0), np.ones(48)
    assert day_mean_kw(generator(rated_kw=10), watts, ran, HOURS) == pytest.approx(8.0)


def test_the_worst_24_hours_count_and_not_the_calendar_day() -> None:
    watts = np.full(48, 4000.0)
    watts[12:36] = 9000.0
    assert day_mean_kw(generator(rated_kw=10), watts, np.ones(48), HOURS) == pytest.approx(9.0)


def test_standing_still_does_not_count_and_light_load_counts_as_thirty_per_cent() -> None:
    watts, ran = np.zeros(48), np.zeros(48)
    ran[:12] = 1.0
    watts[:6], watts[6:12] = 8000.0, 500.0
    # Twelve hours of running: six at 8 kW, six counted as 3 kW of its 10.
    assert day_mean_kw(generator(rated_kw=10), watts, ran, HOURS) == pytest.approx(5.5)


def test_less_than_six_hours_say_nothing_of_a_day() -> None:
    watts, ran = np.zeros(48), np.zeros(48)
    watts[:5], ran[:5] = 9000.0, 1.0
    assert day_mean_kw(generator(rated_kw=10), watts, ran, HOURS) == 0.0


@pytest.mark.parametrize(("rated_kw", "told"), [(6.5, True), (6.9, False)])
def test_past_70_per_cent_of_a_standby_rating_is_a_warning(rated_kw: float, told: bool) -> None:
    # 4.8 kW is 73.8 % of 6.5 kW and 69.6 % of 6.9 kW.
    run = simulate(site_with(rated_kw=rated_kw), out_for(24))
    found = [f for f in run.findings if f.code == "set-day-mean-high"]
    assert bool(found) == told
    if told:
        assert found[0].value == pytest.approx(4.8, rel=0.01)
        assert found[0].limit == pytest.approx(4.55)
        assert "4.8 kW on average over a day" in found[0].text


def test_a_portable_and_a_short_outage_are_not_told() -> None:
    assert "set-day-mean-high" not in codes(simulate(site_with(rated_kw=5.5), out_for(4)))
    carried = site_with(rated_kw=5.5, portable=True)
    assert "set-day-mean-high" not in codes(simulate(carried, out_for(24)))


@pytest.mark.parametrize(
    ("rated_kw", "fuel", "told"),
    [(20, "diesel", True), (12, "diesel", False), (20, "propane", False)],
)
def test_a_diesel_under_30_per_cent_is_told(rated_kw: float, fuel: str, told: bool) -> None:
    # 4.8 kW is 24 % of 20 kW and 40 % of 12 kW.
    run = simulate(site_with(rated_kw=rated_kw, fuel=fuel), out_for(24))
    assert ("diesel-light-load" in codes(run)) == told


def test_a_mean_is_held_to_what_the_set_gives_at_that_altitude_and_heat() -> None:
    """8 kW less 3.5 % for each 1,000 ft: 6.6 kW at 5,000 ft, 70 % of which 4.8 kW is past."""
    thin = site_with(rated_kw=8, altitude_derate_per_1000ft=0.035, altitude_free_ft=0)
    high = with_parts(thin, place=thin.place.model_copy(update={"altitude_ft": 5000.0}))
    (found,) = [f for f in simulate(high, out_for(24)).findings if f.code == "set-day-mean-high"]
    assert found.limit == pytest.approx(0.7 * 8 * (1 - 5 * 0.035))
    assert "the 6.6 kW that it can give at this altitude and heat" in found.text
    assert "set-day-mean-high" not in codes(simulate(thin, out_for(24)))


def sheet(*points: tuple[float, float]) -> tuple[FuelPoint, ...]:
    return tuple(FuelPoint(load_kw=kw, rate_per_h=rate) for kw, rate in points)


def test_burn_outside_its_sheet_is_told_and_within_it_not() -> None:
    """4.8 kW for eight hours, first 30 s and the throw without load."""
    off = simulate(site_with(fuel_points=sheet((10, 1.5), (15, 2.0), (20, 2.5))), out_for(8))
    (found,) = [f for f in off.findings if f.code == "set-off-its-sheet"]
    assert "h under 10 kW of its 8." in found.text
    over = simulate(site_with(fuel_points=sheet((0, 0.5), (2, 0.7), (4, 0.9))), out_for(8))
    (found,) = [f for f in over.findings if f.code == "set-off-its-sheet"]
    assert "h over 4 kW" in found.text
    within = simulate(site_with(fuel_points=sheet((0, 0.5), (10, 1.5), (20, 2.5))), out_for(8))
    assert "set-off-its-sheet" not in codes(within)
    two = simulate(site_with(fuel_points=sheet((10, 1.5), (20, 2.5))), out_for(8))
    assert "set-off-its-sheet" not in codes(two)


def test_gaps_between_the_turns_of_a_freezer_are_no_idling() -> None:
    """Off for 27 min at a time, hours in all: nobody stops a set for that."""
    turns = Cycle(on_min=13, off_min=27)
    freezer = appliance("freezer", 200, behaviour=turns)
    site = whole_house_site(
        circuits=(circuit("f", "main", 1, appliances=(freezer,)),),
        generators=(generator("set"),),
    )
    run = simulate(site, out_for(24.0))
    row = run.site.generators[0].id
    empty_h = float((run.served.set_w[0] < 1.0).mean()) * 26.0
    assert row == "set"
    assert empty_h > 5.0
    assert not idling(run)
