"""Harms of the hours before a run, told at their own hour; what it begins with."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.odds_gas import with_gas
from server.advise.outage_plan import outage_plan
from server.domain.behaviour import ColdBox, RoomUnit, SumpPump, Zone
from server.domain.scenario import Scenario, Weather, Window
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.harms import harms
from server.simulate.odds import odds_of
from server.simulate.odds_words import odds_notes
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import START, appliance, backed_up_site, circuit, scenario

NO_SET = {"generator": "absent"}
PIT = SumpPump(inflow_gpm=0.2, pump_gpm=35.0, cycle_gal=8.0, reserve_gal=10.0)


def out(*spans_h: tuple[float, float], span_h: float = 4.0, **changes: object) -> Scenario:
    """A run from noon with outages from and until so many hours after."""
    windows = tuple(
        Window(start=START + timedelta(hours=a), end=START + timedelta(hours=b)) for a, b in spans_h
    )
    day = scenario(span_h=span_h, **(NO_SET | changes))
    return day.model_copy(update={"outages": windows})


def heated() -> Site:
    """It cools towards what is outdoors with 25 h."""
    house = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
    heat = appliance("heat", 12_000, volts=240, behaviour=RoomUnit(zone_id="house", mode="heat"))
    own = circuit("heat", "main", 1, 3, breaker_a=60, appliances=(heat,), load_class="important")
    return backed_up_site(circuits=(own,), zones=(house,))


def with_box() -> Site:
    """Its usual figures keep food 4.0 h shut, by their own formula (USDA FSIS: about 4 h)."""
    box = appliance("box", 150, name="Fridge", kind="refrigerator", behaviour=ColdBox())
    own = circuit("box", "main", 1, appliances=(box,), load_class="important")
    return backed_up_site(circuits=(own,))


def with_pit() -> Site:
    """From empty to its brim it takes 18 / 0.2 = 90 min."""
    pump = appliance("pump", 500, name="Pump", kind="sump-pump", behaviour=PIT)
    return backed_up_site(circuits=(circuit("pump", "main", 1, appliances=(pump,)),))


def hour_of(run: Run, kind: str) -> float:
    """The hours into its outage of the one harm of a kind."""
    (found,) = (h for h in harms(run) if h.kind == kind and h.reached)
    assert found.hours is not None
    return found.hours


def test_a_harm_has_its_own_hour_before_a_run_begun_inside_the_outage() -> None:
    """A room from 68 towards 40 °F passes 55 after 25 ln(28 / 15) = 15.6 h; food goes after 4 h."""
    cold = simulate(heated(), out((-20, 8)))
    assert hour_of(cold, "room_cold") == pytest.approx(15.6, abs=0.6)
    food = simulate(with_box(), out((-20, 8)))
    assert hour_of(food, "food") == pytest.approx(4.0, abs=0.05)
    assert "food safe before this run begins, 4.0 h into the outage" in food.verdict.sentence
    assert not food.verdict.fits


def test_a_run_after_an_outage_names_the_food_it_begins_with_and_fails_by_none() -> None:
    run = simulate(with_box(), out((-17.2, -0.2)))
    assert run.verdict.fits
    begins = "Holds, but it begins with food in Fridge unsafe (17 h without power)."
    assert run.verdict.sentence.startswith(begins)
    assert hour_of(run, "food") == pytest.approx(4.0, abs=0.05)
    (told,) = run.verdict.harms
    assert (told.over, told.fails) == (True, False)


def test_a_room_that_is_warm_again_is_not_told_and_its_pipes_are() -> None:
    """At 0 °F for 25 ln(68 / 40) = 13.3 h to 40 °F; 20 h leave 30.6 °F. 12 kW bring it back.

    Towards 136 °F from 30.6 °F it passes 55 °F after 25 ln(105.4 / 81) = 6.6 h.
    """
    frost = Weather(low_f=0, high_f=0)
    run = simulate(heated(), out((-28, -8), weather=frost))
    assert "it begins with pipes in House at risk (it was at 3" in run.verdict.sentence
    assert [h.kind for h in harms(run) if h.reached] == ["pipes"]
    assert hour_of(run, "pipes") == pytest.approx(13.3, abs=0.5)
    sooner = simulate(heated(), out((-21, -1), weather=frost))
    assert "(its pipes at risk below 40 °F)" in sooner.verdict.sentence
    assert {h.kind for h in harms(sooner) if h.reached} == {"pipes", "room_cold"}


def test_gallons_before_the_begin_are_on_the_floor_too() -> None:
    """Full after 90 min at most and 8 h dark: (480 - 90) x 0.2 = 78 gal or more; 60 in 5 h."""
    run = simulate(with_pit(), out((-3, 5), span_h=6))
    (pit,) = run.verdict.pits
    assert pit.spilt_gal - pit.before_gal == pytest.approx(60.0, abs=0.1)
    assert 18.0 - 0.1 <= pit.before_gal <= 0.2 * 180.0
    whole = f"{pit.spilt_gal:.0f} gal on the floor, {pit.before_gal:.0f} of them before this run"
    assert whole in run.verdict.sentence
    assert not run.verdict.fits
    plan = outage_plan(run)
    assert plan is not None
    spilt = f"(about {pit.spilt_gal:.0f} gal, {pit.before_gal:.0f} of them before this run)"
    assert any(spilt in task.text for task in plan.after)
    assert any("pit runs over (so since Thu 26 Nov" in task.text for task in plan.during)
    dry = simulate(with_pit(), out((-8, -1)))
    assert dry.verdict.pits == ()
    assert "gal on the floor from the pit of Pump" in dry.verdict.sentence


def test_gaps_before_the_begin_count_for_the_food() -> None:
    """3.5 h, ten minutes with power that give some back, then 3 h: 4 h are full in those."""
    run = simulate(with_box(), out((-3.5 - 1 / 6, -1 / 6), (0, 3)))
    (food,) = (h for h in harms(run) if h.kind == "food")
    duty = ColdBox().duty(150.0)
    assert food.hours == pytest.approx(4.0 - 3.5 + (1.0 - duty) / duty / 6.0, abs=0.02)
    assert "without power in 2 gaps since Thu 26 Nov 08:20" in food.why
    assert not run.verdict.fits
    alone = simulate(with_box(), out((0, 3)))
    assert alone.verdict.fits
    (kept,) = (h for h in harms(alone) if h.kind == "food")
    assert kept.nearest.startswith("3.0 of 4 h without power, counted for a room of 70 °F; ")


def test_a_passing_harm_of_an_outage_that_was_over_is_not_taken_for_the_one_under_way() -> None:
    router = appliance("router", 20, name="Router", kind="internet-gear")
    site = backed_up_site(circuits=(circuit("net", "main", 1, appliances=(router,)),))
    run = simulate(site, out((-20, -2), (-1, 2)))
    assert hour_of(run, "internet") == pytest.approx(1.0)
    plan = outage_plan(run)
    assert plan is not None
    (task,) = (t for t in plan.during if "Router out" in t.text)
    assert "until Thu 26 Nov 14:00" in task.text


def test_the_odds_say_what_the_run_begins_with() -> None:
    site, day = with_box(), out((-17.2, -0.2))
    draws = odds_of(site, day, run_draws(site, day, draws=range(2)))
    notes = odds_notes(day, with_gas(draws, simulate(site, day)))
    begins = "The run begins with what was before it: food in Fridge unsafe (17 h without power)."
    assert begins in notes


def test_a_pit_that_spilt_before_and_does_again_has_both_its_hours() -> None:
    """Full 90 min after each outage at most: 6 h then spill 54 gal or more, and as much again."""
    run = simulate(with_pit(), out((-10, -4), (2, 8), span_h=10))
    (pit,) = run.verdict.pits
    assert pit.before_gal == 0.0
    assert 54.0 - 0.1 <= pit.spilt_gal <= 72.0
    assert 2.0 < (pit.at - START).total_seconds() / 3600.0 <= 3.5 + 0.02
    over = [h for h in harms(run) if h.kind == "sump" and h.reached]
    assert [h.at < START for h in over] == [True, False]
    plan = outage_plan(run)
    assert plan is not None
    assert any("pit runs over (before this run, Thu 26 Nov 03:" in t.text for t in plan.before)
    assert any("pit runs over. Keep off a wet floor" in t.text for t in plan.during)
    assert sum("have a pump ready" in t.text for t in plan.before) == 1
    assert "It begins with what was before it: " in run.verdict.detail
    assert "gal on the floor from the pit of Pump" in run.verdict.detail


def test_food_that_was_unsafe_before_is_told_once_with_another_outage_in_the_run() -> None:
    run = simulate(with_box(), out((-12, -6), (2, 6), span_h=8))
    (food,) = (h for h in harms(run) if h.kind == "food" and h.reached)
    assert food.hours == pytest.approx(4.0, abs=0.05)
    (told,) = run.verdict.harms
    assert (told.at, told.over, told.fails) == (food.at, True, False)


def test_an_outage_before_in_which_nothing_failed_is_no_condition() -> None:
    assert simulate(with_box(), out((-3, -1))).verdict.answer() == "Holds."
    own = circuit("own", "main", 1, load_w=600, load_class="must_serve", allowed_gap_min=60)
    failed = simulate(backed_up_site(circuits=(own,)), out((-3, -1)))
    told = "Holds, but what the outage before it did is told by a run that holds it."
    assert failed.verdict.answer() == told


def test_a_cooler_has_one_hour_in_the_verdict_and_on_the_clock() -> None:
    """From 36 towards 70 °F past its 41 °F: both its temperature and its hours are past at noon."""
    cold = ColdBox(kept_f=36.0, too_warm_f=41.0)
    box = appliance("box", 900, name="Cooler", kind="refrigerator", behaviour=cold)
    own = circuit("box", "main", 1, appliances=(box,), load_class="important")
    for hot in (Weather(low_f=80, high_f=100), Weather(low_f=20, high_f=40)):
        run = simulate(backed_up_site(circuits=(own,)), out((-12, 5), weather=hot))
        (told,) = run.verdict.harms
        (clock,) = (h for h in harms(run) if h.kind == "food" and h.reached)
        assert told.at == clock.at < START


def notes_of(site: Site, day: Scenario) -> str:
    odds = odds_of(site, day, run_draws(site, day, draws=range(2)))
    return " ".join(odds_notes(day, odds))


def test_the_odds_say_the_wait_of_this_run_and_of_the_whole_outage() -> None:
    own = circuit("own", "main", 1, load_w=600, load_class="must_serve", allowed_gap_min=200)
    site = backed_up_site(circuits=(own,))
    day = out((-12, 5), span_h=8)
    assert (
        "for 5 h of this run in all or less in 95 of 100, and has none for 17 h with"
        in notes_of(site, day)
    )
    battery = own.model_copy(update={"allowed_gap_min": None, "own_battery_min": 600.0})
    held = notes_of(backed_up_site(circuits=(battery,)), day)
    assert "for 5 h of this run in all or less in 95 of 100, and wants 17 h of its battery" in held
    begun = notes_of(site, out((0, 5), span_h=8))
    assert "for 5 h in all or less in 95 of 100; it is without longer" in begun


def test_the_weather_of_the_hours_before_is_told_where_it_is_not_entered() -> None:
    def detail(weather: Weather) -> str:
        return simulate(heated(), out((-12, 5), weather=weather)).verdict.detail

    assert "outdoors held at 50 °F of the first hour" in detail(Weather(hourly_f=(50.0,) * 10))
    day = "outdoors as in the same hours of its first day"
    assert day in detail(Weather(hourly_f=(50.0,) * 24))
    assert "outdoors" not in detail(Weather())


@pytest.mark.parametrize("step_s", [10, 60, 300, 900])
def test_a_pit_runs_over_when_its_gallons_say_whatever_the_step(step_s: int) -> None:
    """What is on the floor as power is back at 21:00 came in at 0.2 gal/min since it was full."""
    run = simulate(with_pit(), out((1, 9), span_h=10, step_s=step_s))
    (pit,) = run.verdict.pits
    full = START + timedelta(hours=9) - timedelta(minutes=pit.spilt_gal / 0.2)
    assert abs(pit.at - full) <= timedelta(seconds=5)
    (clock,) = (h for h in harms(run) if h.kind == "sump")
    assert clock.at is not None
    assert abs(clock.at - pit.at) <= timedelta(seconds=1)
