from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from server.domain.base import COLDEST_F, HOTTEST_F
from server.domain.catalogue import KINDS
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.builtin import builtin_scenarios
from tests.builders import (
    EVERY_SITE,
    circuit,
    double_throw_site,
    feeder,
    interlock_site,
    panel,
    whole_house_site,
    with_parts,
)

START = date(2026, 11, 1)
IDS = [
    "holiday-peak",
    "holiday-peak-evening-outage",
    "three-day-shutoff",
    "three-night-gale",
    "planned-line-work",
]


def scenarios(site: Site, start: date = START) -> dict[str, Scenario]:
    return {s.id: s for s in builtin_scenarios(site, start=start)}


def kitchen(site: Site) -> Site:
    """The site with an oven, burners, a dishwasher, a dryer and a car."""
    kinds = ("range-oven", "range-burners", "dryer", "car-charger-32")
    extra = [
        circuit(k, "main", s, s + 2, appliances=(KINDS[k].appliance(f"my-{k}"),))
        for k, s in zip(kinds, (9, 10, 13, 14), strict=True)
    ]
    dishes = KINDS["dishwasher"].appliance("dishes")
    return with_parts(
        site, circuits=(*site.circuits, *extra, circuit("dw", "main", 17, appliances=(dishes,)))
    )


@pytest.mark.parametrize("build", EVERY_SITE.values(), ids=EVERY_SITE)
def test_every_site_can_be_tried_on_all_five(build: object) -> None:
    site = build()  # type: ignore[operator]
    found = builtin_scenarios(site, start=START)
    assert [s.id for s in found] == IDS
    assert all(s.proves for s in found)
    assert with_parts(site, scenarios=found).scenarios == found


def test_dates_are_the_season_s_next() -> None:
    days = {k: s.start.date() for k, s in scenarios(whole_house_site()).items()}
    assert days["holiday-peak"] == date(2026, 11, 26)
    assert days["three-day-shutoff"] == date(2027, 9, 14)
    assert days["planned-line-work"] == date(2027, 4, 14)
    assert days["planned-line-work"].weekday() < 5


@pytest.mark.parametrize(
    ("start", "day"),
    [(date(2026, 11, 26), date(2026, 11, 26)), (date(2026, 11, 27), date(2027, 11, 25))],
)
def test_a_holiday_just_past_waits_a_year(start: date, day: date) -> None:
    assert scenarios(whole_house_site(), start)["holiday-peak"].start.date() == day


def hours(scenario: Scenario, appliance_id: str) -> list[float]:
    return [
        round((e.at - datetime.combine(scenario.start.date(), datetime.min.time())) / HOUR, 2)
        for e in scenario.events
        if e.appliance_id == appliance_id
    ]


HOUR = timedelta(hours=1)


def test_the_holiday_cooks_then_washes_up_and_plugs_in() -> None:
    day = scenarios(kitchen(whole_house_site()))["holiday-peak"]
    assert hours(day, "my-range-oven") == [15, 16, 17]
    assert hours(day, "my-range-burners")[0] == 18
    assert hours(day, "dishes")[0] == 19
    assert hours(day, "my-car-charger-32") == [18]
    assert day.people == 10
    assert (day.weather.low_f, day.weather.high_f) == (35, 48)
    assert day.outages == ()


def test_a_second_oven_starts_twenty_minutes_later() -> None:
    site = kitchen(whole_house_site())
    second = KINDS["range-oven"].appliance("oven-2")
    site = with_parts(
        site, circuits=(*site.circuits, circuit("o2", "main", 18, 20, appliances=(second,)))
    )
    day = scenarios(site)["holiday-peak"]
    assert hours(day, "oven-2") == [15.33, 16.33, 17.33]


def test_a_large_household_brings_no_fewer_than_its_own() -> None:
    site = with_parts(whole_house_site(), people=14)
    assert scenarios(site)["holiday-peak"].people == 14


def test_the_evening_outage_is_the_same_day_without_power() -> None:
    both = scenarios(kitchen(whole_house_site()))
    with_outage, without = both["holiday-peak-evening-outage"], both["holiday-peak"]
    (window,) = with_outage.outages
    assert (window.start.hour, window.end.hour) == (17, 20)
    assert with_outage.events == without.events
    assert with_outage.weather == without.weather


def test_the_shutoff_lasts_three_days_and_shows_the_return() -> None:
    days = scenarios(kitchen(whole_house_site()))["three-day-shutoff"]
    (window,) = days.outages
    assert window.end - window.start == timedelta(days=3)
    assert days.end - window.end >= timedelta(hours=6)
    assert len(hours(days, "my-dryer")) == 3
    # Plugged in as the power returns, so that hours of it are in the run.
    assert hours(days, "my-car-charger-32") == [72 + 9]


def test_one_of_the_outages_is_in_the_cold():
    found = scenarios(kitchen(whole_house_site()))
    coldest = min((d for d in found.values() if d.outages), key=lambda d: d.weather.low_f)
    assert coldest.id == "three-night-gale"
    assert coldest.start.date() == date(2027, 1, 14)
    assert coldest.weather.low_f < 32.0


