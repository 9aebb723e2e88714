"""Leg, neutral and 240 V amps against OpenDSS, run live, over nested unbalanced panels.

Source: OpenDSS by EPRI through the package ``opendssdirect.py`` (BSD). The source is stiff and the
lines almost free of impedance, so volts stay nominal as in the planner; loads are of model 5
(fixed amps) with the voltage band opened, since the default turns loads into impedances at 0.95.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import opendssdirect as dss
import pytest

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.panel import leg_of_space
from server.domain.scenario import Window
from server.domain.site import Site
from server.simulate.run import simulate
from tests.builders import START, feeder, generator, panel, scenario, service

ANGLE_DEG = {"120/240": 180.0, "120/208": -120.0, "120": 0.0}
ACROSS_V = {"120/240": 240.0, "120/208": 120.0 * math.sqrt(3.0), "120": 0.0}
OHM = 1e-6


@dataclass(frozen=True)
class Case:
    """A system, how many panels hang under one another, and what draws the loads."""

    system: str
    panels: int
    loads: int
    seed: int


CASES = [
    Case(system, panels, loads, seed)
    for system in ANGLE_DEG
    for panels, loads in ((1, 3), (2, 8), (4, 16), (6, 40))
    for seed in (1, 2, 3)
]


def random_site(case: Case) -> Site:
    """Nested panels with crossed feeders and loads of many watts and power factors."""
    rng = np.random.default_rng((case.seed, case.panels, case.loads))
    names = [f"p{i}" for i in range(case.panels)]
    from_set = case.system == "120"
    feeders = [feeder("set" if from_set else "grid", "p0", breaker_a=400, ampacity_a=400)]
    for i in range(1, case.panels):
        above = names[int(rng.integers(i))]
        swap = bool(rng.integers(2))
        feeders.append(feeder(above, names[i], breaker_a=200, swap_legs=swap))
    circuits = []
    for k in range(case.loads):
        where = names[int(rng.integers(case.panels))]
        space = 1 + k
        two_pole = bool(rng.integers(3) == 0)
        load_w = float(rng.uniform(20, 1800) * (2.5 if two_pole else 1))
        part_w = load_w * float(rng.uniform(0, 0.3)) if rng.integers(2) else 0.0
        load = Appliance(
            id=f"load{k}",
            name=f"load {k}",
            load_w=load_w,
            volts=240 if two_pole else 120,
            part_120_w=part_w if two_pole else 0.0,
            on_pole=int(rng.integers(1, 3)),
            power_factor=float(rng.choice([1.0, 0.98, 0.9, 0.8, 0.65])),
            load_type=str(rng.choice(["resistance", "motor", "electronic"])),
        )
        if two_pole:
            space = 1 + 4 * (k % 20) + int(rng.integers(2))
        circuits.append(
            Circuit(
                id=f"c{k}",
                name=f"circuit {k}",
                panel_id=where,
                poles=2 if two_pole else 1,
                spaces=(space, space + 2) if two_pole else (space,),
                appliances=(load,),
            )
        )
    circuits = _without_clashes(circuits)
    return Site(
        name="Nested panels",
        services=() if from_set else (service(system=case.system),),
        generators=(generator(system="120", start_delay_s=0),) if from_set else (),
        panels=tuple(panel(name, rating_a=400, spaces=84) for name in names),
        feeders=tuple(feeders),
        circuits=tuple(circuits),
    )


def _without_clashes(circuits: list[Circuit]) -> list[Circuit]:
    taken: set[tuple[str, int]] = set()
    kept = []
    for c in circuits:
        wanted = {(c.panel_id, space) for space in c.spaces}
        if taken.isdisjoint(wanted):
            taken |= wanted
            kept.append(c)
    return kept


def solve(site: Site, system: str) -> dict[str, tuple[float, float, float]]:
    """Amps of L1, L2 and N into every feeder, by OpenDSS."""
    dss.Text.Command("clear")
    stiff = f"r1={OHM} x1={OHM} r0={OHM} x0={OHM}"
    dss.Text.Command(
        f"new circuit.c phases=1 bus1=root.1 bus2=root.3 basekv=0.12 pu=1 angle=0 {stiff}"
    )
    dss.Text.Command(
        f"new vsource.second phases=1 bus1=root.2 bus2=root.3 basekv=0.12 pu=1 "
        f"angle={ANGLE_DEG[system]} {stiff}"
    )
    dss.Text.Command("new reactor.ground phases=1 bus1=root.3 bus2=root.0 r=0.000001 x=0")
    sources = {s.id for s in (*site.services, *site.generators)}
    for f in site.feeders:
        above = "root" if f.from_id in sources else f.from_id
        nodes = "2.1.3" if f.swap_legs else "1.2.3"
        dss.Text.Command(
            f"new line.{f.id} phases=3 bus1={above}.1.2.3 bus2={f.to_id}.{nodes} length=1 "
            f"rmatrix=[{OHM}|0 {OHM}|0 0 {OHM}] xmatrix=[{OHM}|0 {OHM}|0 0 {OHM}] "
            "cmatrix=[0|0 0|0 0 0]"
        )
    for c in site.circuits:
        poles = [1 if leg_of_space(s) == "L1" else 2 for s in c.spaces]
        for a in c.appliances:
            pole = poles[min(a.on_pole, len(poles)) - 1]
            one_leg_w = a.load_w if a.volts == 120 else a.part_120_w
            across_w = 0.0 if a.volts == 120 else a.load_w - a.part_120_w
            if system == "120" and a.volts == 240:
                continue
            if a.load_type == "resistance":
                across_w *= (ACROSS_V[system] / 240.0) ** 2
            for name, nodes, volts, watts in (
                ("a", f"{pole}.3", 120.0, one_leg_w),
                ("b", "1.2", ACROSS_V[system], across_w),
            ):
                if watts:
                    dss.Text.Command(
                        f"new load.{a.id}{name} phases=1 bus1={c.panel_id}.{nodes} model=5 "
                        f"kv={volts / 1000:.9f} kw={watts / 1000:.9f} pf={a.power_factor} "
                        "vminpu=0.5 vmaxpu=1.5"
                    )
    dss.Text.Command("set tolerance=1e-9 maxiterations=100")
    dss.Solution.Solve()
    assert dss.Solution.Converged()
    found = {}
    for f in site.feeders:
        dss.Circuit.SetActiveElement(f"line.{f.id}")
        raw = dss.CktElement.CurrentsMagAng()[:6]
        wires = [cmath.rect(raw[i], math.radians(raw[i + 1])) for i in (0, 2, 4)]
        if system == "120" and f.from_id in sources:
            found[f.id] = (abs(wires[0] + wires[1]), 0.0, abs(wires[2]))
        else:
            found[f.id] = (abs(wires[0]), abs(wires[1]), abs(wires[2]))
    return found


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.system}-{c.panels}-{c.loads}-{c.seed}")
def test_feeder_amps_equal_opendss(case: Case) -> None:
    site = random_site(case)
    outage = Window(start=START - timedelta(hours=1), end=START + timedelta(hours=9))
    outages = (outage,) if case.system == "120" else ()
    run = simulate(site, scenario(span_h=1, outages=outages))
    expected = solve(site, case.system)
    index = {p.id: i for i, p in enumerate(run.points)}
    total = 0.0
    for feeder_id, amps in expected.items():
        ours = run.amps[index[f"feeder_breaker:{feeder_id}"], :, 30]
        assert ours == pytest.approx(amps, rel=2e-4, abs=5e-3), feeder_id
        total += sum(amps)
    assert total > 10.0


def test_volts_stay_nominal_in_the_reference() -> None:
    site = random_site(Case("120/240", 6, 40, 1))
    solve(site, "120/240")
    for name in dss.Circuit.AllBusNames():
        dss.Circuit.SetActiveBus(name)
        volts = [complex(*pair) for pair in zip(*[iter(dss.Bus.Voltages())] * 2, strict=True)]
        by_node = dict(zip(dss.Bus.Nodes(), volts, strict=True))
        assert abs(by_node[1] - by_node[3]) == pytest.approx(120.0, rel=1e-4)
        assert abs(by_node[1] - by_node[2]) == pytest.approx(240.0, rel=1e-4)


def test_published_three_wire_feeder_has_110_80_and_30_amps() -> None:
    """60 A L1 to N, 30 A L2 to N and 50 A across, on 4/0 aluminum: amps need no volts."""
    site = Site(
        name="Feeder",
        services=(service(),),
        panels=(panel("p0"),),
        feeders=(feeder("grid", "p0", breaker_a=200),),
        circuits=(
            Circuit(
                id="a",
                name="a",
                panel_id="p0",
                spaces=(1,),
                appliances=(Appliance(id="a1", name="a", load_w=7200),),
            ),
            Circuit(
                id="b",
                name="b",
                panel_id="p0",
                spaces=(3,),
                appliances=(Appliance(id="b1", name="b", load_w=3600),),
            ),
            Circuit(
                id="c",
                name="c",
                panel_id="p0",
                poles=2,
                spaces=(5, 7),
                appliances=(Appliance(id="c1", name="c", load_w=12000, volts=240),),
            ),
        ),
    )
    run = simulate(site, scenario(span_h=1))
    index = next(i for i, p in enumerate(run.points) if p.kind == "feeder_breaker")
    assert run.amps[index, :, 0] == pytest.approx((110.0, 80.0, 30.0), abs=1e-3)
    assert solve(site, "120/240")["grid-p0"] == pytest.approx((110.0, 80.0, 30.0), abs=2e-2)
