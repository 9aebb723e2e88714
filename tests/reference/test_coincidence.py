"""A holiday's coincidence, and the first sums of a leg.

Common practice, no source: heat 20 A, water heater 30, cooking 40, dryer 30, hot tub 50 and car
charger 80 at once are 250 A: over a 200 A service and inside a 400 A one. Leg sums are arithmetic:
kVA x 1000 / 240 a leg of a three-wire set, kVA x 1000 / 120 in total of a 120 V one.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from server.domain.scenario import Window
from server.domain.site import Site
from server.physics.engine_set import leg_limit_a
from server.physics.legs import resistive_share
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    circuit,
    feeder,
    generator,
    panel,
    portable,
    scenario,
    service,
    set_120_only_site,
    system_208_site,
    with_parts,
)

AMPS = {"heat": 20, "water": 30, "cooking": 40, "dryer": 30, "tub": 50, "car": 80}


def holiday(main_a: float) -> Run:
    circuits = tuple(
        circuit(name, "main", 1 + 4 * i, 3 + 4 * i, load_w=240.0 * amps, breaker_a=100)
        for i, (name, amps) in enumerate(AMPS.items())
    )
    site = Site(
        name="Holiday",
        services=(service(main_a=main_a),),
        panels=(panel("main", rating_a=400, spaces=40),),
        feeders=(feeder("grid", "main"),),
        circuits=circuits,
    )
    return simulate(site, scenario(span_h=1))


def test_250_amps_pass_a_200_amp_service() -> None:
    run = holiday(200)
    main = run.limit("service_main:grid")
    assert [leg.peak_a for leg in main.legs] == pytest.approx([250.0, 250.0], abs=1e-3)
    assert main.status == "over"
    assert not run.verdict.fits
    assert run.verdict.sentence.startswith("Does not hold. Service grid, main must carry 250.0 A")
    assert main.neutral_peak_a == pytest.approx(0.0, abs=1e-3)
    on = {c.circuit_id: c.amps_a for c in main.worst.contributors}
    assert on == pytest.approx(AMPS, abs=1e-3)


def test_250_amps_fit_a_400_amp_service() -> None:
    run = holiday(400)
    main = run.limit("service_main:grid")
    assert main.status == "within"
    assert main.worst.percent == pytest.approx(62.5, abs=1e-3)
    assert run.verdict.fits


def test_20_kva_is_83_amps_a_leg() -> None:
    assert leg_limit_a(kva=20, system="120/240") == pytest.approx(83.333, abs=1e-3)
    site = Site(
        name="Set",
        generators=(generator(rated_kw=20),),
        panels=(panel("main"),),
        feeders=(feeder("set", "main"),),
    )
    run = simulate(site, scenario(span_h=1))
    assert run.limit("generator:set").point.leg_rating_a == pytest.approx(83.333, abs=1e-3)


def test_a_120_volt_set_carries_all_its_kva_on_one_hot() -> None:
    site = set_120_only_site()
    hour = timedelta(hours=1)
    always = Window(start=START - hour, end=START + 9 * hour)
    run = simulate(site, scenario(span_h=1, outages=(always,)))
    limit = run.limit("generator:set")
    assert limit.point.leg_rating_a == pytest.approx(3.6 * 1000 / 120)
    # 1200 W on L1 and 600 W on L2 are in phase: 15 A on the one hot and 15 A back in the neutral
    assert limit.legs[0].peak_a == pytest.approx(15.0, abs=1e-3)
    assert limit.legs[1].peak_a == 0.0
    assert limit.neutral_peak_a == pytest.approx(15.0, abs=1e-3)
    panel_bus = run.limit("panel_bus:main")
    assert [leg.peak_a for leg in panel_bus.legs] == pytest.approx([10.0, 5.0], abs=1e-3)
    assert panel_bus.neutral_peak_a == pytest.approx(15.0, abs=1e-3)


def test_a_240_volt_resistance_draws_three_quarters_on_208() -> None:
    assert resistive_share("120/208") == pytest.approx(0.75)
    base = system_208_site()
    heater = appliance("heater", 4500, volts=240, load_type="resistance")
    pump = appliance("pump", 4500, volts=240, load_type="motor")
    for load, share in ((heater, 0.75), (pump, 1.0)):
        only = circuit("d", "main", 9, 11, appliances=(load,))
        run = simulate(with_parts(base, circuits=(only,)), scenario(span_h=1))
        assert run.circuit_w[0] == pytest.approx(4500 * share)
        amps = run.limit("service_main:grid").legs[0].peak_a
        assert amps == pytest.approx(4500 * share / (120 * 3**0.5), rel=1e-5)


def test_the_least_link_of_a_portable_set_binds() -> None:
    """A 7.2 kW set gives 30 A a leg: 3600 W on one leg fill it while the other stands empty."""
    site = Site(
        name="Portable",
        generators=(portable(),),
        panels=(panel("main"),),
        feeders=(feeder("set", "main"),),
        circuits=(circuit("a", "main", 1, load_w=1900), circuit("b", "main", 5, load_w=1900)),
    )
    hour = timedelta(hours=1)
    always = Window(start=START - hour, end=START + 9 * hour)
    run = simulate(site, scenario(span_h=1, outages=(always,)))
    for kind in ("generator", "generator_breaker", "receptacle", "cord", "inlet"):
        result = run.limit(f"{kind}:set")
        assert result.status == "over"
        assert result.legs[0].peak_a == pytest.approx(3800 / 120, abs=1e-3)
        assert result.legs[1].peak_a == 0.0
