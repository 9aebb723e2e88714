"""Starts that coincide, as the march has them, with the sums by hand."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from server.advise.advice import advice_on, judged
from server.advise.doubt import start_doubt
from server.advise.needed import start_left_off
from server.advise.start_findings import start_findings, start_places
from server.advise.starts import SetStarts, Start, starts_of
from server.advise.volts import panel_volts
from server.advise.volts_together import together_words
from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit, Zone
from server.domain.scenario import Weather
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    scenario,
    with_parts,
)

DOWN = Zone(id="down", name="Downstairs", loss_btuh_per_f=400)
UP = Zone(id="up", name="Upstairs", loss_btuh_per_f=400)


def compressor(part_id: str, zone_id: str, *, delay_s: float = 0.0, **unit: Any) -> Appliance:
    """Heat that cannot keep up, so that it always calls; 80 A of locked rotor by its plate."""
    room = {"zone_id": zone_id, "mode": "heat", "cop": 1.0} | unit
    return appliance(
        part_id,
        1500,
        volts=240,
        load_type="motor",
        locked_rotor_a=80,
        figure_source="nameplate",
        restart_delay_s=delay_s,
        behaviour=RoomUnit(**room),
    )


def house(*motors: Appliance, **changes: Any) -> Site:
    """A set of 20 kVA and X′ 0.25 behind an automatic switch, each motor on its own circuit."""
    return with_parts(
        backed_up_site(),
        generators=(generator(rated_kw=20.0, rated_kva=20.0, reactance_pu=0.25),),
        zones=(DOWN, UP),
        circuits=tuple(
            circuit(f"c{i}", "backed", 1 + 4 * i, 3 + 4 * i, appliances=(m,))
            for i, m in enumerate(motors)
        ),
        **changes,
    )


def starts(site: Site, *, step_s: int = 60, **changes: Any) -> SetStarts:
    day = scenario(outage_h=(2, 3), step_s=step_s, **changes)
    (found,) = starts_of(simulate(site, day))
    return found


def together(found: SetStarts) -> list[Start]:
    return [s for s in found.starts if s.kind == "forced" and len(s.motors) > 1]


@pytest.mark.parametrize("step_s", [10, 60])
def test_two_that_wait_out_their_least_time_off_start_at_once_on_the_set(step_s: int) -> None:
    """Both lose power at 2:00:00 and stay off 5 min: both come on at 2:05:00, on the set.

    2 x 80 A x 240 V = 38.4 kVA; 20 kVA / 0.25 = 80 kVA; 38.4 / (38.4 + 80) = 32.4 %, past 30 %.
    """
    site = house(compressor("a", "down", min_off_min=5.0), compressor("b", "up", min_off_min=5.0))
    found = starts(site, step_s=step_s)
    (forced,) = together(found)
    assert forced.kva == pytest.approx(38.4)
    assert forced.dip == pytest.approx(38.4 / 118.4)
    assert round(100 * forced.dip, 1) == 32.4
    assert forced.status == "over"
    assert forced.at == START + timedelta(hours=2, minutes=5)
    (finding,) = start_findings((found,))
    assert finding.code == "starts-together"
    assert "2 s or more apart and past the 5 min that a compressor stays off anyway" in finding.mend
    assert "a, b, starting together, may not start" in start_doubt((found,))


def test_volts_are_told_as_all_that_starts_at_once_leaves_them() -> None:
    """32.4 % of both, 19.4 % of one alone: of about 120 V, (1 - 0.324) x 120 = 81 V."""
    pair = [compressor(n, z, min_off_min=5.0) for n, z in (("a", "down"), ("b", "up"))]
    run = simulate(house(*pair), scenario(outage_h=(2, 3)))
    volts = panel_volts(run, starts_of(run))
    (words,) = together_words(volts, starts_of(run))
    joint = next(p.joint for p in volts if (p.panel_id, p.source_id) == ("backed", "set"))
    assert joint is not None
    assert joint.volts_v == pytest.approx(120 * (1 - 38.4 / 118.4), abs=0.5)
    assert (joint.name, joint.status) == ("2 motors at once", "over")
    assert words.startswith("2 motors start at once on Generator set and dip it by 32.4 %")
    assert "Panel backed then falls to about 81 of 120 V" in words
    apart = [compressor(n, z, delay_s=d) for n, z, d in (("a", "down", 0.0), ("b", "up", 90.0))]
    run = simulate(house(*apart), scenario(outage_h=(2, 3)))
    volts = panel_volts(run, starts_of(run))
    assert not list(together_words(volts, starts_of(run)))
    assert all(p.joint is None for p in volts)


def test_the_answer_says_that_it_hangs_on_such_a_start() -> None:
    site = house(compressor("a", "down", min_off_min=5.0), compressor("b", "up", min_off_min=5.0))
    run = simulate(site, scenario(outage_h=(2, 3)))
    said = judged(run).said(advice_on(run).provided)
    assert said.startswith("Holds, if the motors start")


@pytest.mark.parametrize(
    ("first", "second", "at_once"),
    [
        ((0.0, 5.0), (0.0, 5.0), True),
        ((0.0, 5.0), (0.0, 3.0), False),
        ((0.0, 5.0), (240.0, 5.0), True),  # 240 s of delay are over before 5 min off are
        ((0.0, 5.0), (300.0, 5.0), False),
        ((0.0, 0.0), (0.0, 0.0), True),
        ((0.0, 0.0), (1.5, 0.0), True),
        ((0.0, 0.0), (2.5, 0.0), False),
        ((0.0, 0.0), (0.0, 5.0), False),
    ],
)
def test_the_later_of_delay_and_least_time_off_keeps_two_apart(
    first: tuple[float, float], second: tuple[float, float], *, at_once: bool
) -> None:
    pair = (
        compressor(name, zone_id, delay_s=delay_s, min_off_min=off_min)
        for name, zone_id, (delay_s, off_min) in (("a", "down", first), ("b", "up", second))
    )
    assert bool(together(starts(house(*pair)))) is at_once


@pytest.mark.parametrize("first_s", [60.0, 299.0])
def test_a_shorter_delay_on_the_same_circuit_hides_no_joint_start(first_s: float) -> None:
    """Delays of 300 s on two circuits count from one return of power, whatever else waits.

    2 x 19.2 kVA of locked rotor: 38.4 / (38.4 + 80) = 32.4 %. The set is ready after 10 s, the
    switch waits 5 s and is 1 s on its way.
    """
    base = house(compressor("b", "down", delay_s=300.0), compressor("c", "up", delay_s=300.0))
    lead = appliance("a", 100, load_type="motor", locked_rotor_a=10.0, restart_delay_s=first_s)
    shared = base.circuits[0].model_copy(
        update={"appliances": (lead, *base.circuits[0].appliances)}
    )
    found = starts(with_parts(base, circuits=(shared, base.circuits[1])), step_s=10)
    joint = [s for s in together(found) if {"b", "c"} <= {m.name for m in s.motors}]
    assert len(joint) == 1
    begins_s = 10 + 5 + 1 + min(300, first_s if first_s > 298.0 else 300)
    assert joint[0].at == START + timedelta(hours=2, seconds=begins_s)
    assert ("a" in {m.name for m in joint[0].motors}) is (first_s > 298.0)


def test_what_waited_out_a_long_outage_starts_as_the_set_takes_over() -> None:
    """A set that gives after 10 min: 5 min off are long over for both."""
    site = house(compressor("a", "down", min_off_min=5.0), compressor("b", "up", min_off_min=3.0))
    late = site.generators[0].model_copy(update={"start_delay_s": 600.0})
    (forced,) = together(starts(with_parts(site, generators=(late,))))
    assert {m.name for m in forced.motors} == {"a", "b"}


def test_two_of_one_thermostat_are_never_apart() -> None:
    """One zone: no delay after a loss of power parts them at the next call, and none is told."""
    pair = [
        compressor(n, "down", delay_s=d, cop=3.5, min_off_min=3.0)
        for n, d in (("a", 0.0), ("b", 600.0))
    ]
    found = starts(house(*pair), outages=scenario(outage_h=(0.1, 6)).outages)
    (linked,) = [s for s in found.starts if s.kind == "linked"]
    assert linked.dip == pytest.approx(38.4 / 118.4)
    assert not [s for s in found.starts if s.kind == "pair"]
    assert found.never_apart == linked
    (finding,) = start_findings((found,))
    assert "a, b start together whenever their thermostat calls" in finding.text
    assert "Have soft starters fitted to a, b" in finding.mend
    assert {p.field for p in start_places(found, linked)} == {"start_share"}


def test_the_free_way_with_two_of_one_thermostat_leaves_the_larger_off() -> None:
    """Two that only cool, in mild air: 19.2 and 19.2 kVA, and neither is too hard alone."""
    pair = [compressor(n, "down", mode="cool", cop=3.5, min_off_min=3.0) for n in "ab"]
    hot = Weather(low_f=85, high_f=95)
    day = scenario(outages=scenario(outage_h=(0.1, 6)).outages, weather=hot)
    run = simulate(house(*pair), day)
    (found,) = starts_of(run)
    linked = next(s for s in found.starts if s.kind == "linked")
    assert linked.status == "over"
    lever = start_left_off(run, found, linked)
    assert lever is not None
    assert lever.kind == "off"
    assert lever.circuit_id == linked.motors[0].circuit.id


def test_a_heat_pump_and_its_air_handler_are_told_as_one() -> None:
    """19.2 kVA and a fan of 2.0 kVA: (19.2 + 2.0) / (21.2 + 80) = 20.9 %."""
    fan = appliance(
        "fan",
        400,
        volts=240,
        load_type="motor",
        locked_rotor_a=2000 / 240,
        behaviour=RoomUnit(zone_id="down", mode="fan"),
    )
    pump = compressor("pump", "down", cop=6.0, min_off_min=5.0, ducted=True)
    found = starts(house(pump, fan), outages=scenario(outage_h=(0.1, 6)).outages)
    (linked,) = [s for s in found.starts if s.kind == "linked"]
    assert linked.names == "pump, fan"
    assert linked.dip == pytest.approx(21.2 / 101.2)
    assert not together(found)
    assert not [s for s in found.starts if s.kind == "pair"]


def test_what_is_never_apart_meets_others_by_chance_as_one() -> None:
    pair = [compressor(n, "down", cop=6.0, min_off_min=3.0) for n in "ab"]
    other = compressor("c", "up", cop=6.0, min_off_min=4.0)
    found = starts(house(*pair, other), outages=scenario(outage_h=(0.1, 6)).outages)
    (meeting,) = [s for s in found.starts if s.kind == "pair"]
    assert {m.name for m in meeting.motors} == {"a", "b", "c"}


def let_back(*delays_s: float) -> tuple[list[Start], SetStarts]:
    """Motors of one circuit, shed and let back together: an oven of 9 kW passes their 40 A.

    On the set before the run and after it, so that nothing else takes their power.
    """
    pair = tuple(
        compressor(n, z, delay_s=d)
        for (n, z), d in zip((("a", "down"), ("b", "up")), delays_s, strict=True)
    )
    heater = appliance(
        "oven",
        9000,
        volts=240,
        behaviour={
            "model": "timed",
            "stages": ({"minutes": 30, "share": 1.0},),
            "starts": ({"hour": 15},),
        },
    )
    base = house(*pair)
    circuits = (
        circuit("units", "backed", 1, 3, appliances=pair, energy_group_id="m"),
        circuit("o", "backed", 5, 7, appliances=(heater,), breaker_a=50),
    )
    manager = EnergyGroup(id="m", name="Manager", setting_a=40, watch_id="ats")
    site = with_parts(base, circuits=circuits, energy_groups=(manager,))
    found = starts(site, outages=scenario(outage_h=(-2, 7)).outages)
    return together(found), found


@pytest.mark.parametrize("delay_s", [0.0, 45.0, 120.0])
def test_two_on_a_circuit_that_a_manager_lets_back_start_at_once(delay_s: float) -> None:
    """The oven is off at 15:30; with room for 5 min from then the circuit is back at 15:35."""
    (forced,), _ = let_back(delay_s, delay_s)
    assert forced.at == START + timedelta(hours=3, minutes=35, seconds=delay_s)


def test_a_delay_parts_two_that_a_manager_lets_back() -> None:
    joint, found = let_back(0.0, 120.0)
    assert not joint
    (one,) = [s for s in found.starts if s.kind == "forced"]
    assert one.at in {START + timedelta(hours=3, minutes=m) for m in (35, 37)}


def test_what_cannot_wait_gets_the_shortest_of_the_delays() -> None:
    """Three at once, 57.6 kVA; the one on a circuit that must be served is not to wait for it."""
    site = house(*(compressor(n, z) for n, z in (("a", "down"), ("b", "up"), ("c", "up"))))
    relied_on = site.circuits[2].model_copy(update={"load_class": "must_serve"})
    found = starts(with_parts(site, circuits=(*site.circuits[:2], relied_on)))
    (forced,) = together(found)
    assert len(forced.motors) == 3
    (finding,) = (f for f in start_findings((found,)) if f.code == "starts-together")
    assert "2 s or more apart, c with none or the shortest, where one can be set" in finding.mend
    assert {p.appliance_id for p in start_places(found, forced)} == {"a", "b"}
