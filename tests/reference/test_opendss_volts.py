"""Leg volts of loaded feeders, and two days of amps minute by minute, against OpenDSS run live.

Source: OpenDSS by EPRI through the package ``opendssdirect.py`` (BSD). Its load model 1 holds
power and reactive power, model 2 is a fixed impedance; the lines have no mutual impedance, as the
table the planner reads has none.
"""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import opendssdirect as dss
import pytest

from server.advise.volts import panel_volts
from server.domain.appliance import Appliance
from server.domain.behaviour import Cycle, Hourly, Stage, Timed
from server.domain.scenario import ApplianceEvent
from server.domain.site import Site
from server.domain.supply import Segment
from server.physics.legs import System, leg_volts
from server.physics.line_volts import HELD_DOWN_TO, Tree, volts_under_load
from server.simulate.run import simulate
from tests.builders import START, appliance, circuit, feeder, panel, scenario, service

TERMINALS = ("1.3", "2.3", "1.2")
ANGLE_DEG: dict[System, float] = {"120/240": 180.0, "120/208": -120.0}


def open_circuit(system: System) -> None:
    """A stiff three-wire source at the bus ``n0``, its neutral grounded."""
    stiff = "r1=1e-7 x1=1e-7 r0=1e-7 x0=1e-7"
    for command in (
        "clear",
        f"new circuit.c phases=1 bus1=n0.1 bus2=n0.3 basekv=0.12 pu=1 angle=0 {stiff}",
        f"new vsource.second phases=1 bus1=n0.2 bus2=n0.3 basekv=0.12 pu=1 "
        f"angle={ANGLE_DEG[system]} {stiff}",
        "new reactor.ground phases=1 bus1=n0.3 bus2=n0.0 r=0.000001 x=0",
    ):
        dss.Text.Command(command)


def add_line(ahead: str, name: str, hot: complex, neutral: complex) -> None:
    r = f"{hot.real}|0 {hot.real}|0 0 {neutral.real}"
    x = f"{hot.imag}|0 {hot.imag}|0 0 {neutral.imag}"
    dss.Text.Command(
        f"new line.{name} phases=3 bus1={ahead}.1.2.3 bus2={name}.1.2.3 length=1 "
        f"rmatrix=[{r}] xmatrix=[{x}] cmatrix=[0|0 0|0 0 0]"
    )


def add_load(name: str, bus: str, terminals: str, volts: float, va: complex, model: int) -> None:
    dss.Text.Command(
        f"new load.{name} phases=1 bus1={bus}.{terminals} model={model} kv={volts / 1000:.9f} "
        f"kw={va.real / 1000:.9f} kvar={va.imag / 1000:.9f} vminpu={HELD_DOWN_TO} vmaxpu=1.5"
    )


def solved_volts(bus: str) -> list[float]:
    """Volts L1 to neutral, L2 to neutral and between the legs at a bus."""
    dss.Circuit.SetActiveBus(bus)
    volts = [complex(*pair) for pair in zip(*[iter(dss.Bus.Voltages())] * 2, strict=True)]
    v = dict(zip(dss.Bus.Nodes(), volts, strict=True))
    return [abs(v[1] - v[3]), abs(v[2] - v[3]), abs(v[1] - v[2])]


@pytest.mark.parametrize("system", ["120/240", "120/208"])
@pytest.mark.parametrize("seed", range(6))
def test_leg_volts_of_a_loaded_tree_equal_opendss(system: System, seed: int) -> None:
    rng = np.random.default_rng((seed, len(system)))
    nodes = 6
    parent = [-1, *(int(rng.integers(i)) for i in range(1, nodes))]
    hot = np.array([complex(*rng.uniform(0.005, 0.08, 2)) for _ in range(nodes)])
    neutral = hot * rng.uniform(0.8, 2.0, nodes)
    power = np.zeros((nodes, 3, 1), dtype=complex)
    impedance = np.zeros((nodes, 3, 1), dtype=complex)
    source_v = leg_volts(system)
    across_v = (120.0, 120.0, abs(source_v[0] - source_v[1]))
    open_circuit(system)
    for node in range(1, nodes):
        add_line(f"n{parent[node]}", f"n{node}", complex(hot[node]), complex(neutral[node]))
        for i, terminals in enumerate(TERMINALS):
            for model, into in ((1, power), (2, impedance)):
                factor = float(rng.choice([1.0, 0.95, 0.8, 0.5, 0.3]))
                va = complex(1.0, math.tan(math.acos(factor))) * float(rng.uniform(50, 900))
                into[node, i, 0] = va
                add_load(f"x{node}{i}{model}", f"n{node}", terminals, across_v[i], va, model)
    dss.Text.Command("set tolerance=1e-10 maxiterations=200")
    dss.Solution.Solve()
    assert dss.Solution.Converged()
    tree = Tree(tuple(parent), hot, neutral, source_v)
    ours = np.abs(volts_under_load(tree, power_va=power, impedance_va=impedance))[:, :, 0]
    lowest = ours[1:, :2].min()
    assert 60.0 < lowest < 118.0
    for node in range(nodes):
        assert ours[node] == pytest.approx(solved_volts(f"n{node}"), abs=2e-3)


