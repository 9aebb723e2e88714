"""Propane tanks drawn on in the cold: the sum by hand, the moment, and what becomes a finding."""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.advise.advice import advice_on
from server.advise.next_step import next_step
from server.advise.tank_gas import tank_gas
from server.domain.scenario import Weather, Window
from server.domain.supply import FuelPoint, FuelTank
from server.physics.propane_vapour import CYLINDER_GAL, vapour
from server.simulate.run import simulate
from server.simulate.summary import summary
from tests.builders import START, backed_up_site, scenario, with_parts


def run_with(capacity_gal: float, outdoor_f: float, **changes):
    """4.8 kW at 1 gal/h + 0.1 gal/kWh are 1.48 gal/h: 135,173 Btu/h. Filled to 0.6 of its room."""
    points = (FuelPoint(load_kw=0, rate_per_h=1.0), FuelPoint(load_kw=10, rate_per_h=2.0))
    tank = FuelTank(capacity_gal=capacity_gal, fill_share=0.6, reserve_share=0.0)
    base = backed_up_site()
    own = {"fuel_points": points, "tank": tank, "fuel": "propane"} | changes
    site = with_parts(base, generators=(base.generators[0].model_copy(update=own),))
    return simulate(
        site,
        scenario(
            span_h=12,
            outages=(Window(start=START, end=START + timedelta(hours=12)),),
            weather=Weather(low_f=outdoor_f, high_f=outdoor_f),
        ),
    )


def test_worst_hour_is_the_last_as_the_tank_falls():
    """250 gal at 0 °F give 50 CFH half full (printed): 125,526 Btu/h; the level follows by K.

    12 h at 1.48 gal/h leave 150 − 17.7 = 132.3 gal, 52.9 % full: K = 90 + 10 × 0.29 = 92.9, so
    129,600 Btu/h, less than the 135,200 burnt.
    """
    (one,) = tank_gas(run_with(250, 0))
    assert one.status == "over"
    assert one.at == START + timedelta(hours=12)
    assert one.burn.value == pytest.approx(135_173, rel=0.002)
    assert one.gives.value == pytest.approx(129_600, rel=0.005)
    # A filled tank, K 100, gives 139,470; 320 gal lie 7/15 of the way from 50 to 100 CFH.
    assert "filled, it gives that" in one.mend
    assert "320 gal gives that" in one.mend


def test_a_passed_tank_is_a_finding_with_figures_and_moment():
    (finding,) = [
        f for f in advice_on(run_with(250, 0)).findings if f.code == "tank-gives-too-little"
    ]
    assert finding.severity == "warning"
    assert finding.value > finding.limit
    assert "135,000 Btu/h" in finding.text
    assert "Fri 27 Nov 00:00" in finding.text


def test_the_answer_hangs_on_gas_that_the_tank_cannot_give():
    run = run_with(250, 0)
    advice = advice_on(run)
    assert advice.provided == "the propane tank gives enough gas"
    assert run.verdict.answer(advice.provided) == (
        "Holds, if the propane tank gives enough gas, but some circuits get no power."
    )
    assert "135,000 Btu/h" in advice.doubt
    assert "320 gal gives that" in next_step(run.site, run.scenario).sentence
    assert summary(run, advice=advice)["verdict"]["sentence"].startswith("Holds, if the propane")
    assert advice_on(run_with(500, 0)).provided == ""


@pytest.mark.parametrize(
    ("gallons", "outdoor_f", "status"),
    [(500, 0, "within"), (250, 20, "within")],
)
def test_larger_or_warmer_is_within(gallons, outdoor_f, status):
    run = run_with(gallons, outdoor_f)
    (one,) = tank_gas(run)
    assert one.status == status
    assert "tank-gives-too-little" not in {f.code for f in advice_on(run).findings}


def test_two_cylinders_give_twice_what_one_does():
    """100 lb full at 0 °F: 113,000 Btu/h each (printed); as one vessel 2^(2/3) of that."""
    size = 2 * CYLINDER_GAL
    alone = vapour(capacity_gal=size, level=0.8, outdoor_f=0)
    pair = vapour(capacity_gal=size, level=0.8, outdoor_f=0, vessels=2)
    assert pair.btu_h == pytest.approx(226_000)
    assert alone.btu_h == pytest.approx(113_000 * 2 ** (2 / 3))


