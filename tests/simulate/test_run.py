"""A run as a pure function: seeds, draws, threads, bits."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.run import cached_run, simulate, warm_up
from tests.builders import EVERY_SITE, backed_up_site, normal_only_site, scenario
from tests.reference.test_energy_balance import full_house

DAY = scenario(span_h=30, outage_h=(4, 20))


def bits(run) -> bytes:  # type: ignore[no-untyped-def]
    return b"".join(
        np.ascontiguousarray(a).tobytes() for a in (run.amps, run.circuit_w, run.wanted_w)
    )


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_way_of_feeding_a_house_runs(name: str) -> None:
    run = simulate(EVERY_SITE[name](), scenario(outage_h=(2, 5)))
    assert run.steps == 360
    assert run.amps.shape == (len(run.points), 3, 360)
    assert len(run.limits) == len(run.points)
    assert len(run.buses) == len(run.bus_results) == run.bus_live.shape[0]
    assert len(run.service) == len(run.site.circuits)
    assert {f.name for f in fields(run)} >= {"verdict", "balance", "findings", "events"}


@pytest.mark.parametrize(
    "site",
    [
        Site(name="Empty"),
        normal_only_site(circuits=()),
        normal_only_site(services=(), panels=(), feeders=(), circuits=()),
    ],
    ids=["empty", "no circuits", "no parts"],
)
def test_a_site_without_loads_runs(site: Site) -> None:
    run = simulate(site, scenario(outage_h=(2, 5)))
    assert run.balance.electric_used_kwh == 0.0
    assert run.verdict.fits


def test_same_seed_same_bits_and_another_seed_another_day() -> None:
    house = full_house()
    one = simulate(house, DAY)
    assert bits(one) == bits(simulate(house, DAY))
    assert bits(one) == bits(simulate(house, DAY, seed=DAY.seed))
    assert bits(one) != bits(simulate(house, DAY, seed=DAY.seed + 1))
    assert bits(one) != bits(simulate(house, DAY, draw=1))
    assert (one.seed, one.draw) == (DAY.seed, 0)


def test_the_largest_seed_runs() -> None:
    run = simulate(full_house(), DAY, seed=2**63 - 1)
    assert np.isfinite(run.amps).all()


def test_threads_side_by_side_give_the_same_bits() -> None:
    house = full_house()
    expected = [bits(simulate(house, DAY, draw=d)) for d in range(6)]
    with ThreadPoolExecutor(4) as pool:
        got = list(pool.map(lambda d: bits(simulate(house, DAY, draw=d)), range(6)))
    assert got == expected


_HEADLINE = """
import numpy as np
from tests.reference.test_energy_balance import full_house
from tests.builders import scenario
from server.simulate.run import simulate
run = simulate(full_house(), scenario(span_h=30, outage_h=(4, 20)))
print(",".join(repr(float(x)) for x in (
    *(leg.peak_a for r in run.limits for leg in r.legs),
    *(s.in_kwh for s in run.sources),
    *(s.unserved_min for s in run.service),
    run.balance.heat_lost_kwh,
)))
"""


def test_one_thread_and_two_agree_across_processes() -> None:
    root = Path(__file__).parents[2]
    found = []
    for threads in ("1", "2"):
        environment = os.environ | {"NUMBA_NUM_THREADS": threads}
        out = subprocess.run(
            [sys.executable, "-c", _HEADLINE],
            cwd=root,
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        found.append([float(x) for x in out.stdout.split(",")])
    here = simulate(full_house(), DAY)
    assert found[0] == pytest.approx(found[1], rel=1e-9, abs=1e-12)
    assert found[0][: 2 * len(here.limits)] == pytest.approx(
        [leg.peak_a for r in here.limits for leg in r.legs], rel=1e-9
    )


def test_headline_figures_stand() -> None:
    """Recorded from this engine, to three digits: a change here is a change of ENGINE_VERSION."""
    run = simulate(full_house(), DAY)
    got = {s.source_id: s.in_kwh for s in run.sources}
    got["peak"] = run.limit("service_main:grid").worst.peak_a
    got["set peak"] = run.limit("generator:set").worst.peak_a
    assert got == pytest.approx(RECORDED, rel=1e-3)


RECORDED = {
    "grid": 190.92,
    "set": 110.14,
    "sun": 13.999,
    "peak": 98.935,
    "set peak": 39.376,
}


def test_cached_runs_are_the_same_object_for_equal_documents() -> None:
    one = cached_run(backed_up_site(), scenario())
    assert cached_run(backed_up_site(), scenario()) is one
    assert cached_run(backed_up_site(), scenario(), seed=5) is not one
    again = Site.model_validate_json(backed_up_site().model_dump_json())
    day = Scenario.model_validate_json(scenario().model_dump_json())
    assert cached_run(again, day) is one


def test_steps_and_times_convert_both_ways() -> None:
    run = simulate(normal_only_site(), scenario(step_s=300))
    for step in (0, 7, run.steps - 1):
        assert run.step_of(run.time_of(step)) == step
    assert run.step_of(run.scenario.start.replace(year=2020)) == 0
    assert run.step_of(run.scenario.end) == run.steps - 1


def test_warm_up_can_be_called_again() -> None:
    warm_up()
    warm_up()
