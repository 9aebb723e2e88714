"""The verdict takes the harm clock in: what fails, what is only told, and what the odds say."""

from __future__ import annotations

import math
import re
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from server.advise.next_step import next_step
from server.domain.behaviour import Cycle, RoomUnit, Tank, WellPump, Zone
from server.domain.circuit import Circuit
from server.domain.scenario import KeptOff, Scenario, Stop, Weather, Window
from server.domain.site import Site
from server.simulate.ensemble import run_draws
from server.simulate.harm import HarmClock
from server.simulate.harm_stores import _emptied
from server.simulate.odds import odds_of
from server.simulate.odds_words import odds_notes, odds_sentence
from server.simulate.results import Verdict
from server.simulate.run import simulate
from server.simulate.summary import summary
from tests.builders import START, appliance, backed_up_site, circuit, scenario, with_parts

HOUSE = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
HEATED_F = 68.0


def heated(
    panel_id: str, load_class: str = "important", watts: float = 6_000, **changes: Any
) -> Site:
    """A house whose only heater is on the panel; 40 °F outdoors is the builders' weather."""
    unit = RoomUnit(zone_id="house", mode="heat")
    load = appliance("heater", watts, volts=240, name="Heater", behaviour=unit)
    own = circuit(
        "heat",
        panel_id,
        9,
        11,
        breaker_a=40,
        appliances=(load,),
        load_class=load_class,
        allowed_gap_min=10_000.0 if load_class == "must_serve" else None,
        **changes,
    )
    return backed_up_site(circuits=(own,), zones=(HOUSE,))


def cold_box(panel_id: str, kind: str = "refrigerator", **changes: Any) -> Site:
    box = appliance("box", 150, kind=kind, name="Box", behaviour=Cycle(on_min=20, off_min=35))
    own = circuit("cold", panel_id, 9, appliances=(box,), **{"load_class": "important"} | changes)
    base = backed_up_site()
    return with_parts(base, circuits=(*base.circuits, own))


def verdict(site: Site, day: Scenario) -> Verdict:
    return simulate(site, day).verdict


OUT = scenario(span_h=30, outage_h=(2, 30))


def test_a_house_that_falls_below_its_limit_does_not_hold() -> None:
    """Towards 40 °F with 25 h, from what it stands at when power goes, t = 25 ln((T0-40)/15)."""
    site = heated("main")
    run = simulate(site, OUT)
    fall_h = 25 * math.log((float(run.zone_f[0, 119]) - 40) / 15)
    assert not run.verdict.fits
    assert run.verdict.sentence.startswith(
        f"Does not hold. House falls below 55 °F {fall_h:.1f} h into the outage, "
    )
    assert run.verdict.sentence.endswith(": Circuit heat dead since Thu 26 Nov 14:00.")
    assert run.verdict.harms[0].kind == "room_cold"
    assert not run.verdict.over


def test_the_same_house_on_the_generator_holds() -> None:
    made = verdict(heated("backed"), OUT)
    assert made.fits
    assert made.harms == ()


@pytest.mark.parametrize(
    ("panel", "why"),
    [("main", "Circuit heat dead since"), ("backed", "what heats it had power and could not")],
)
def test_the_reason_of_a_cold_room_is_a_heater_that_was_not_given_up(panel: str, why: str) -> None:
    site = heated(panel, watts=100)
    unit = RoomUnit(zone_id="house", mode="heat")
    strips = circuit(
        "strips",
        "main",
        13,
        15,
        breaker_a=40,
        appliances=(appliance("strip", 100, volts=240, name="Strips", behaviour=unit),),
        load_class="comfort",
    )
    made = verdict(with_parts(site, circuits=(strips, *site.circuits)), OUT)
    assert next(one for one in made.harms if one.kind == "room_cold").why.startswith(why)