def test_more_vessels_of_the_same_room_give_more_and_are_told():
    """Surface by room to the power 2/3: four of a quarter have 4^(1/3) times that of one."""
    tank = FuelTank(capacity_gal=80, fill_share=0.8, reserve_share=0.0)
    (one,) = tank_gas(run_with(80, 0, tank=tank))
    (four,) = tank_gas(run_with(80, 0, tank=tank.model_copy(update={"vessels": 4})))
    assert four.gives.value == pytest.approx(one.gives.value * 4 ** (1 / 3), rel=1e-6)
    assert "its 4 vessels of 20 gal" in four.words
    assert "its 80 gal tank" in one.words


def test_other_appliances_add_their_mean_to_what_is_asked_and_lower_the_level():
    tank = FuelTank(capacity_gal=500, fill_share=0.6, reserve_share=0.0)
    (alone,) = tank_gas(run_with(500, 0, tank=tank))
    (both,) = tank_gas(run_with(500, 0, tank=tank.model_copy(update={"other_btu_h": 91_333.0})))
    assert both.burn.value == pytest.approx(alone.burn.value + 91_333)
    assert both.level == pytest.approx(alone.level - 12 / 500, abs=1e-4)
    assert "with the other appliances" in both.words


def test_past_the_end_of_a_table_it_is_unsure_and_a_note_asks_the_supplier():
    # 5.9 gal at 80 °F: the cylinder's table ends at 70 °F.
    run = run_with(5.9, 80)
    (one,) = tank_gas(run)
    assert one.status == "unsure"
    assert "at least" in one.words
    (note,) = [f for f in advice_on(run).findings if f.code.startswith("tank-g")]
    assert (note.code, note.severity) == ("tank-gas-asked", "note")
    assert "ask the gas supplier" in note.text


@pytest.mark.parametrize("gallons", [80, 500])
@pytest.mark.parametrize("outdoor_f", [-44, -46])
def test_where_propane_does_not_boil_there_is_no_gas_and_no_tank_helps(gallons, outdoor_f):
    """Propane boils at -44 °F: in colder air none comes, whatever the level or the room."""
    tank = FuelTank(capacity_gal=gallons, fill_share=0.8, reserve_share=0.0)
    run = run_with(gallons, outdoor_f, tank=tank)
    (one,) = tank_gas(run)
    assert (one.status, one.gives.value, one.at_least) == ("over", 0.0, False)
    assert f"its {gallons} gal tank gives none. The set stops" in one.words
    assert "at least" not in one.words
    (told,) = [f for f in advice_on(run).findings if f.code.startswith("tank-g")]
    assert (told.code, told.severity) == ("tank-gives-too-little", "warning")
    assert told.mend.startswith("No tank of propane, however large or full")


@pytest.mark.parametrize("changes", [{"tank": None}, {"fuel": "diesel"}])
def test_only_a_tank_of_propane_is_looked_at(changes):
    assert tank_gas(run_with(250, 0, **changes)) == ()


def test_a_tank_that_falls_below_a_tenth_and_does_not_run_dry_is_judged_by_the_same_table():
    """At 30 °F 250 gal give enough while more than half full; below a tenth gas falls to none.

    18 gal at first, 7.2 %: 12 h at 1.48 gal/h leave 0.3 gal.
    """
    full = run_with(250, 30)
    assert [one.status for one in tank_gas(full)] != ["over"]
    low = full.scenario.model_copy(update={"fuel_at_start_share": 18.0 / 150.0})
    run = simulate(full.site, low)
    assert not run.fuel[0].runs_dry
    (one,) = tank_gas(run)
    assert one.level < 0.1
    assert one.status == "over"
    assert one.gives.value < one.burn.value


def test_where_the_fuel_ends_its_last_hours_are_not_told_as_gas():
    full = run_with(250, 40)
    low = full.scenario.model_copy(update={"fuel_at_start_share": 12.0 / 150.0})
    run = simulate(full.site, low)
    assert run.fuel[0].runs_dry
    assert tank_gas(run) == ()


def test_where_the_table_tells_no_more_the_step_says_what_to_do_meanwhile():
    run = run_with(120, 84)
    (one,) = tank_gas(run)
    assert one.status == "unsure"
    assert one.fill.startswith("Have the tank filled again before then")
    assert "cold" not in one.fill
    assert one.fill in next_step(run.site, run.scenario).sentence


@pytest.mark.parametrize("room_gal", [120, 250])
def test_nobody_comes_to_fill_a_tank_while_the_roads_are_closed(room_gal):
    run = run_with(room_gal, 84)
    shut = run.scenario.model_copy(update={"roads": "closed"})
    (one,) = tank_gas(simulate(run.site, shut))
    assert "filled" not in one.fill
    assert "the roads are closed: carry less on the set" in one.fill
