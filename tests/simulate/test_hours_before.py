"""A run that begins inside an outage begins with what its hours before have left."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import Backed, Charger, RoomUnit, SumpPump, Tank, WellPump, Zone
from server.domain.lengths import span_words
from server.domain.scenario import Scenario, Weather, Window
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.ensemble import run_draws
from server.simulate.harm_grade import harm_keys
from server.simulate.harms import harms
from server.simulate.prepared import prepare
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.weather import outdoor_f, sun_share
from tests.builders import START, appliance, backed_up_site, circuit, scenario

HOUSE = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
NO_SET = {"generator": "absent"}


def heated(panel_id: str = "main", **changes: object) -> Site:
    heat = appliance("heat", 12_000, volts=240, behaviour=RoomUnit(zone_id="house", mode="heat"))
    own = circuit("heat", panel_id, 1, 3, breaker_a=60, appliances=(heat,), load_class="important")
    return backed_up_site(circuits=(own,), zones=(HOUSE,), **changes)


def with_load(behaviour: object, panel_id: str = "main", **changes: object) -> Site:
    load = appliance("load", 500, name="Load", behaviour=behaviour)
    return backed_up_site(circuits=(circuit("own", panel_id, 1, appliances=(load,), **changes),))


def begun_in(before_h: float, *, span_h: float = 4.0, **changes: object) -> Scenario:
    """A run from noon, the utility out for so long before and until two hours after its end."""
    return scenario(span_h=span_h, outage_h=(-before_h, span_h + 2.0), **changes)


def level(run: Run) -> float:
    """What is watched of the one load after the first minute."""
    return float(run.level[0, 0])


@pytest.mark.parametrize("dark_h", [3.0, 12.0, 30.25])
def test_a_room_has_cooled_since_power_went(dark_h: float) -> None:
    """From 68 °F, half a degree either way, towards 40 °F with 25 h."""
    run = simulate(heated(), begun_in(dark_h, **NO_SET))
    by_hand = 40.0 + 28.0 * math.exp(-dark_h / 25.0)
    assert float(run.zone_f[0, 0]) == pytest.approx(by_hand, abs=0.55)


def test_a_room_past_its_limit_as_the_run_begins_fails_it_by_then() -> None:
    """It passes 55 °F after 25 ln(28 / 15) = 15.6 h."""
    verdict = simulate(heated(), begun_in(20.0, **NO_SET)).verdict
    (cold,) = (one for one in verdict.harms if one.kind == "room_cold")
    assert cold.fails
    assert (cold.at - (START - timedelta(hours=20))).total_seconds() / 3600 == pytest.approx(
        15.6, abs=0.6
    )
    came = f"before this run begins, {15.6:.1f} h into the outage, Thu 26 Nov 07:3"
    assert f"falls below 55 °F {came}" in verdict.sentence


def test_a_room_set_below_its_limit_was_so_before() -> None:
    cellar = HOUSE.model_copy(update={"heat_setpoint_f": 50.0})
    site = heated().model_copy(update={"zones": (cellar,)})
    (cold,) = (h for h in harms(simulate(site, begun_in(3.0, **NO_SET))) if h.kind == "room_cold")
    assert cold.why == "it was so before the outage"


def test_a_set_that_runs_in_those_hours_keeps_what_it_feeds() -> None:
    kept = simulate(heated("backed"), begun_in(12.0))
    assert float(kept.zone_f[0, 0]) > 67.0
    left = simulate(heated(), begun_in(12.0))
    assert float(left.zone_f[0, 0]) < 60.0


def test_a_pit_that_is_full_already_spills_from_when_it_was() -> None:
    """18 gal at 2 gal/min are full in 9 min at most; 5 h less those then spill 582 gal or more."""
    pit = SumpPump(inflow_gpm=2.0, pump_gpm=35.0, cycle_gal=8.0, reserve_gal=10.0)
    run = simulate(with_load(pit, load_class="must_serve"), begun_in(1.0, **NO_SET))
    (over,) = run.verdict.pits
    after_min = (over.at - START).total_seconds() / 60.0 + 60.0
    assert 5.0 - 1.0 <= after_min <= 9.0
    assert over.spilt_gal == pytest.approx(2.0 * (300.0 - after_min), abs=2.0)
    assert over.spilt_gal - over.before_gal == pytest.approx(480.0, abs=0.1)
    assert "runs over before this run begins, 0.1 h into the outage" in run.verdict.sentence
    assert f"{over.before_gal:.0f} of them before this run begins" in run.verdict.sentence
    (clock,) = (h for h in harms(run) if h.kind == "sump")
    assert abs(clock.at - over.at) <= timedelta(seconds=1)


def test_a_battery_has_carried_its_device_since() -> None:
    """180 min from full, 120 of them gone: one hour is left of it."""
    run = simulate(with_load(Backed(battery_min=180.0)), begun_in(2.0, **NO_SET))
    assert level(run) == pytest.approx(1.0 - 1.0 / 60.0, abs=0.01)


def test_a_wait_counts_from_when_power_went() -> None:
    site = backed_up_site(
        circuits=(
            circuit("own", "main", 1, load_w=600, load_class="must_serve", allowed_gap_min=300),
        )
    )
    held = simulate(site, begun_in(0.5, **NO_SET)).service[0]
    assert (held.longest_gap_min, held.gap_exceeded) == (270.0, False)
    past = simulate(site, begun_in(2.0, **NO_SET)).service[0]
    assert (past.longest_gap_min, past.gap_exceeded) == (360.0, True)
    assert past.unserved_min == pytest.approx(240.0)


@pytest.mark.parametrize("managed", [False, True])
def test_water_has_cooled_whether_or_not_a_manager_controls_it(managed: bool) -> None:
    """50 gal hold 416.5 Btu/°F and lose 5 Btu/h °F towards 65 °F: from 125 within its 8 °F."""
    tank = Tank(gallons=50.0, loss_btuh_per_f=5.0, draws_gal_by_hour=(0.0,) * 24)
    site = with_load(tank)
    if managed:
        held = site.circuits[0].model_copy(update={"energy_group_id": "m"})
        group = EnergyGroup(id="m", name="Manager", setting_a=80)
        site = site.model_copy(update={"circuits": (held,), "energy_groups": (group,)})
    run = simulate(site, begun_in(24.0, **NO_SET))
    left = math.exp(-24.0 * 5.0 / (50.0 * 8.33))
    assert 65.0 + 52.0 * left - 0.5 < level(run) < 65.0 + 60.0 * left + 0.5


def test_draws_begin_so_too() -> None:
    site = heated()
    kept = run_draws(site, begun_in(20.0, **NO_SET), draws=range(2), threads=1)
    cold = harm_keys(site).index(("room_cold", "house"))
    assert kept.harm_s[:, cold] / 3600.0 == pytest.approx([15.6 - 20.0] * 2, abs=0.6)
    assert kept.gap_s[:, 0].tolist() == [24 * 3600.0] * 2


def test_a_run_that_begins_with_power_has_no_hours_before() -> None:
    for day in (scenario(), scenario(outage_h=(0, 3)), scenario(outage_h=(-30, -24))):
        assert day.lead_s == 0.0
        assert prepare(heated(), day).lead is None


def test_two_weeks_before_at_most_are_run_and_the_answer_says_so() -> None:
    day = begun_in(400.0, span_h=1.0, **NO_SET)
    assert day.lead_s == 14 * 86_400.0
    detail = simulate(with_load(Backed()), day).verdict.detail
    assert "begin as the last 336 h of those hours leave them" in detail


def test_hours_told_of_the_weather_are_taken_from_its_first_day_before_it() -> None:
    day = Weather(hourly_f=tuple(range(30)), hourly_sun_share=tuple(h / 30 for h in range(30)))
    before_s = np.array([-3600.0, -24 * 3600.0, -1800.0])
    assert outdoor_f(day, START, before_s) == pytest.approx([23, 0, 23.5])
    assert sun_share(day, before_s) == pytest.approx([23 / 30, 0, 23 / 30])
    short = Weather(hourly_f=(10, 20), hourly_sun_share=(0.2, 0.4))
    assert outdoor_f(short, START, before_s) == pytest.approx([10, 10, 10])
    assert sun_share(short, before_s) == pytest.approx([0.2, 0.2, 0.2])


@pytest.mark.parametrize("ago_h", [0.0, 2.0])
def test_a_room_is_still_cold_when_a_run_begins_after_an_outage(ago_h: float) -> None:
    """Towards 40 °F with 25 h for 20 h, 52.6 °F; then 12 kW on 300 Btu/h °F.

    They bring 40,946 Btu/h against 300 x 25 = 7,500 Btu/°F, towards 40 + 136.5 °F.
    """
    day = scenario(span_h=1, outage_h=(-20.0 - ago_h, -ago_h), **NO_SET)
    run = simulate(heated(), day)
    dead_f = 40.0 + 28.0 * math.exp(-20.0 / 25.0)
    back_f = 176.5 - (176.5 - dead_f) * math.exp(-(ago_h + 1 / 60) / 25.0)
    assert float(run.zone_f[0, 0]) == pytest.approx(back_f, abs=0.9)
    came = f"{ago_h:.0f} h before" if ago_h else "as"
    assert f"The utility came back {came} this run begins, after 20 h" in run.verdict.detail


def test_an_outage_that_is_over_leaves_no_wait_and_no_harm_to_the_run() -> None:
    site = heated()
    run = simulate(site, scenario(span_h=4, outage_h=(-20.0, -1.0), **NO_SET))
    assert run.verdict.fits
    assert run.service[0].longest_gap_min == 0.0
    assert harms(run) == ()


def outages_of(day, *spans_h):
    """The day with outages from and until so many hours after its begin."""
    windows = (
        Window(start=day.start + timedelta(hours=a), end=day.start + timedelta(hours=b))
        for a, b in spans_h
    )
    return day.model_copy(update={"outages": tuple(windows)})


def test_a_minute_without_power_does_not_hide_the_outage_before_it() -> None:
    day = scenario(span_h=1, **NO_SET)
    long_one = simulate(heated(), outages_of(day, (-20.2, -0.2)))
    both = outages_of(day, (-20.2, -0.2), (-0.03, -0.01))
    run = simulate(heated(), both)
    assert both.lead_s == pytest.approx(20.2 * 3600)
    assert float(run.zone_f[0, 0]) == pytest.approx(float(long_one.zone_f[0, 0]), abs=0.2)
    assert "in 2 outages without it" in run.verdict.detail
    begins = "Holds, but it begins with House at 53.4 °F (below its 55 °F)."
    assert run.verdict.sentence.startswith(begins)


def test_an_outage_that_was_over_a_day_before_the_next_leaves_nothing() -> None:
    day = scenario(span_h=1, **NO_SET)
    assert outages_of(day, (-60, -30), (-2, 1)).lead_s == 2 * 3600
    assert outages_of(day, (-60, -24), (2, 3)).lead_s == 0
    chain = outages_of(day, (-60, -40), (-20, -10), (-2, 1))
    assert [w.start for w in chain.outages_before] == [w.start for w in chain.outages]
    assert chain.lead_s == 60 * 3600


def test_two_outages_that_touch_are_one() -> None:
    day = outages_of(scenario(span_h=1, **NO_SET), (-6, 0), (0, 0.5))
    assert day.dark_before_s == 6 * 3600
    run = simulate(heated(), day)
    assert run.service[0].longest_gap_min == pytest.approx(390.0)
    assert "is out for 6 h when this run begins:" in run.verdict.detail


def test_waits_go_on_from_the_outage_under_way_alone() -> None:
    day = outages_of(scenario(span_h=4, **NO_SET), (-20, -1), (-0.5, 1))
    run = simulate(heated(), day)
    assert run.service[0].longest_gap_min == pytest.approx(90.0)
    assert "and was out 19 h before" in run.verdict.detail
    assert float(run.zone_f[0, 0]) < 60.0


def test_a_pit_that_filled_is_pumped_down_before_a_run_that_begins_later() -> None:
    pit = SumpPump(inflow_gpm=2.0, pump_gpm=35.0, cycle_gal=8.0, reserve_gal=10.0)
    site = with_load(pit, load_class="must_serve")
    back = simulate(site, scenario(span_h=1, outage_h=(-3.0, 0.0), **NO_SET))
    assert level(back) == pytest.approx(0.0, abs=2.0)  # 18 gal at 33 gal/min net are out in 33 s
    assert back.verdict.pits == ()


@pytest.mark.parametrize("managed", [False, True])
@pytest.mark.parametrize(
    ("outage_h", "taken_kwh"),
    [
        ((-3.0, 2.0), 3.0),  # dark until 14:00: 6 h until it leaves
        ((-3.0, -1.0), 3.5),  # back at 11:00: half a kWh is in by noon
        ((-30.0, -29.0), 3.0),  # long over: power since 10:00
    ],
)
def test_a_car_has_charged_only_while_it_had_power(
    outage_h: tuple[float, float], taken_kwh: float, managed: bool
) -> None:
    """Home at 10:00 for 4 kWh at 500 W, gone at 20:00; the run is from noon until then."""
    site = with_load(Charger(energy_kwh=4, arrive_hour=10, depart_hour=20))
    if managed:
        held = site.circuits[0].model_copy(update={"energy_group_id": "m"})
        group = EnergyGroup(id="m", name="Manager", setting_a=80)
        site = site.model_copy(update={"circuits": (held,), "energy_groups": (group,)})
    run = simulate(site, scenario(span_h=8, outage_h=outage_h, **NO_SET))
    assert float(run.circuit_w[0].sum()) / 60_000.0 == pytest.approx(taken_kwh, abs=0.02)
    short = [f for f in run.findings if f.code == "car-leaves-short"]
    assert bool(short) == (outage_h[1] > 0.0)
    assert all("with 3.0 of the 4.0 kWh" in f.text for f in short)


def test_a_well_that_is_dry_as_the_run_begins_counts_from_when_its_pump_went_dead() -> None:
    """Twelve hours before and four of the run, less what its tank gave: at most 11.3 gal.

    At 30 gal/h they and a draw of 3 gal that finds none are gone after 29 min: 15.5 to 16 h, more
    than ten and less than twenty.
    """
    well = WellPump(draws_gal_by_hour=(30.0,) * 24)
    asked = with_load(well, load_class="must_serve", allowed_gap_min=600)
    verdict = simulate(asked, begun_in(12.0, **NO_SET)).verdict
    (dry,) = [h for h in verdict.harms if h.kind == "water"]
    gone = dry.at - (START - timedelta(hours=12))
    assert timedelta() < gone <= timedelta(minutes=29)
    assert dry.clause.endswith(f"for up to {span_words(16 * 60 - gone / timedelta(minutes=1))}")
    assert dry.fails
    patient = with_load(well, load_class="must_serve", allowed_gap_min=1_200)
    left = simulate(patient, begun_in(12.0, **NO_SET)).verdict.harms
    assert not [h for h in left if h.kind == "water"]
