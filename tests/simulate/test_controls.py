"""Load managers in the march: what is shed, kept apart and returned, and in which order."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from server.domain.behaviour import (
    Behaviour,
    Charger,
    Cycle,
    DailyStart,
    Hourly,
    RoomUnit,
    Stage,
    Tank,
    Timed,
    Zone,
)
from server.domain.scenario import ApplianceEvent, Scenario
from server.domain.site import Site
from server.domain.supply import EnergyGroup
from server.simulate.not_had import energy_not_had
from server.simulate.results import CircuitService, Run
from server.simulate.run import simulate
from tests.builders import (
    START,
    appliance,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    with_parts,
)


def manager(**changes: Any) -> EnergyGroup:
    return EnergyGroup(**{"id": "m", "name": "Manager"} | changes)


def house(*loads: tuple[str, float, Behaviour | None, int | None], **group: Any) -> Site:
    """Each load on its own 240 V circuit under one manager, on a grid-fed panel."""
    circuits = []
    for n, (name, watts, behaviour, order) in enumerate(loads):
        load = appliance(
            f"{name}-load", watts, volts=240, behaviour=behaviour or Hourly(shares=(1,) * 24)
        )
        first = 1 + 4 * (n // 2) + n % 2
        circuits.append(
            circuit(
                name,
                "main",
                first,
                first + 2,
                breaker_a=50,
                appliances=(load,),
                shed_order=order,
                energy_group_id="m",
            )
        )
    return normal_only_site(
        circuits=tuple(circuits),
        energy_groups=(manager(**group),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=600),),
    )


def watts(run: Run, circuit_id: str) -> np.ndarray:
    """Watts of a circuit in every step."""
    return run.circuit_w[[c.id for c in run.site.circuits].index(circuit_id)].astype(float)


def begins_s(run: Run) -> np.ndarray:
    """When every step begins. [s]"""
    return np.arange(run.steps) * float(run.scenario.step_s)


def service(run: Run, circuit_id: str) -> CircuitService:
    return next(s for s in run.service if s.circuit_id == circuit_id)


def starts_at(hour: float, minutes: float) -> Timed:
    return Timed(stages=(Stage(minutes=minutes, share=1),), starts=(DailyStart(hour=hour),))


def test_the_first_in_order_is_shed_after_the_delay_and_no_more_than_needed() -> None:
    site = house(("a", 2400, None, 1), ("b", 2400, None, 2), ("c", 2400, None, 3), setting_a=20)
    run = simulate(site, scenario(span_h=1))
    assert watts(run, "a")[:3] == pytest.approx([400, 0, 0])
    assert (watts(run, "b") == 2400).all()
    assert (watts(run, "c") == 2400).all()
    assert service(run, "a").held_min == pytest.approx(59 + 50 / 60)
    assert service(run, "a").times_held == 1
    assert energy_not_had(run)[0] == pytest.approx(2.4 * (59 + 50 / 60) / 60, rel=1e-5)


def test_two_are_shed_together_in_order_where_one_does_not_suffice() -> None:
    site = house(("a", 2400, None, 2), ("b", 1200, None, 1), ("c", 2400, None, None), setting_a=12)
    run = simulate(site, scenario(span_h=1))
    assert service(run, "b").held_min > 55
    assert service(run, "a").held_min > 55
    assert service(run, "c").held_min == 0


def test_a_circuit_that_frees_nothing_is_passed_over() -> None:
    idle = starts_at(20, 30)
    site = house(("a", 2400, idle, 1), ("b", 2400, None, 2), ("c", 2400, None, 3), setting_a=10)
    run = simulate(site, scenario(span_h=1))
    assert service(run, "a").held_min == 0
    assert service(run, "b").held_min > 55


def test_they_return_last_shed_first_one_by_one_when_there_is_room() -> None:
    heavy = starts_at(12, 20)
    site = house(
        ("a", 1200, None, 1),
        ("b", 1200, None, 2),
        ("c", 4800, heavy, 3),
        setting_a=20,
        least_off_min=5,
        return_every_min=3,
    )
    run = simulate(site, scenario(span_h=1))
    on = {name: watts(run, name)[:40] > 600 for name in "abc"}
    assert not on["a"][1:25].any()
    assert not on["b"][1:25].any()
    assert on["b"][26:40].all()
    assert int(np.flatnonzero(on["a"])[0]) == int(np.flatnonzero(on["b"])[0]) + 3


def test_the_least_time_off_is_kept() -> None:
    spike = Hourly(shares=(1,) * 24)
    burst = starts_at(12, 2)
    site = house(("a", 2400, spike, 1), ("b", 4800, burst, 2), setting_a=21, least_off_min=15)
    run = simulate(site, scenario(span_h=1))
    off = np.flatnonzero(watts(run, "a") < 1200)
    assert 15 <= len(off) <= 17


def bake(on_s: float, off_s: float) -> Timed:
    """An oven that comes and goes for an hour from a quarter past twelve."""
    stage = Stage(minutes=60, share=1, cycle_on_s=on_s, cycle_off_s=off_s)
    return Timed(stages=(stage,), starts=(DailyStart(hour=12.25),))


def test_a_group_that_watches_itself_does_not_open_and_close_with_an_oven() -> None:
    """Car 20 A and oven 20 A on and off under 30 A: held once, back 5 min after the bake."""
    site = house(
        ("car", 4800, None, 1), ("oven", 4800, bake(90, 150), None), setting_a=30, least_off_min=5
    )
    run = simulate(site, scenario(span_h=3))
    assert service(run, "car").times_held == 1
    on = watts(run, "car") > 2400
    assert not on[16:75].any()
    assert on[80:].all()
    main = run.amps[[p.kind for p in run.points].index("service_main"), 0]
    assert main[17:].max() <= 30.0


def test_with_room_for_it_between_an_oven_s_turns_it_comes_back_and_is_shed_again() -> None:
    """Off for 8 minutes at a time, which is more than the least time off."""
    site = house(
        ("car", 4800, None, 1), ("oven", 4800, bake(90, 480), None), setting_a=30, least_off_min=5
    )
    run = simulate(site, scenario(span_h=3))
    held = service(run, "car")
    assert held.times_held == 7
    assert held.held_min / held.times_held >= 5


def test_an_overload_shorter_than_the_delay_sheds_nothing() -> None:
    site = house(
        ("a", 2400, None, 1), ("b", 4800, starts_at(12.5, 2), 2), setting_a=25, shed_after_s=180
    )
    run = simulate(site, scenario(span_h=1))
    assert service(run, "a").held_min == 0


def test_a_setting_at_what_it_watches_counts_the_loads_it_does_not_manage() -> None:
    base = backed_up_site()
    circuits = tuple(
        c.model_copy(update={"energy_group_id": "m", "shed_order": 1}) if c.id == "d" else c
        for c in base.circuits
    )
    site = with_parts(
        base, circuits=circuits, energy_groups=(manager(setting_a=20, watch_id="set"),)
    )
    run = simulate(site, scenario(outage_h=(1, 5)))
    assert service(run, "d").held_min > 200
    legs = run.amps[[p.id for p in run.points].index("generator:set"), :2]
    assert legs[:, 75:290].max() <= 20
    grid = watts(run, "d")[:60]
    assert (grid == 2400).all()


def test_circuits_are_kept_off_while_a_set_feeds_them_and_come_back_staggered() -> None:
    base = backed_up_site()
    circuits = tuple(
        c.model_copy(update={"energy_group_id": "m"}) if c.id in {"c", "d"} else c
        for c in base.circuits
    )
    group = manager(off_on_generator=True, return_every_min=4)
    site = with_parts(base, circuits=circuits, energy_groups=(group,))
    run = simulate(site, scenario(outage_h=(1, 3)))
    hours = (begins_s(run) + 1e-6) / 3600
    out = (hours >= 1) & (hours < 3)
    assert watts(run, "c")[out].max() == 0
    assert watts(run, "d")[out].max() == 0
    assert watts(run, "b")[out].max() == 600
    first = {n: hours[np.flatnonzero((watts(run, n) > 1) & (hours > 3))[0]] for n in "cd"}
    assert (first["c"] - first["d"]) * 60 == pytest.approx(4, abs=0.01)
    assert service(run, "d").held_min > 115


def test_after_a_dead_bus_they_come_back_one_by_one() -> None:
    loads = [(n, 600.0, None, i) for i, n in enumerate("abcd", start=1)]
    site = house(*loads, setting_a=100, return_every_min=2, least_off_min=1)
    run = simulate(site, scenario(outage_h=(1, 2)))
    minutes = begins_s(run) / 60
    back = [minutes[(watts(run, n) > 1) & (minutes >= 120)][0] for n in "dcba"]
    assert back == pytest.approx([122, 124, 126, 128])


def test_an_interlock_lets_the_one_shed_last_go_first() -> None:
    site = house(
        ("dryer", 5000, starts_at(12, 60), 1),
        ("oven", 4000, starts_at(12.5, 10), 2),
        way="interlock",
        least_off_min=5,
    )
    run = simulate(site, scenario(span_h=2))
    dryer, oven = watts(run, "dryer"), watts(run, "oven")
    assert not ((dryer > 120) & (oven > 120)).any()
    assert (oven[30:40] == 4000).all()
    assert dryer[:30].min() == 5000
    assert dryer[30:45].max() == 0
    assert dryer[46:59].min() == 5000


def test_in_turns_the_one_that_runs_is_let_finish_and_the_next_waits_for_it() -> None:
    site = house(
        ("dryer", 5000, starts_at(12, 60), 1),
        ("oven", 4000, starts_at(12.5, 10), 2),
        way="turns",
        least_off_min=5,
    )
    run = simulate(site, scenario(span_h=2))
    dryer, oven = watts(run, "dryer"), watts(run, "oven")
    assert dryer[:60].min() == 5000
    assert oven[:65].max() == 0
    assert oven[65:75].min() == 4000
    assert oven.sum() / 60 == pytest.approx(4000 * 10 / 60)
    assert service(run, "oven").unserved_min == pytest.approx(35)


def test_of_two_that_begin_in_one_minute_one_waits_a_turn() -> None:
    loads = [(n, 3000.0, starts_at(12.5, 10), i) for i, n in enumerate("ab", start=1)]
    run = simulate(house(*loads, way="turns", least_off_min=0), scenario(span_h=2))
    assert not ((watts(run, "a") > 120) & (watts(run, "b") > 120)).any()
    assert watts(run, "b")[30:40].min() == 3000
    assert watts(run, "a").sum() == pytest.approx(30_000)


def test_a_charger_that_was_paused_charges_what_it_missed() -> None:
    car = Charger(energy_kwh=10, arrive_hour=12, depart_hour=11)
    site = house(("car", 4800, car, 1), ("oven", 7200, starts_at(13, 60), 2), setting_a=40)
    run = simulate(site, scenario(span_h=12))
    assert service(run, "car").held_min == pytest.approx(60, abs=6)
    assert watts(run, "car").sum() / 60_000 == pytest.approx(10, rel=1e-3)


def test_a_set_of_one_hot_counts_both_legs_together() -> None:
    base = backed_up_site()
    circuits = tuple(
        c.model_copy(update={"energy_group_id": "m", "shed_order": n})
        for n, c in enumerate(base.circuits, start=1)
    )
    site = with_parts(
        base,
        circuits=circuits,
        generators=(generator(system="120"),),
        energy_groups=(manager(setting_a=18, watch_id="set"),),
    )
    run = simulate(site, scenario(outage_h=(0, 6)))
    assert service(run, "b").held_min > 300
    assert service(run, "c").held_min < 5  # its return after the dead bus


BUSY: tuple[tuple[str, float, Behaviour, int], ...] = (
    ("tank", 4500, Tank(gallons=50, draws_gal_by_hour=(3.0,) * 24), 1),
    ("heat", 5000, RoomUnit(zone_id="house", mode="heat", cop=3, min_off_min=5), 2),
    ("car", 7000, Charger(energy_kwh=30, arrive_hour=13, depart_hour=11), 3),
    ("oven", 3000, Cycle(on_min=8, off_min=12), 4),
    ("dryer", 5000, starts_at(14, 50), 5),
)


def busy(**group: Any) -> Site:
    return house(*BUSY, **group)


WAYS: tuple[dict[str, Any], ...] = (
    {"setting_a": 45},
    {"way": "interlock"},
    {"way": "turns"},
    {"way": "turns", "setting_a": 20},
)


@pytest.mark.parametrize("group", WAYS, ids=str)
def test_energy_closes_and_the_same_draw_is_the_same_run(group: dict[str, Any]) -> None:
    site, day = busy(**group), scenario(span_h=24, outage_h=(6, 8))
    run, again = simulate(site, day), simulate(site, day)
    balance = run.balance
    assert balance.electric_in_kwh == pytest.approx(
        balance.electric_used_kwh + balance.electric_out_kwh, rel=1e-3
    )
    assert balance.heat_in_kwh == pytest.approx(
        balance.heat_stored_kwh + balance.heat_lost_kwh, rel=1e-3, abs=1e-3
    )
    assert np.array_equal(run.amps, again.amps)
    assert run.service == again.service
    assert not np.array_equal(run.amps, simulate(site, day, draw=1).amps)


def hold(day: Scenario, **changes: Any) -> Scenario:
    return day.model_copy(update=changes)


@pytest.mark.parametrize("group", WAYS, ids=str)
@pytest.mark.parametrize("step_s", [30, 10])
def test_a_shorter_step_gives_the_same_peaks_and_energy(group: dict[str, Any], step_s: int) -> None:
    site, day = busy(**group), scenario(span_h=24)
    one, other = simulate(site, day), simulate(site, hold(day, step_s=step_s))
    for a, b in zip(one.limits, other.limits, strict=True):
        if a.point.kind != "circuit_breaker":
            assert b.worst.peak_a == pytest.approx(a.worst.peak_a, rel=0.05)
    assert other.balance.electric_used_kwh == pytest.approx(one.balance.electric_used_kwh, rel=5e-3)


def test_a_long_step_is_managed_minute_by_minute_too() -> None:
    site, day = busy(way="turns"), scenario(span_h=24)
    one, other = simulate(site, day), simulate(site, hold(day, step_s=900))
    assert len(one.flows.cells.dt_s) == len(other.flows.cells.dt_s)  # type: ignore[attr-defined]
    assert other.balance.electric_used_kwh == pytest.approx(one.balance.electric_used_kwh)


def test_without_a_manager_nothing_is_marched_apart() -> None:
    site = normal_only_site()
    named = with_parts(site, energy_groups=(manager(setting_a=1),))
    assert np.array_equal(
        simulate(site, site.scenarios[0]).amps, simulate(named, named.scenarios[0]).amps
    )


def test_a_manager_that_never_acts_changes_nothing() -> None:
    free = busy(setting_a=1000)
    without = with_parts(
        free,
        circuits=tuple(c.model_copy(update={"energy_group_id": None}) for c in free.circuits),
        energy_groups=(),
    )
    day = scenario(span_h=48, step_s=30)
    one, other = simulate(free, day), simulate(without, day)
    assert np.allclose(one.amps, other.amps, rtol=1e-6, atol=1e-4)
    assert one.zone_f == pytest.approx(other.zone_f)
    assert one.level == pytest.approx(other.level)


def test_events_move_with_a_turn() -> None:
    site = house(
        ("dryer", 5000, starts_at(1, 60), 1), ("oven", 4000, starts_at(1, 10), 2), way="turns"
    )
    events = (
        ApplianceEvent(appliance_id="dryer-load", at=START + timedelta(minutes=10)),
        ApplianceEvent(appliance_id="oven-load", at=START + timedelta(minutes=20)),
    )
    run = simulate(site, scenario(span_h=2, events=events))
    assert watts(run, "oven").sum() / 60 == pytest.approx(4000 / 6)
    assert watts(run, "oven")[:70].max() == 0