def test_the_reason_of_a_cold_room_is_what_was_dead_for_hours_and_not_for_minutes() -> None:
    """A set stopped some minutes before the room is cold did not cool it: strips dead all along."""
    site = heated("backed", watts=3_000)
    unit = RoomUnit(zone_id="house", mode="heat")
    strip = appliance("strip", 5_000, volts=240, name="Strips", behaviour=unit)
    strips = circuit("strips", "main", 13, 15, breaker_a=40, appliances=(strip,))
    site = with_parts(site, circuits=(*site.circuits, strips))
    frost = Weather(low_f=0, high_f=0)
    out = OUT.model_copy(update={"weather": frost})
    cold = next(one for one in verdict(site, out).harms if one.kind == "room_cold")
    stop = Stop(start=cold.at - timedelta(minutes=4), end=cold.at + timedelta(minutes=26))
    stopped_then = out.model_copy(update={"generator_stops": (stop,)})
    made = next(one for one in verdict(site, stopped_then).harms if one.kind == "room_cold")
    assert made.at - stop.start < timedelta(minutes=10)
    assert made.why == "Circuit strips dead since Thu 26 Nov 14:00"


@pytest.mark.parametrize(("back_h", "fits"), [(2.5, True), (30.0, False)])
def test_a_house_that_falls_cold_long_after_power_is_back_is_told_and_fails_nothing(
    back_h: float, fits: bool
) -> None:
    """Its unit gives too little: it falls below 55 °F with power as without an outage."""
    weak = heated("backed", watts=100)
    made = verdict(weak, scenario(span_h=30, outage_h=(2, back_h)))
    (cold,) = (one for one in made.harms if one.kind == "room_cold")
    assert (cold.fails, made.fits) == (not fits, fits)
    since_h, said = (back_h, "after the utility was back") if fits else (2.0, "into the outage")
    hours = (cold.at - START).total_seconds() / 3600.0 - since_h
    assert f"House falls below 55 °F {hours:.1f} h {said}" in made.sentence


@pytest.mark.parametrize("load_class", ["comfort", "deferrable"])
def test_a_heater_that_was_given_up_is_told_and_fails_nothing(load_class: str) -> None:
    made = verdict(heated("main", load_class), OUT)
    assert made.fits
    assert made.answer().startswith("Holds, but House falls below 55 °F ")
    assert made.answer().endswith(", and some circuits get no power.")


def test_pipes_fail_whatever_was_given_up_and_whoever_is_home() -> None:
    """The pipes' limit raised to 50 °F is passed after 25 ln(28/10) = 26 h."""
    frail = HOUSE.model_copy(update={"pipes_f": 50.0, "cold_f": 52.0})
    site = with_parts(heated("main", "comfort"), zones=(frail,))
    day = scenario(span_h=40, outage_h=(2, 40))
    made = verdict(site, day)
    assert not made.fits
    assert "House falls below 50 °F, its pipes at risk " in made.sentence
    assert "Pipes that freeze give no water and may burst as they thaw" in made.detail
    away = verdict(site, day.model_copy(update={"people": 0}))
    assert not away.fits
    assert [h.kind for h in away.harms] == ["pipes"]


def test_nobody_home_is_no_cold_to_anybody() -> None:
    made = verdict(heated("main"), OUT.model_copy(update={"people": 0}))
    assert made.fits
    assert made.harms == ()


def test_a_room_that_nothing_heats_is_told_and_fails_nothing() -> None:
    base = backed_up_site()
    made = verdict(with_parts(base, zones=(HOUSE,)), OUT)
    assert made.fits
    assert made.answer().startswith("Holds, but House falls below 55 °F ")


def test_food_past_its_hours_does_not_hold() -> None:
    made = verdict(cold_box("main"), scenario(span_h=12, outage_h=(1, 7)))
    assert not made.fits
    assert made.sentence == (
        "Does not hold. Box no longer keeps food safe 4.0 h into the outage, Thu 26 Nov 17:00: "
        "Circuit cold dead since Thu 26 Nov 13:00."
    )
    assert made.faults == (made.rest,)


@pytest.mark.parametrize(
    ("changes", "kept_off"),
    [
        ({"load_class": "comfort"}, ()),
        ({"outage_role": "off"}, ()),
        ({}, (KeptOff(circuit_id="cold"),)),
    ],
)
def test_food_of_a_circuit_that_was_given_up_is_told(changes: Any, kept_off: Any) -> None:
    day = scenario(span_h=12, outage_h=(1, 7), kept_off=kept_off)
    made = verdict(cold_box("main", **changes), day)
    assert made.fits
    assert "but Box no longer keeps food safe 4.0 h into the outage" in made.answer()


