"""A refrigerator that freezes what it holds is told in a run without an outage too."""

from __future__ import annotations

import math
from typing import Any

import pytest

from server.domain.behaviour import ColdBox, Zone
from server.domain.finding import Finding
from server.domain.scenario import Weather
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario


def notes(
    *, weather: Weather, outage_h: tuple[float, float] | None = None, **box: Any
) -> list[Finding]:
    kept = appliance("box", 150, kind="refrigerator", name="Garage one", behaviour=ColdBox(**box))
    site = normal_only_site(
        circuits=(circuit("c", "main", 1, appliances=(kept,)),),
        zones=(Zone(id="house", name="House", loss_btuh_per_f=400),),
    )
    run = simulate(site, scenario(span_h=24, weather=weather, outage_h=outage_h))
    return [f for f in run.findings if f.code == "cold-box-freezes"]


COLD = Weather(low_f=10, high_f=10)


def test_outdoors_it_ends_where_its_exponential_does() -> None:
    """From 37 °F towards 10 °F with 42 h, a day of it: 10 + 27 exp(-24 / 42) = 25.2 °F."""
    (note,) = notes(weather=COLD, stands="outdoors", opening_btu=0.0)
    assert (note.severity, note.element_id, note.limit) == ("note", "box", 32.0)
    assert note.value == pytest.approx(10 + 27 * math.exp(-24 / 42), abs=1.0)
    assert "Garage one falls to" in note.text
    assert "can only cool" in note.text
    assert note.why


@pytest.mark.parametrize(
    "changed",
    [
        {"weather": Weather(low_f=35, high_f=36)},
        {"stands": "own"},
        {"kept_f": 0.0},
        {"outage_h": (1, 2)},
    ],
    ids=["air above freezing", "air of its own", "a freezer", "told by the harm clock"],
)
def test_not_elsewhere(changed: Any) -> None:
    assert notes(**({"weather": COLD, "stands": "outdoors"} | changed)) == []
