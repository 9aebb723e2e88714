"""The twelve kinds of day: each builds and runs on every demo and every way of feeding a house."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from server.domain.behaviour import Hourly
from server.domain.errors import NotFoundError, SiteFileError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.templates import TEMPLATES, template
from tests.builders import EVERY_SITE, backed_up_site, generator, whole_house_site, with_parts

START = date(2026, 11, 26)
DEMO_SITES = {p.stem: read_site_file(p.read_bytes()) for p in sorted(DEMOS.glob("*.json"))}
NAMES = [
    "Holiday peak",
    "Three-night gale",
    "Announced shutoff",
    "Planned line work",
    "Full house, two cars",
    "Generator won’t start",
    "Late fuel",
    "Bright spring day",
    "Power returns",
    "Nobody home",
    "Medical night",
    "Workshop day",
]


def build(template_id: str, site: Site | None = None, **given: str) -> Scenario:
    return template(template_id).build(site or backed_up_site(), start=START, given=given)


def test_the_twelve_names_are_there_each_with_what_it_proves():
    assert [t.name for t in TEMPLATES] == NAMES
    assert len({t.id for t in TEMPLATES}) == 12
    assert all(t.proves and t.season for t in TEMPLATES)


@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
@pytest.mark.parametrize("name", DEMO_SITES)
def test_each_runs_on_each_demo_and_stays_physical(name: str, one):
    site = DEMO_SITES[name]
    stays_physical(site, simulate(site, one.build(site, start=START)))


@pytest.mark.long
@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
@pytest.mark.parametrize("name", DEMO_SITES)
def test_ten_seeds_of_each_on_each_demo_stay_physical(name: str, one):
    site = DEMO_SITES[name]
    for seed in range(101, 111):
        stays_physical(site, simulate(site, one.build(site, start=START), seed=seed))


def stays_physical(site: Site, run: Run) -> None:
    """Nothing is without a figure, nothing colder or hotter than can be, no energy is lost."""
    assert np.isfinite(run.amps).all()
    assert run.amps.max() > 0.0
    weather = run.scenario.weather
    assert run.zone_f.min() > min(weather.low_f, site.design_low_f) - 1.0
    assert run.zone_f.max() < max(weather.high_f, site.design_high_f) + 15.0
    balance = run.balance
    used = balance.electric_used_kwh + balance.electric_out_kwh
    assert used == pytest.approx(balance.electric_in_kwh, rel=1e-3)
    kept = balance.heat_stored_kwh + balance.heat_lost_kwh
    assert kept == pytest.approx(balance.heat_in_kwh, rel=1e-3, abs=0.05)


@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
@pytest.mark.parametrize("make", EVERY_SITE.values(), ids=EVERY_SITE)
def test_each_builds_for_every_way_of_feeding_a_house(make, one):
    site = make()
    made = one.build(site, start=START)
    assert with_parts(site, scenarios=(made,)).scenarios == (made,)
    assert made.start.date() >= START - timedelta(days=1)
    assert all(made.start <= w.start and w.end <= made.end for w in made.outages)
    assert all(made.start <= m.at <= made.end for m in made.switch_moves)


def test_questions_are_few_and_their_answers_are_used():
    site = with_parts(
        whole_house_site(), generators=(generator(tank={"capacity_gal": 500.0}, fuel="propane"),)
    )
    assert max(len(t.asks(site, START)) for t in TEMPLATES) <= 4
    peak = build("holiday-peak", people="14", outage="yes")
    assert (peak.people, len(peak.outages)) == (14, 1)
    assert build("holiday-peak").outages == ()
    late = build("late-fuel", site, fuel_pct="30", gallons="200", arrive_h="80", ration="all")
    assert late.fuel_at_start_share == pytest.approx(0.3)
    (delivery,) = late.deliveries
    assert (delivery.gallons, delivery.at) == (200, late.outages[0].start + timedelta(hours=80))
    assert len(build("late-fuel", site).generator_stops) == 20
    told = build("announced-shutoff", day="2027-08-03", patrol_h="6")
    (off,) = told.outages
    assert (off.start.date(), off.end - off.start) == (date(2027, 8, 3), timedelta(hours=54))
    assert build("power-returns", season="winter").weather.low_f < 32
    assert build("power-returns", season="summer").weather.high_f > 80


def test_a_rationed_set_stands_half_the_hours():
    tank = FuelTank(capacity_gal=500)
    site = with_parts(backed_up_site(), generators=(generator(tank=tank),))
    stops = build("late-fuel", site).generator_stops
    assert sum((w.end - w.start for w in stops), timedelta()) == timedelta(hours=48)


@pytest.mark.parametrize(
    ("kind", "first"),
    [("three-night-gale", (18, 22.5)), ("late-fuel", (6, 14.5)), ("announced-shutoff", (9, 14.5))],
)
def test_a_portable_is_refuelled_from_its_first_night_on(kind, first):
    """Every 8 h; of a stop less than an hour after the set starts there is no sense."""
    told = build(kind, DEMO_SITES["bungalow"], **({"ration": "all"} if kind == "late-fuel" else {}))
    (outage,) = told.outages
    stops = told.generator_stops
    assert (outage.start.hour, stops[0].start.hour + stops[0].start.minute / 60) == first
    assert stops[0].start.date() == outage.start.date()
    assert {b.start - a.start for a, b in pairwise(stops)} == {timedelta(hours=8)}
    assert timedelta() < outage.end - stops[-1].start <= timedelta(hours=8, minutes=20)


def test_an_engine_that_is_mended_gives_after_nine_hours_and_one_that_is_not_never():
    site = backed_up_site()
    never = simulate(site, build("generator-wont-start", site))
    assert next(s for s in never.sources if s.kind == "generator").run_h == 0.0
    mended = simulate(site, build("generator-wont-start", site, fixed_h="9"))
    run_h = next(s for s in mended.sources if s.kind == "generator").run_h
    assert run_h == pytest.approx(21.0, abs=0.5)


@pytest.mark.parametrize(
    ("template_id", "runs"),
    [("three-night-gale", False), ("late-fuel", False), ("announced-shutoff", True)],
)
def test_irrigation_stands_drained_while_it_freezes(template_id: str, runs: bool):
    site = DEMO_SITES["flower-farm"]
    run = simulate(site, build(template_id, site))
    assert bool(run.flows.taken_by("irrigation-pump").any()) is runs


def test_a_portable_heater_rests_in_summer():
    site = DEMO_SITES["two-family"]
    (heater,) = [a.id for c in site.circuits for a in c.appliances if a.kind == "portable-heater"]
    for template_id, runs in (("announced-shutoff", False), ("three-night-gale", True)):
        run = simulate(site, build(template_id, site))
        assert bool(run.flows.taken_by(heater).any()) is runs


def test_nothing_is_started_while_nobody_is_home():
    site = DEMO_SITES["flower-farm"]
    run = simulate(site, build("nobody-home", site))
    timed = [
        a.id
        for c in site.circuits
        for a in c.appliances
        if a.behaviour.model in {"timed", "charger"}
    ]
    assert timed
    assert all(not run.flows.taken_by(i).any() for i in timed)


def test_a_set_that_is_started_by_hand_stays_off_while_nobody_is_home():
    given = {
        name: simulate(site, build("nobody-home", site)).sources
        for name, site in DEMO_SITES.items()
    }
    run_h = {
        name: sum(s.run_h for s in sources if s.kind == "generator")
        for name, sources in given.items()
    }
    assert run_h["bungalow"] == 0.0
    assert run_h["flower-farm"] == pytest.approx(72.0, abs=1.0)
    assert run_h["two-family"] == pytest.approx(72.0, abs=1.0)


def test_lights_and_plugs_stay_at_their_least_while_nobody_is_home():
    site = DEMO_SITES["flower-farm"]
    scenario = build("nobody-home", site)
    run = simulate(site, scenario)
    hourly = [a for c in site.circuits for a in c.appliances if isinstance(a.behaviour, Hourly)]
    assert len(hourly) > 5
    for appliance in hourly:
        assert isinstance(appliance.behaviour, Hourly)
        most_w = float(np.max(run.flows.taken_by(appliance.id)))
        assert most_w <= min(appliance.behaviour.shares) * appliance.load_w * (1.0 + 1e-6)
    home = simulate(site, scenario.model_copy(update={"people": None}))
    assert any(home.flows.taken_by(a.id).max() > run.flows.taken_by(a.id).max() for a in hourly)


@pytest.mark.parametrize(
    ("template_id", "key", "text", "words"),
    [
        ("holiday-peak", "people", "many", "Write a number."),
        ("holiday-peak", "people", "900", "Write a number from 0 to 200."),
        ("holiday-peak", "people", "nan", "Write a number from 0 to 200."),
        ("holiday-peak", "outage", "perhaps", "Choose one of the list."),
        ("planned-line-work", "day", "soon", "Write a day, such as 2026-11-26."),
        ("planned-line-work", "day", "0001-01-01", "Give a year from 1901 to 2199."),
        ("announced-shutoff", "day", "1900-01-01", "Give a year from 1901 to 2199."),
        ("holiday-peak", "people", "٣", "Write a number in the digits 0 to 9."),
        ("holiday-peak", "people", "1_0", "Write a number in the digits 0 to 9."),
    ],
)
def test_an_answer_that_cannot_be_read_is_told_at_its_question(template_id, key, text, words):
    with pytest.raises(SiteFileError) as refused:
        build(template_id, **{key: text})
    assert [(p.field, p.message) for p in refused.value.problems] == [(key, words)]


@pytest.mark.parametrize("day", ["1901-01-01", "2199-12-31"])
@pytest.mark.parametrize("one", TEMPLATES, ids=lambda t: t.id)
def test_the_first_and_the_last_day_that_may_be_told_build(one, day: str):
    asked = {a.key: day for a in one.asks(DEMO_SITES["flower-farm"], START) if a.kind == "date"}
    assert one.build(DEMO_SITES["flower-farm"], start=START, given=asked).span_h > 0


def test_an_unknown_kind_of_day_is_not_found():
    with pytest.raises(NotFoundError):
        template("no-such-day")


def test_a_set_on_pipe_gas_is_not_rationed_unless_asked() -> None:
    base = backed_up_site()
    made = base.generators[0].model_copy(update={"fuel": "natural_gas", "tank": None})
    piped = with_parts(base, generators=(made,))
    rationed = build("late-fuel", piped, ration="half")
    assert len(rationed.generator_stops) > len(build("late-fuel", piped).generator_stops)


@pytest.mark.parametrize("template_id", ["announced-shutoff", "planned-line-work"])
def test_temperatures_follow_the_season_of_the_day_that_was_told(template_id: str):
    """Six months apart the day's mean goes from 7 °F over the low to 9 °F under the high."""
    site = with_parts(backed_up_site(), design_low_f=10.0, design_high_f=96.0)
    july, january = (
        build(template_id, site, day=day).weather for day in ("2027-07-21", "2027-01-20")
    )
    assert july.low_f - january.low_f == pytest.approx(96 - 9 - 10 - 7, abs=1.1)
    assert july.high_f - july.low_f == january.high_f - january.low_f
    usual = build(template_id, site).weather
    assert january.low_f < usual.low_f < july.low_f