def test_a_switchable_panel_is_booked_twice_a_day_inside_the_outage() -> None:
    days = scenarios(double_throw_site())["three-day-shutoff"]
    (window,) = days.outages
    assert [m.position for m in days.switch_moves] == ["backed_up", "normal"] * 6
    assert all(window.start < m.at < window.end for m in days.switch_moves)
    thrown_h = sum(
        (b.at - a.at) / HOUR
        for a, b in zip(days.switch_moves[::2], days.switch_moves[1::2], strict=True)
    )
    assert thrown_h == 3 * 4.5


def test_a_switch_that_rests_on_backed_up_is_left_alone() -> None:
    site = double_throw_site(resting="backed_up")
    assert all(not s.switch_moves for s in builtin_scenarios(site, start=START))


def test_by_hand_circuits_get_windows_inside_the_outage_only() -> None:
    site = kitchen(whole_house_site())
    by_hand = [
        c.model_copy(update={"outage_role": "by_hand"})
        if c.id in {"range-burners", "dryer", "a"}
        else c
        for c in site.circuits
    ]
    found = scenarios(with_parts(site, circuits=by_hand))
    for day in found.values():
        for hand in day.hand_windows:
            assert any(o.start <= hand.window.start < hand.window.end <= o.end for o in day.outages)
    shutoff = found["three-day-shutoff"]
    assert {w.circuit_id for w in shutoff.hand_windows} == {"range-burners", "dryer", "a"}
    dryer = [w.window for w in shutoff.hand_windows if w.circuit_id == "dryer"]
    assert [(w.start.hour, w.end.hour) for w in dryer] == [(10, 12)] * 3
    assert found["holiday-peak"].hand_windows == ()


def test_the_laundry_is_started_inside_its_hand_window() -> None:
    site = kitchen(whole_house_site())
    shutoff = scenarios(site)["three-day-shutoff"]
    assert all(10 <= h % 24 < 12 for h in hours(shutoff, "my-dryer"))


def test_a_portable_is_stopped_for_fuel_and_a_fixed_set_for_oil() -> None:
    portable = scenarios(interlock_site())["three-day-shutoff"].generator_stops
    fixed = scenarios(whole_house_site())["three-day-shutoff"].generator_stops
    assert len(portable) == 9
    assert len(fixed) == 3
    outage = scenarios(interlock_site())["three-day-shutoff"].outages[0]
    assert all(outage.start < w.start and w.end < outage.end for w in (*portable, *fixed))


def test_line_work_leaves_a_hand_started_set_in_its_shed() -> None:
    assert scenarios(interlock_site())["planned-line-work"].generator == "absent"
    assert scenarios(whole_house_site())["planned-line-work"].generator == "ready"
    assert "stays in its shed" in scenarios(interlock_site())["planned-line-work"].proves


def test_line_work_puts_the_laundry_off_until_power_is_back() -> None:
    day = scenarios(kitchen(whole_house_site()))["planned-line-work"]
    (window,) = day.outages
    assert (window.start.hour, window.end.hour) == (8, 17)
    assert all(h >= 17 for h in hours(day, "my-dryer"))


def test_weather_follows_the_design_temperatures() -> None:
    warm = with_parts(whole_house_site(), design_low_f=30, design_high_f=104)
    found = scenarios(warm)
    assert found["holiday-peak"].weather.low_f == 50
    assert found["three-day-shutoff"].weather.high_f == 104


@pytest.mark.parametrize("low_f", [COLDEST_F, HOTTEST_F])
@pytest.mark.parametrize("high_f", [COLDEST_F, HOTTEST_F])
def test_design_figures_at_the_edges_give_weather_that_can_be_entered(low_f, high_f):
    site = with_parts(whole_house_site(), design_low_f=low_f, design_high_f=high_f)
    for scenario in scenarios(site).values():
        assert COLDEST_F <= scenario.weather.low_f <= scenario.weather.high_f <= HOTTEST_F


def test_a_house_with_more_to_start_than_a_scenario_holds_says_what_is_left_out():
    ovens = tuple(
        KINDS["range-oven"].appliance("oven").model_copy(update={"id": f"oven-{i}"})
        for i in range(480)
    )
    many = tuple(
        circuit(f"o{i}", "p", 2 * i + 1, 2 * i + 3, appliances=ovens[60 * i : 60 * i + 60])
        for i in range(0, 8, 2)
    ) + tuple(
        circuit(f"o{i}", "p", 2 * i, 2 * i + 2, appliances=ovens[60 * i : 60 * i + 60])
        for i in range(1, 8, 2)
    )
    base = whole_house_site()
    site = with_parts(
        base,
        panels=(*base.panels, panel("p", spaces=40)),
        feeders=(*base.feeders, feeder("main", "p")),
        circuits=(*base.circuits, *many),
    )
    shutoff = scenarios(site)["three-day-shutoff"]
    assert len(shutoff.events) == 400
    assert shutoff.note == "A scenario holds only the first 400 starts; the others are left out."
    assert not scenarios(whole_house_site())["three-day-shutoff"].note
