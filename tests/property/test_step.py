"""Halving the step must not move the answer: peaks within 5 %, energy within 0.5 %."""

from __future__ import annotations

import numpy as np
import pytest

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.results import Run
from server.simulate.run import simulate

SITES = {path.stem: read_site_file(path.read_bytes()) for path in sorted(DEMOS.glob("*.json"))}
CASES = [(name, s.id) for name, site in SITES.items() for s in site.scenarios]


def halved(scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"step_s": scenario.step_s // 2})


def test_there_are_three_demos_with_scenarios() -> None:
    assert len(SITES) == 3
    assert len(CASES) >= 12


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_half_the_step_gives_the_same_peaks_and_energy(case: tuple[str, str]) -> None:
    """Managed or not; the farm's manager looks at every half minute at either step."""
    site: Site = SITES[case[0]]
    scenario = site.scenario(case[1])
    same_peaks_and_energy(simulate(site, scenario), simulate(site, halved(scenario)))


@pytest.mark.long
@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_half_the_step_gives_the_same_with_other_seeds(case: tuple[str, str]) -> None:
    site: Site = SITES[case[0]]
    scenario = site.scenario(case[1])
    for seed in range(201, 206):
        whole = simulate(site, scenario, seed=seed)
        same_peaks_and_energy(whole, simulate(site, halved(scenario), seed=seed))


def same_peaks_and_energy(whole: Run, half: Run) -> None:
    for a, b in zip(whole.limits, half.limits, strict=True):
        if a.point.kind == "circuit_breaker":
            continue
        for one, other in zip(a.legs, b.legs, strict=True):
            assert other.peak_a == pytest.approx(one.peak_a, rel=0.05, abs=0.5), a.point.id
    assert half.balance.electric_used_kwh == pytest.approx(
        whole.balance.electric_used_kwh, rel=5e-3
    )
    assert half.balance.electric_in_kwh == pytest.approx(whole.balance.electric_in_kwh, rel=5e-3)
    used = [np.array([b.energy_kwh for b in r.bus_results]) for r in (whole, half)]
    assert used[1] == pytest.approx(used[0], rel=0.01, abs=0.1)