def test_a_freezer_fails_by_what_a_full_one_keeps() -> None:
    half = verdict(cold_box("main", "freezer"), scenario(span_h=40, outage_h=(1, 40)))
    assert half.fits
    assert "but Box no longer keeps food safe, if half full, 24.0 h into" in half.answer()
    full = verdict(cold_box("main", "freezer"), scenario(span_h=60, outage_h=(1, 60)))
    assert "food safe 48.0 h into the outage" in full.sentence
    assert not full.fits


def well(**changes: Any) -> Site:
    pump = appliance(
        "pump",
        1_000,
        volts=240,
        kind="well-pump",
        name="Well pump",
        behaviour=WellPump(draws_gal_by_hour=(30.0,) * 24),
    )
    own = circuit("w", "backed", 9, 11, appliances=(pump,), **{"load_class": "important"} | changes)
    base = backed_up_site()
    return with_parts(base, circuits=(*base.circuits, own))


def stopped(minutes: float) -> Scenario:
    """Out for six hours, the set stopped for so long in the third of them."""
    stop = START + timedelta(hours=3)
    stops = (Window(start=stop, end=stop + timedelta(minutes=minutes)),)
    return scenario(span_h=8, outage_h=(1, 7), generator_stops=stops)


def test_no_water_for_an_hour_does_not_hold() -> None:
    """30 gal/h empty a pressure tank of some gallons well within the first hour of three."""
    made = verdict(well(), stopped(180))
    assert not made.fits
    assert "Does not hold. Well pump gives no water for up to 2 h" in made.sentence
    assert ", from " in made.sentence


def test_no_water_for_minutes_is_told_and_for_a_time_it_can_wait_is_not() -> None:
    brief = verdict(well(), stopped(50))
    assert brief.fits
    assert "Holds, but Well pump gives no water for up to " in brief.answer()
    borne = verdict(well(allowed_gap_min=90.0), stopped(50))
    assert borne.fits
    assert borne.harms == ()


def test_minutes_without_water_stand_after_circuits_and_hours_of_it_before() -> None:
    """Behind the set another circuit of the main panel is dark for six hours."""
    minutes, hours = verdict(well(), stopped(30)), verdict(well(), stopped(55))
    assert 0.0 < minutes.harms[0].longest_min <= 30.0 < hours.harms[0].longest_min
    assert "Holds, but some circuits get no power, and Well pump gives no water" in minutes.answer()
    assert re.search(r"for up to [\d.]+ min, from [\d.]+ h into the outage, ", minutes.answer())
    assert "Holds, but Well pump gives no water" in hours.answer()
    assert hours.answer().endswith(", and some circuits get no power.")


def test_a_water_heater_that_is_dark_for_half_a_day_is_named() -> None:
    tank = appliance(
        "tank", 4_500, volts=240, behaviour=Tank(gallons=50, draws_gal_by_hour=(2.0,) * 24)
    )
    own = circuit("tank", "main", 17, 19, breaker_a=30, appliances=(tank,))
    site = with_parts(backed_up_site(), circuits=(*backed_up_site().circuits, own))
    long = verdict(site, scenario(span_h=30, outage_h=(2, 30), people=4))
    assert "some circuits get no power, Circuit tank none for up to 28 h" in long.answer()
    short = verdict(site, scenario(span_h=12, outage_h=(2, 8), people=4))
    assert short.answer() == "Holds, but some circuits get no power."


@pytest.mark.parametrize(("end_s", "told"), [(180.4, False), (190.0, True)])
def test_a_tank_that_is_empty_for_no_second_as_power_returns_is_not_empty(end_s, told) -> None:
    """10, 5 and 0 gal at the ends of three minutes: empty at 180 s."""
    level = np.array([10.0, 5.0, 0.0, 8.0], dtype=np.float32)
    run = SimpleNamespace(
        scenario=SimpleNamespace(step_s=60),
        served=SimpleNamespace(dark_in_run=lambda _: ((0.0, end_s),)),
        watched=(SimpleNamespace(appliance_id="well"),),
        level=level[None, :],
    )
    place = SimpleNamespace(appliance=SimpleNamespace(id="well"), circuit=0)
    spans, _ = _emptied(HarmClock(run), place)
    assert bool(spans) is told