def far_house(*loads: Appliance, run_ft: float = 180) -> Site:
    """A main panel on 60 ft of 4/0 aluminum and a far one on copper 4 with a smaller neutral."""
    near = Segment(run_ft=60, size="4/0", metal="aluminum", raceway="PVC")
    far = Segment(run_ft=run_ft, size="4", neutral_size="6", raceway="EMT")
    return Site(
        name="Far panel",
        services=(service(),),
        panels=(panel("main"), panel("far")),
        feeders=(
            feeder("grid", "main", breaker_a=200, segments=(near,)),
            feeder("main", "far", breaker_a=60, segments=(far,)),
        ),
        circuits=tuple(
            circuit(
                f"c{i}",
                "far",
                *((4 * i + 1, 4 * i + 3) if a.volts == 240 else (4 * i + 1,)),
                appliances=(a,),
            )
            for i, a in enumerate(loads)
        ),
    )


def test_lowest_volts_of_a_house_equal_opendss() -> None:
    """Ohms per 1000 ft of NEC Chapter 9 Table 9: 4/0 aluminum in PVC 0.10 + j0.041; 4 and 6
    copper in steel 0.31 + j0.060 and 0.49 + j0.064."""
    site = far_house(
        appliance("heater", 1500, load_type="resistance"),
        appliance("fan", 700, load_type="motor", power_factor=0.7),
        appliance("dryer", 5000, volts=240, load_type="resistance"),
    )
    (far, _) = panel_volts(simulate(site, scenario(span_h=1)))
    open_circuit("120/240")
    add_line("n0", "main", complex(0.10, 0.041) * 0.06, complex(0.10, 0.041) * 0.06)
    add_line("main", "far", complex(0.31, 0.060) * 0.18, complex(0.49, 0.064) * 0.18)
    fan = 700 * complex(1.0, math.tan(math.acos(0.7)))
    add_load("heater", "far", "1.3", 120, 1500 + 0j, 2)
    add_load("fan", "far", "1.3", 120, fan, 1)
    add_load("dryer", "far", "1.2", 240, 5000 + 0j, 2)
    dss.Text.Command("set tolerance=1e-10 maxiterations=200")
    dss.Solution.Solve()
    expected = solved_volts("far")
    assert (far.panel_id, far.leg) == ("far", "L1")
    assert far.volts_v == pytest.approx(expected[0], abs=2e-3)
    assert far.between_v == pytest.approx(expected[2], abs=2e-3)
    assert 0.03 < far.share_lost < 0.08


def test_two_days_equal_opendss_minute_by_minute() -> None:
    """One set of appliances, two days: OpenDSS steps its own load shapes in its daily mode.

    Its shapes are written from what the appliances are, minute by minute, and not from the run;
    in its load model 5 the amps follow the shape.
    """
    base = tuple(0.2 + 0.03 * hour for hour in range(24))
    stages = (Stage(minutes=10, share=1.0), Stage(minutes=30, share=0.25))
    oven = appliance(
        "oven", 3600, volts=240, load_type="resistance", behaviour=Timed(stages=stages)
    )
    plugs = appliance("plugs", 1400, power_factor=0.9, behaviour=Hourly(shares=base, spread_min=0))
    pump = appliance(
        "pump", 900, power_factor=0.8, behaviour=Hourly(shares=base[::-1], spread_min=0)
    )
    site = far_house(plugs, oven, pump)
    begins = (75, 1500, 2000)
    events = tuple(
        ApplianceEvent(appliance_id="oven", at=START + timedelta(minutes=m)) for m in begins
    )
    run = simulate(site, scenario(span_h=48, events=events))
    assert run.steps == 2880
    oven_share = np.zeros(2880)
    for begin in begins:
        oven_share[begin : begin + 10], oven_share[begin + 10 : begin + 40] = 1.0, 0.25
    by_minute = {
        "plugs": np.tile(np.repeat(np.roll(np.array(base), -START.hour), 60), 2),
        "oven": oven_share,
        "pump": np.tile(np.repeat(np.roll(np.array(base[::-1]), -START.hour), 60), 2),
    }
    open_circuit("120/240")
    add_line("n0", "main", 1e-6 + 0j, 1e-6 + 0j)
    add_line("main", "far", 1e-6 + 0j, 1e-6 + 0j)
    for a, terminals, volts in ((plugs, "1.3", 120), (oven, "1.2", 240), (pump, "1.3", 120)):
        mult = " ".join(f"{m:.6f}" for m in by_minute[a.id])
        dss.Text.Command(f"new loadshape.{a.id} npts=2880 minterval=1 mult=[{mult}]")
        va = a.load_w * complex(1.0, math.tan(math.acos(a.power_factor)))
        add_load(a.id, "far", terminals, volts, va, 5)
        dss.Text.Command(f"edit load.{a.id} daily={a.id}")
    dss.Text.Command("set mode=daily stepsize=1m number=1 tolerance=1e-9")
    theirs = np.zeros((3, run.steps))
    for minute in range(run.steps):
        dss.Solution.Solve()
        dss.Circuit.SetActiveElement("line.far")
        theirs[:, minute] = dss.CktElement.CurrentsMagAng()[:6:2]
    index = next(i for i, p in enumerate(run.points) if p.id == "feeder_breaker:main-far")
    gap = np.abs(run.amps[index] - theirs)
    assert theirs[0].max() > 20.0
    assert gap.max() < 0.02, (int(gap.argmax()), gap.max())


def test_a_cycle_is_on_for_its_share_of_two_days() -> None:
    """On 6 of every 24 minutes is a quarter of the time."""
    fridge = appliance("fridge", 600, behaviour=Cycle(on_min=6, off_min=18, spread=0.0))
    run = simulate(far_house(fridge), scenario(span_h=48))
    assert float(run.circuit_w[0].mean()) == pytest.approx(150.0, rel=0.01)
