"""A heat pump without points of its sheet is told where the run has cold that a real one feels."""

from __future__ import annotations

from typing import Any

import pytest

from server.domain.behaviour import RoomUnit, Zone
from server.domain.finding import Finding
from server.domain.scenario import Weather
from server.domain.thermal import Rating
from server.simulate.run import simulate
from tests.builders import appliance, circuit, normal_only_site, scenario, with_parts

SHEET = (Rating(outdoor_f=17, capacity_btuh=21_600, cop=2.5),)
PUMP = {"mode": "heat", "cop": 2.8}


def notes(low_f: float, hourly_f: tuple[float, ...] = (), **unit: Any) -> list[Finding]:
    pump = RoomUnit(zone_id="house", **unit)
    made = appliance("pump", 3300, volts=240, name="Heat pump", behaviour=pump)
    one = circuit("c", "main", 1, 3, appliances=(made,))
    house = Zone(id="house", name="House", loss_btuh_per_f=300)
    site = with_parts(normal_only_site(), circuits=(one,), zones=(house,))
    weather = Weather(low_f=low_f, high_f=60, hourly_f=hourly_f)
    run = simulate(site, scenario(span_h=2, weather=weather))
    return [f for f in run.findings if f.code == "heat-pump-flat"]


def test_a_heat_pump_at_one_cop_is_told_in_cold() -> None:
    (note,) = notes(-10, **PUMP)
    assert (note.severity, note.element_id, note.value) == ("note", "pump", -10)
    assert "2.8 W of heat for each watt" in note.text
    assert "down to -10 °F" in note.text
    assert "maker’s points" in note.mend
    assert note.why


@pytest.mark.parametrize(
    ("low_f", "unit"),
    [
        (35, {}),
        (-10, {"ratings": SHEET}),
        (-10, {"cop": 1.0}),
        (-10, {"cop": 29.0}),
        (-10, {"mode": "cool"}),
        (-10, {"off_below_f": 35.0}),
    ],
    ids=["mild", "with points", "element", "furnace blower", "cooling", "off in cold"],
)
def test_where_nothing_is_taken_as_flat_there_is_no_note(low_f: float, unit: Any) -> None:
    assert notes(low_f, **(PUMP | unit)) == []


def test_hours_of_the_weather_count_before_its_low() -> None:
    assert notes(-10, hourly_f=(40.0,) * 24, **PUMP) == []
    (note,) = notes(50, hourly_f=(40.0,) * 23 + (20.0,), **PUMP)
    assert note.value == 20
