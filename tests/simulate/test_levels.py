"""What a run stores, moment by moment, with what it is held against."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from server.domain.behaviour import RoomUnit, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Delivery, Weather
from server.domain.site import Site
from server.domain.supply import FuelTank
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.harms import harms
from server.simulate.levels import Level, Line, levels
from server.simulate.results import Run
from server.simulate.room_rows import room_plan
from server.simulate.run import simulate
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    generator,
    normal_only_site,
    scenario,
    with_parts,
)


@pytest.fixture(scope="module", params=("bungalow", "flower-farm", "two-family"))
def run(request: pytest.FixtureRequest) -> Run:
    site = read_site_file((DEMOS / f"{request.param}.json").read_bytes())
    return simulate(site, site.scenario("three-day-shutoff"))


def level(run: Run, element_id: str) -> Level:
    return next(one for one in levels(run) if one.id == element_id)


def test_every_room_store_and_tank_of_fuel_has_one(run: Run):
    found = [one.id for one in levels(run)]
    sets = [g.id for g in run.site.generators if g.tank is not None]
    assert found == [
        *(zone.id for zone in run.site.zones),
        *(watched.appliance_id for watched in run.watched),
        *sets,
    ]
    assert all(one.values.shape == (run.steps,) for one in levels(run))


def _heaters(*shares: float) -> Site:
    circuits = tuple(
        circuit(
            f"c{i}",
            "main",
            4 * i + 1,
            4 * i + 3,
            appliances=(
                appliance(
                    f"heater-{i}",
                    4000,
                    volts=240,
                    name=f"Heater {i}",
                    behaviour=RoomUnit(zone_id="house", mode="heat", own_room_share=share),
                ),
            ),
        )
        for i, share in enumerate(shares)
    )
    house = Zone(id="house", name="House", loss_btuh_per_f=300)
    return with_parts(normal_only_site(), circuits=circuits, zones=(house,))


@pytest.mark.parametrize(
    ("shares", "names"),
    [
        ((0.3, 0.2), ["House, the rest", "House, room of Heater 0", "House, room of Heater 1"]),
        ((0.6, 0.4), ["House, room of Heater 0", "House, room of Heater 1"]),
        ((0.0,), ["House"]),
    ],
)
def test_rooms_of_single_heaters_have_one_each(shares: tuple[float, ...], names: list[str]):
    run = simulate(_heaters(*shares), scenario(span_h=24, outage_h=(2, 20)))
    found = levels(run)
    assert [one.name for one in found] == names
    assert len({one.id for one in found}) == len(found)
    plan = room_plan(run.site)
    temps = [*run.zone_f, *run.own_room_f]
    for one, row in zip(found, range(len(plan.names)), strict=True):
        assert one.values == pytest.approx(temps[row])
        assert any(line.text.startswith("pipes") for line in one.lines)


def test_a_rest_that_nothing_heats_is_told_where_it_turns_cold():
    run = simulate(_heaters(0.3, 0.2), scenario(span_h=48))
    (note,) = (f for f in run.findings if f.code == "rest-unheated")
    assert "make 50 % of House" in note.text
    assert note.value == pytest.approx(float(run.zone_f[0].min()), abs=0.1)
    for shares in ((0.6, 0.4), (0.0,), (0.5, 0.0)):
        other = simulate(_heaters(*shares), scenario(span_h=48))
        assert not [f for f in other.findings if f.code == "rest-unheated"]


def test_a_refrigerator_that_freezes_is_past_a_limit_without_an_outage_too():
    cold = KINDS["refrigerator"].appliance("cold")
    outdoors = cold.model_copy(
        update={"behaviour": cold.behaviour.model_copy(update={"stands": "outdoors"})}
    )
    freezer = KINDS["freezer"].appliance("freezer")
    boxes = circuit("boxes", "main", 1, appliances=(outdoors, freezer))
    site = with_parts(normal_only_site(), circuits=(boxes,))
    run = simulate(site, scenario(span_h=48, weather=Weather(low_f=5, high_f=15)))
    (line,) = (n for n in level(run, "cold").lines if n.text.startswith("freezes"))
    assert level(run, "cold").past(line).any()
    assert not [n for n in level(run, "freezer").lines if n.text.startswith("freezes")]


def test_a_limit_is_passed_where_the_harm_clock_says_it_is(run: Run):
    kinds = {"room_cold": -1, "pipes": -1, "room_hot": 1, "tank_cold": -1, "sump": 1}
    checked = 0
    for harm in harms(run):
        if harm.kind not in kinds:
            continue
        try:
            one = level(run, harm.element_id)
        except StopIteration:
            continue
        word = {"room_cold": "cold", "pipes": "pipes", "room_hot": "hot"}.get(harm.kind, "")
        line = next(n for n in one.lines if n.side == kinds[harm.kind] and n.text.startswith(word))
        after = int((run.scenario.outages[0].start - run.scenario.start).total_seconds() // 60)
        assert bool(one.past(line)[after:].any()) == harm.reached
        checked += 1
    assert checked


def test_what_fuel_is_left_is_what_was_there_less_what_the_run_says_was_used(run: Run):
    for need in run.fuel:
        one = level(run, need.generator_id)
        assert (need.dry_at is not None) == (need.used_gal > need.there_gal)
        if need.dry_at is None:
            assert one.values[-1] == pytest.approx(need.there_gal - need.used_gal, rel=1e-4)
        else:
            assert one.values[-1] == one.values.min() < need.there_gal / 4
        assert np.all(np.diff(one.values) <= 1e-9)


def test_a_delivery_fills_no_further_than_the_tank_holds_and_fuel_never_falls_below_none():
    site = with_parts(
        backed_up_site(),
        generators=(generator(tank=FuelTank(capacity_gal=10, fill_share=0.8, reserve_share=0.0)),),
    )
    base = scenario(span_h=12, outage_h=(0, 12))
    more = Delivery(at=base.start + timedelta(hours=11), gallons=100)
    run = simulate(site, base.model_copy(update={"deliveries": (more,)}))
    one = level(run, "set")
    assert one.values.min() >= 0.0
    assert one.values.max() <= 8.0 + 1e-9
    before = one.values[659]
    assert one.values[660] > before
    assert one.values[660] == pytest.approx(8.0, abs=0.1)


def test_a_floor_a_ceiling_and_a_setting():
    one = Level("a", "A", "warmth", "°F", np.array([50.0, 60.0, 70.0]), (), ())
    assert one.past(Line(55.0, "cold", -1)).tolist() == [True, False, False]
    assert one.past(Line(60.0, "hot", 1)).tolist() == [False, False, True]
    assert not one.past(Line(60.0, "set")).any()


def test_dead_spans_are_those_of_the_circuit(run: Run):
    circuits = {a.id: i for i, c in enumerate(run.site.circuits) for a in c.appliances}
    for watched in run.watched:
        one = level(run, watched.appliance_id)
        assert one.dead == run.served.dark(circuits[watched.appliance_id])