def test_a_harm_that_fails_nothing_is_told_beside_what_fails() -> None:
    hot = circuit("hot", "backed", 17, 19, load_w=60_000, breaker_a=300)
    made = verdict(with_parts(well(), circuits=(*well().circuits, hot)), stopped(50))
    assert not made.fits
    assert all("water" not in fault for fault in made.faults)
    assert "Besides, Well pump gives no water for up to " in made.detail


def test_what_harms_stands_before_what_is_over() -> None:
    base = cold_box("main")
    hot: Circuit = circuit("hot", "main", 17, 19, load_w=60_000, breaker_a=300)
    made = verdict(
        with_parts(base, circuits=(*base.circuits, hot)), scenario(span_h=12, outage_h=(1, 7))
    )
    assert made.over
    assert made.rest.startswith("Box no longer keeps food safe")
    assert any("must carry" in fault for fault in made.faults[1:])


def test_the_next_step_feeds_what_comes_to_harm() -> None:
    site, day = cold_box("main"), scenario(span_h=12, outage_h=(1, 7))
    step = next_step(site, day)
    assert step.lever is not None
    assert step.lever.kind == "move"
    assert "It mends this: Box no longer keeps food safe. Then everything holds." in step.sentence
    moved = site.circuit("cold").model_copy(update={"panel_id": step.lever.to})
    others = tuple(c for c in site.circuits if c.id != "cold")
    assert verdict(with_parts(site, circuits=(*others, moved)), day).fits


def test_json_says_which_harms_the_verdict_takes_in() -> None:
    run = simulate(cold_box("main"), scenario(span_h=12, outage_h=(1, 7)))
    said = summary(run)["verdict"]
    assert said["fits"] is False
    (harm,) = said["harms"]
    assert (harm["kind"], harm["element_id"], harm["fails"]) == ("food", "box", True)


def test_the_odds_count_draws_with_a_harm() -> None:
    site, day = cold_box("main"), scenario(span_h=12, outage_h=(1, 7))
    draws = run_draws(site, day, draws=range(5))
    odds = odds_of(site, day, draws)
    (harm,) = odds.harms
    assert (harm.comes.hits, harm.comes.draws) == (5, 5)
    assert harm.earliest_h == pytest.approx(5.0)
    assert odds.fails
    assert odds_sentence(odds).endswith("But Box no longer keeps food safe in 5 of 5.")
    assert any(
        note.startswith("Box no longer keeps food safe in every draw")
        for note in odds_notes(day, odds)
    )
    holds = cold_box("backed")
    assert odds_of(holds, day, run_draws(holds, day, draws=range(5))).harms == ()


def test_draws_say_what_the_run_says() -> None:
    """Draw 0 is the run: the same harms at the same moments."""
    site, day = heated("main"), OUT
    run = simulate(site, day)
    row = run_draws(site, day, draws=range(1)).harm_s[0]
    told = [h.at for h in run.verdict.harms if h.fails]
    assert [day.start + timedelta(seconds=s) for s in row if s < math.inf] == told


def test_of_many_harms_the_first_and_the_gravest_are_told() -> None:
    """Water and two boxes fail before the pipes are at risk; the pipes are told all the same."""
    frail = HOUSE.model_copy(update={"pipes_f": 50.0, "cold_f": 52.0})
    boxes = [
        circuit(
            f"cold-{n}",
            "main",
            13 + 2 * n,
            appliances=(
                appliance(
                    f"box-{n}", 150, kind="refrigerator", behaviour=Cycle(on_min=20, off_min=35)
                ),
            ),
            load_class="important",
        )
        for n in range(3)
    ]
    base = heated("main")
    site = with_parts(base, circuits=(*base.circuits, *boxes), zones=(frail,))
    made = verdict(site, scenario(span_h=40, outage_h=(2, 40)))
    assert len([h for h in made.harms if h.fails]) == 5
    assert made.faults[0].startswith("box-")
    assert made.faults[1].startswith("House falls below 52 °F")
    assert made.faults[2].startswith("House falls below 50 °F, its pipes at risk")
    assert made.faults[3] == "2 more harms come; the harm clock lists them."
