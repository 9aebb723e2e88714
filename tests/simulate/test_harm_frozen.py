"""A refrigerator in a room that freezes: when what it holds freezes is told."""

from __future__ import annotations

import math

import pytest

from server.domain.behaviour import ColdBox, Zone
from server.domain.catalogue import KINDS
from server.domain.scenario import Weather
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario

COLD = Weather(low_f=10, high_f=10)


def freezes(behaviour: ColdBox, *, span_h: float = 60, weather: Weather = COLD) -> list[Harm]:
    box = appliance("box", 150, kind="refrigerator", behaviour=behaviour)
    site = normal_only_site(
        circuits=(circuit("c", "main", 1, appliances=(box,)),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=400),),
    )
    run = simulate(site, scenario(span_h=span_h, outage_h=(0, span_h), weather=weather))
    return [h for h in harms(run) if "freezes" in h.what]


def test_outdoors_it_freezes_by_the_exponential() -> None:
    """From its 37 °F towards 10 °F with 42 h: 42 ln(27 / 22) = 8.6 h, give or take its band."""
    (harm,) = freezes(ColdBox(stands="outdoors"))
    assert harm.kind == "food"
    assert harm.hours == pytest.approx(42 * math.log(27 / 22), abs=0.5)
    assert "colder" in harm.why
    assert "USDA" in harm.working.source


def test_not_where_the_air_around_stays_above_freezing() -> None:
    assert freezes(ColdBox(stands="own")) == []
    assert freezes(ColdBox(stands="outdoors"), weather=Weather(low_f=35, high_f=36)) == []


def test_not_of_a_freezer() -> None:
    behaviour = KINDS["freezer"].behaviour
    assert isinstance(behaviour, ColdBox)
    assert freezes(behaviour.model_copy(update={"stands": "outdoors"})) == []