@pytest.mark.parametrize("template_id", ["three-night-gale", "announced-shutoff"])
@pytest.mark.parametrize("name", DEMO_SITES)
def test_nothing_is_started_in_the_minute_of_a_throw_or_a_stop(name: str, template_id: str):
    made = build(template_id, DEMO_SITES[name])
    thrown = {move.at for move in made.switch_moves}
    for event in made.events:
        assert event.at not in thrown
        if event.appliance_id.startswith(("coffee", "washer", "dryer")):
            assert not any(s.start <= event.at < s.end for s in made.generator_stops)


@pytest.mark.parametrize(
    ("oil_check_h", "hours"),
    [(24.0, (19.0, 43.0, 67.0)), (48.0, (43.0,)), (30.0, (19.0, 43.0, 67.0))],
)
def test_the_gale_stops_a_fixed_set_by_its_own_oil_hours(oil_check_h, hours):
    """Out at 18:00: 13:00 is 19 h on, and the last 13:00 within the set's hours is taken."""
    site = with_parts(backed_up_site(), generators=(generator(oil_check_h=oil_check_h),))
    made = build("three-night-gale", site)
    off = made.outages[0].start
    stops = [(w.start - off) / timedelta(hours=1) for w in made.generator_stops]
    assert stops == list(hours)


