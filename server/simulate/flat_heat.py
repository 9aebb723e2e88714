"""Heat pumps entered without points of their sheet, in cold that takes heat from a real one."""

from __future__ import annotations

from server.domain.appliance import Appliance
from server.domain.behaviour import RoomUnit
from server.domain.finding import Finding
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.weather import coldest_f

COLD_F = 35.0
"""Below it a pump that takes its heat from the air loses some, and its coil frosts: common
practice, no source."""
_PUMP_COP = (1.2, 10.0)
"""Between an element and the blower of a furnace: common practice, no source."""


def flat_heat_findings(site: Site, scenario: Scenario) -> tuple[Finding, ...]:
    """A note for each heat pump without points that may run outdoors below ``COLD_F``."""
    low_f = coldest_f(scenario.weather)
    return tuple(
        _note(appliance, appliance.behaviour, low_f)
        for circuit in site.circuits
        for appliance in circuit.appliances
        if isinstance(appliance.behaviour, RoomUnit) and _flat(appliance.behaviour, low_f)
    )


def _flat(unit: RoomUnit, low_f: float) -> bool:
    low, high = _PUMP_COP
    pump = unit.mode == "heat" and not unit.ratings and low <= unit.cop <= high
    runs_in_cold = unit.off_below_f is None or unit.off_below_f < COLD_F
    return pump and runs_in_cold and low_f < COLD_F


def _note(appliance: Appliance, unit: RoomUnit, low_f: float) -> Finding:
    return Finding(
        code="heat-pump-flat",
        severity="note",
        element_id=appliance.id,
        text=(
            f"{appliance.name} has no points of its sheet: this run takes {unit.cop:g} W of "
            f"heat for each watt, and full capacity, at every temperature, down to {low_f:.0f} °F. "
            "In cold it gives less, so the house may turn colder, or other heat run longer, than "
            "here."
        ),
        mend=(
            "Enter the maker’s points in the form of the appliance: heat and power at 47, 17 and "
            "5 °F. One that takes its heat from the ground can be left as it is."
        ),
        source="How this run reckons it; AHRI 210/240 rates heating at 47 and 17 °F.",
        value=low_f,
        limit=COLD_F,
        unit="°F",
    )
