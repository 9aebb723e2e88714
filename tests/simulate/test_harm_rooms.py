"""Zones in which heaters have rooms of their own: the worst room is what is told."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import pytest

from server.domain.behaviour import RoomUnit, Zone
from server.domain.site import Site
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.room_rows import room_plan
from server.simulate.run import simulate
from tests.builders import appliance, backed_up_site, circuit, scenario

HOUSE = Zone(id="house", name="House", loss_btuh_per_f=300, time_constant_h=25)
OUT = scenario(span_h=30, outage_h=(2, 30))


def two_rooms(kept: str, dead: str, share: float = 0.5) -> Site:
    """A heater behind the generator and one on the main panel, each in its share of the house."""

    def heater(part_id: str, panel_id: str):
        unit = RoomUnit(zone_id="house", mode="heat", own_room_share=share)
        load = appliance(part_id, 6_000, volts=240, name=part_id, behaviour=unit)
        return circuit(f"c-{part_id}", panel_id, 9, 11, breaker_a=40, appliances=(load,))

    both = {"kept": heater("kept", "backed"), "dead": heater("dead", "main")}
    return backed_up_site(circuits=(both[kept], both[dead]), zones=(HOUSE,))


def cold(site: Site, kind: Literal["room_cold", "room_hot"] = "room_cold") -> Harm:
    (harm,) = (h for h in harms(simulate(site, OUT)) if h.kind == kind)
    return harm


@pytest.mark.parametrize("order", [("kept", "dead"), ("dead", "kept")])
def test_the_room_without_power_is_told_wherever_it_is_entered(order: tuple[str, str]) -> None:
    """From T0 towards 40 °F outdoors with 25 h: t = 25 ln((T0 - 40) / (55 - 40))."""
    site = two_rooms(*order)
    run = simulate(site, OUT)
    temps = np.concatenate([run.zone_f, run.own_room_f])
    dead = temps[room_plan(site).room_of["dead"]]
    kept = temps[room_plan(site).room_of["kept"]]
    assert kept.min() > 60
    harm = cold(site)
    assert harm.hours == pytest.approx(25 * math.log((float(dead[119]) - 40) / 15), abs=0.02)
    assert harm.why.startswith("Circuit c-dead dead since")
    assert ("in the room of dead" in harm.nearest) is (order == ("kept", "dead"))


def test_what_is_left_of_a_zone_that_nothing_heats_is_told_of_itself() -> None:
    """With a fifth of the house to each, three fifths have no heater, and cool from the start."""
    site = two_rooms("kept", "dead", share=0.2)
    run = simulate(site, OUT)
    assert run.own_room_units == ("kept", "dead")
    assert run.own_room_f.shape == (2, run.steps)
    harm = cold(site)
    assert "in the room of" not in harm.nearest
    assert harm.why == "nothing heats it"


def test_a_limit_that_no_room_passes_tells_of_the_warmest() -> None:
    site = two_rooms("dead", "kept", share=0.5)
    harm = cold(site, "room_hot")
    assert not harm.reached
    assert "in the room of kept" in harm.nearest
