"""What a run burns, followed minute by minute on a bent curve, and how it is told."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from server.domain.supply import FuelPoint, FuelTank, Generator
from server.domain.working import Working
from server.simulate.burn import burn_at, burn_per_h, curve_of, fuel_used, tank_lasts
from server.simulate.harms import harms
from server.simulate.run import simulate
from tests.builders import backed_up_site, generator, scenario, with_parts

BENT = tuple(FuelPoint(load_kw=x, rate_per_h=y) for x, y in ((0, 1), (10, 2), (20, 5)))


def used(engine: Generator, *loads_kw: float) -> Working:
    """An hour at each of these loads."""
    hours = np.full(len(loads_kw), 3600.0)
    watts = np.array(loads_kw) * 1000.0
    return fuel_used(engine, watts=watts, running=np.ones(len(loads_kw)), cell_s=hours)


def test_an_hour_idle_and_one_at_full_burn_six_though_their_mean_load_burns_four() -> None:
    engine = generator(rated_kw=20, fuel_points=BENT)
    assert used(engine, 0, 20).value == pytest.approx(6)
    assert used(engine, 10, 10).value == pytest.approx(4)


def test_the_working_adds_up_by_hand_and_names_each_stretch() -> None:
    made = used(generator(rated_kw=20, fuel_points=BENT), 4, 8, 15)
    terms = {t.name: t.value for t in made.terms}
    # 1 + 0.1 x kW below 10 kW: 2 h and 12 kWh; -1 + 0.3 x kW above: 1 h and 15 kWh.
    assert terms["burnt from 0 to 10 kW"] == pytest.approx(2 * 1 + 12 * 0.1)
    assert terms["burnt above 10 kW"] == pytest.approx(-1 + 15 * 0.3)
    assert made.value == pytest.approx(3.2 + 3.5)
    assert {t.source for t in made.terms if "burnt" in t.name} == {
        "1 + 0.1 for each kW",
        "−1 + 0.3 for each kW",
    }
    assert made.source == "Straight between the 3 points of the maker’s sheet as entered."
    assert made.unit == "gal"


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_points_are_told_as_a_guess(count: int) -> None:
    made = used(generator(rated_kw=20, fuel_points=BENT[:count]), 5)
    assert made.source.startswith("A guess")
    assert made.formula == "idle burn × hours run + burn per kWh × kWh given"
    by_name = {t.name: t.value for t in made.terms}
    assert made.value == pytest.approx(by_name["idle burn"] + 5 * by_name["burn per kWh"])


def test_a_set_that_turns_for_part_of_a_minute_burns_at_its_load_meanwhile() -> None:
    curve = curve_of(generator(rated_kw=20, fuel_points=BENT))
    rate = burn_per_h(curve, watts=np.array([10_000.0, 0.0, 0.0]), running=np.array([0.5, 1, 0]))
    assert rate.tolist() == pytest.approx([0.5 * 5, 1, 0])


def test_sheet_in_percent_and_heat_is_the_sheet_in_kilowatts_and_gallons() -> None:
    shares = ((0, 1.0), (50, 2.0), (100, 5.0))
    points = tuple(FuelPoint(load_pct=x, rate_per_h=y * 91_333) for x, y in shares)
    engine = generator(rated_kw=20, fuel="propane", fuel_points=points, fuel_rate_in="Btu/h")
    assert used(engine, 3, 14).value == pytest.approx(
        used(generator(rated_kw=20, fuel_points=BENT), 3, 14).value
    )


def test_a_run_its_tank_and_its_harm_clock_burn_the_same() -> None:
    """The set carries 4.8 kW on a curve that bends at 3 kW: 2 + 1.8 x 0.5 = 2.9 gal/h."""
    points = tuple(FuelPoint(load_kw=x, rate_per_h=y) for x, y in ((0, 1.7), (3, 2), (10, 5.5)))
    tank = FuelTank(capacity_gal=100, fill_share=1.0)
    own = generator(fuel_points=points, tank=tank, start_delay_s=0, cool_down_min=0)
    run = simulate(with_parts(backed_up_site(), generators=(own,)), scenario(outage_h=(0, 5)))
    (set_,) = (s for s in run.sources if s.kind == "generator")
    assert set_.fuel_used is not None
    assert not set_.fuel_guess
    # A set burns on through the wait before the switch goes back.
    assert set_.fuel_used.value == pytest.approx(2.9 * set_.run_h, rel=0.001)
    (need,) = run.fuel
    assert need.used_gal == pytest.approx(set_.fuel_used.value, rel=1e-6)
    (clock,) = [h for h in harms(run) if h.kind == "fuel"]
    burnt = next(t.value for t in clock.working.terms if t.name == "burnt in the run")
    assert burnt == pytest.approx(set_.fuel_used.value, rel=1e-5)


def test_burn_at_a_load_names_the_line_it_lies_on() -> None:
    made = burn_at(generator(rated_kw=20, fuel_points=BENT), 15)
    assert made.value == pytest.approx(3.5)
    assert made.formula == "above 10 kW, −1 + 0.3 for each kW"


def test_gas_from_a_pipe_has_no_tank_to_last() -> None:
    tank = FuelTank(capacity_gal=100)
    assert tank_lasts(generator(fuel="natural_gas", tank=tank), 5) is None
    assert tank_lasts(generator(fuel="propane"), 5) is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fuel": "natural_gas", "fuel_rate_in": "gal/h"}, "not counted in gallons"),
        ({"fuel": "diesel", "fuel_rate_in": "ft3/h"}, "not counted in cubic feet"),
        ({"fuel_points": ({"rate_per_h": 1},)}, "once"),
        ({"fuel_points": ({"load_kw": 1, "load_pct": 5, "rate_per_h": 1},)}, "once"),
        (
            {
                "fuel_points": (
                    {"load_kw": 10, "rate_per_h": 1},
                    {"load_pct": 50, "rate_per_h": 2},
                )
            },
            "0.1 kW apart",
        ),
    ],
)
def test_points_that_cannot_be_read_are_refused(changes: dict[str, object], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        Generator.model_validate({"id": "g", "name": "G", "rated_kw": 20} | changes)