def test_a_set_of_short_oil_hours_is_stopped_by_them():
    site = with_parts(backed_up_site(), generators=(generator(oil_check_h=8.0),))
    made = build("three-night-gale", site)
    off = made.outages[0].start
    starts = [off, *(w.end for w in made.generator_stops)]
    for before, stop in zip(starts, made.generator_stops, strict=False):
        assert stop.start - before == timedelta(hours=8)


def test_a_ration_is_not_proposed_where_something_cannot_wait_for_it():
    tank = FuelTank(capacity_gal=500)
    base = with_parts(backed_up_site(), generators=(generator(tank=tank),))
    assert len(build("late-fuel", base).generator_stops) > 4
    pump = base.circuits[0].model_copy(update={"load_class": "must_serve", "allowed_gap_min": 33.0})
    site = with_parts(base, circuits=(pump, *base.circuits[1:]))
    (ask,) = [a for a in template("late-fuel").asks(site, START) if a.key == "ration"]
    assert ask.default == "all"
    assert "longer than something here can wait" in ask.hint


def test_no_rest_of_a_ration_is_longer_than_a_closed_refrigerator_keeps():
    tank = FuelTank(capacity_gal=500)
    site = with_parts(backed_up_site(), generators=(generator(tank=tank),))
    stops = build("late-fuel", site).generator_stops
    assert max(w.end - w.start for w in stops) <= timedelta(hours=3)


def test_an_announced_shutoff_runs_both_days_that_were_told():
    made = build("announced-shutoff", DEMO_SITES["flower-farm"])
    assert made.outages[0].start - made.start == timedelta(hours=48)


def test_a_cooler_that_is_switched_by_hand_runs_in_the_heat_of_the_day():
    made = build("announced-shutoff", DEMO_SITES["bungalow"])
    hours = {w.window.start.hour for w in made.hand_windows if w.circuit_id == "window-air"}
    assert hours == {13, 19}
