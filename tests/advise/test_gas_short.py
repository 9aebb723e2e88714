"""Gas that is surely not there fails a run; gas that is not known is a condition of its answer."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.advise.advice import Advice, advice_on, all_holds, judged
from server.advise.next_step import next_step
from server.advise.odds_gas import with_gas
from server.domain.scenario import Weather, Window
from server.domain.supply import FuelPoint, Generator
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.summary import summary
from tests.advise.test_tank_gas import run_with
from tests.builders import START, backed_up_site, scenario, with_parts

SHEET = tuple(FuelPoint(load_kw=kw, rate_per_h=100.0 + 10.0 * kw) for kw in (0, 5, 10))
"""1000 Btu/h: 100,000 and 10,000 a kW."""

DAY = scenario(span_h=6, outages=(Window(start=START, end=START + timedelta(hours=6)),))


def on_gas(fuel_points: tuple[FuelPoint, ...] = SHEET, **changes: Any) -> tuple[Run, Advice]:
    """A set that gives 4.8 kW on natural gas: 148,000 Btu/h by its sheet."""
    base = backed_up_site()
    told = {"fuel": "natural_gas", "tank": None, "fuel_points": fuel_points} | changes
    set_up = Generator.model_validate(base.generators[0].model_dump() | told)
    run = simulate(with_parts(base, generators=(set_up,)), DAY)
    return run, advice_on(run)


def test_a_meter_below_the_burn_of_the_hardest_minute_does_not_hold() -> None:
    run, advice = on_gas(gas_meter_btu_h=140_000, other_gas_btu_h=0)
    assert run.verdict.fits
    verdict = judged(run)
    assert not verdict.fits
    assert verdict.said(advice.provided).startswith(
        "Does not hold. Generator set burns 148,000 Btu/h of natural gas at "
    )
    assert "meter and pipe carry 140,000 Btu/h" in verdict.sentence
    said = summary(run, advice=advice)["verdict"]
    assert said["fits"] is False
    assert said["sentence"] == verdict.sentence
    assert "larger meter" in next_step(run.site, run.scenario).sentence


def test_a_meter_that_carries_all_at_full_load_is_no_condition() -> None:
    rated = on_gas()[0].site.generators[0].rated_kw
    run, advice = on_gas(gas_meter_btu_h=100_000 + 10_000 * rated, other_gas_btu_h=0)
    assert advice.provided == ""
    assert judged(run).answer() == "Holds, but some circuits get no power."


@pytest.mark.parametrize(
    "told",
    [{}, {"gas_meter_btu_h": 150_000.0}, {"gas_meter_btu_h": 150_000.0, "other_gas_btu_h": 90_000}],
)
def test_a_meter_not_told_or_short_by_its_sizing_alone_is_a_condition(told: Any) -> None:
    run, advice = on_gas(**told)
    verdict = judged(run)
    assert verdict.fits
    assert verdict.answer(advice.provided) == (
        "Holds, if the gas meter carries the set, but some circuits get no power."
    )
    assert advice.doubt


def test_a_guessed_burn_does_not_fail_a_meter_that_the_low_guess_leaves_enough() -> None:
    """Without a sheet the burn is a guess, 35 % either way."""
    guessed = on_gas(())[0]
    full = advice_on(guessed).gas[0].asked.value
    run, advice = on_gas((), gas_meter_btu_h=0.3 * full, other_gas_btu_h=0)
    burn = advice.gas[0].asked.value
    assert burn == pytest.approx(full)
    assert advice.provided == "the gas meter carries the set"
    assert judged(run).fits


def test_a_set_that_never_runs_asks_nothing_of_its_meter() -> None:
    run = on_gas()[0]
    idle = simulate(run.site, scenario(span_h=6))
    assert advice_on(idle).provided == ""


def test_a_tank_that_gives_less_than_its_set_surely_burns_does_not_hold() -> None:
    sheet = tuple(FuelPoint(load_kw=kw, rate_per_h=1.0 + 0.1 * kw) for kw in (0, 5, 10))
    run = run_with(250, 0, fuel_points=sheet)
    verdict = judged(run)
    assert not verdict.fits
    assert "burns 135,000 Btu/h of propane" in verdict.sentence
    assert advice_on(run).provided == ""


def test_the_same_by_a_guess_is_a_condition() -> None:
    """Two points make a guess of the burn: a third less would still be given."""
    run = run_with(250, 0)
    assert judged(run).fits
    assert advice_on(run).provided == "the propane tank gives enough gas"


def test_no_gas_at_all_fails_by_any_guess() -> None:
    run = run_with(250, -50)
    assert not judged(run).fits


@pytest.mark.parametrize(("low_f", "asks"), [(-20, True), (30, False)])
def test_diesel_in_the_cold_is_a_condition(low_f: float, asks: bool) -> None:
    run, _ = on_gas(fuel="diesel", fuel_points=())
    cold = DAY.model_copy(update={"weather": Weather(low_f=low_f, high_f=low_f)})
    advice = advice_on(simulate(run.site, cold))
    assert ("the diesel flows in the cold" in advice.provided) is asks
    assert (f"runs at {low_f} °F" in advice.doubt) is asks
    if asks:
        step = next_step(run.site, cold)
        assert step.sentence.startswith("Make the fuel sure before you rely on this.")


def test_no_step_says_that_everything_holds_with_a_meter_that_is_surely_short() -> None:
    run, advice = on_gas(gas_meter_btu_h=1_000, other_gas_btu_h=0)
    assert run.verdict.fits
    assert advice.short
    assert all_holds(run) == ""
    enough = on_gas()[0]
    assert all_holds(enough) == "everything holds, if the gas meter carries the set"


def test_draws_know_a_meter_that_is_surely_short() -> None:
    run, _ = on_gas(gas_meter_btu_h=1_000, other_gas_btu_h=0)
    draws = run_draws(run.site, run.scenario, draws=range(1))
    odds = odds_of(run.site, run.scenario, draws)
    assert not odds.fails
    assert with_gas(odds, run).fails


def test_a_burn_of_seconds_does_not_fail_a_meter_that_carries_each_minute() -> None:
    """The hardest minute is a mean of 60 s, never above the hardest instant."""
    run, _ = on_gas(gas_meter_btu_h=1_000, other_gas_btu_h=0)
    served = run.served
    cell_s = np.diff(served.cell_end_s, prepend=0.0)
    short = int(np.flatnonzero((cell_s < 59.0) & (served.set_w[0] > 0.0))[0])
    spiked = served.set_w.copy()
    spiked[0, short] = 100.0 * spiked[0].max()
    jumped = replace(run, served=replace(served, set_w=spiked), aside={})
    share = cell_s[short] / 60.0
    said = advice_on(jumped).short[0]
    btu_h = float(said.split(" burns ")[1].split(" Btu/h")[0].replace(",", ""))
    peak_kw = float(spiked[0, short]) / 1000.0
    assert btu_h < (100.0 + 10.0 * peak_kw) * 1000.0 * share + 150_000.0 * (1.0 - share) + 1_000.0
