"""How water and rooms are heated and cooled, and how they hold it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import Fahrenheit, HourlyGallons, Id, Minutes, Name, Part, Watts


class Tank(Part):
    """A water heater in two layers; see ``server.physics.water_heater``.

    ``load_w`` is one of its two elements, which never run together. ``upper_share`` of the water
    stands above the upper thermostat. ``draws_gal_by_hour`` is hot water drawn on a usual day; it
    comes in draws of about ``draw_gal`` at ``draw_gpm``, or evenly through each hour where that
    is 0.
    A heat pump of ``heat_pump_w`` gives ``cop`` times its watts and leaves the element as a boost
    for water ``boost_below_f`` under the set point; on a generator only where ``boost_on_set``.
    Where ``cop`` is not 1 and no ``heat_pump_w`` is given, ``load_w`` is the heat pump and there
    is no element.

    Typical: 50 gal, 125 °F set and 58 °F inlet of the federal test (10 CFR 430 subpart B appendix
    E, from memory), deadband 5 to 10 °F, loss 2 to 4 Btu/h °F, elements 4.5 to 5.5 kW, heat pump
    0.4 to 0.6 kW at 2.5 to 3.5: common practice, no source.
    """

    model: Literal["tank"] = "tank"
    gallons: Annotated[float, Field(ge=1, le=1_000)]
    setpoint_f: Fahrenheit = 125.0
    deadband_f: Annotated[float, Field(gt=0, le=40)] = 8.0
    loss_btuh_per_f: Annotated[float, Field(ge=0, le=100)] = 2.5
    inlet_f: Fahrenheit = 58.0
    room_f: Fahrenheit = 65.0
    cop: Annotated[float, Field(ge=0.5, le=6)] = 1.0
    heat_pump_w: Watts | None = None
    boost_below_f: Annotated[float, Field(gt=0, le=100)] = 25.0
    boost_on_set: bool = False
    upper_share: Annotated[float, Field(ge=0.1, le=0.9)] = 0.33
    draw_gal: Annotated[float, Field(gt=0, le=100)] = 5.0
    draw_gpm: Annotated[float, Field(ge=0, le=50)] = 2.0
    draws_gal_by_hour: HourlyGallons

    @model_validator(mode="after")
    def _boost_is_below(self) -> Tank:
        if self.heat_pump_w is not None and self.boost_below_f <= self.deadband_f:
            raise ValueError("The element boosts further below the set point than the heat pump.")
        return self


class RoomUnit(Part):
    """Heats or cools a zone by its thermostat.

    ``cop`` is heat moved for each watt drawn: 2 to 4 for a heat pump, 1 for strip heat, 20 to 35
    for the blower of a gas furnace, whose burner gives the heat.
    A second-stage unit (strip heat) starts only ``stage_drop_f`` past the set point.
    ``min_off_min`` keeps a compressor off after it stops.
    """

    model: Literal["room"] = "room"
    zone_id: Id
    mode: Literal["heat", "cool"]
    cop: Annotated[float, Field(ge=0.5, le=40)] = 1.0
    deadband_f: Annotated[float, Field(gt=0, le=10)] = 1.5
    stage_drop_f: Annotated[float, Field(ge=0, le=20)] = 0.0
    min_off_min: Minutes = 0.0


class Zone(Part):
    """A heated or cooled part of the house: one resistance, one heat store.

    C dT/dt = Q - UA (T - T_outdoor), with C = UA * time constant.
    """

    id: Id
    name: Name
    loss_btuh_per_f: Annotated[float, Field(ge=0.1, le=5_000)]
    time_constant_h: Annotated[float, Field(ge=0.01, le=300)] = 25.0
    gain_btuh: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    heat_setpoint_f: Fahrenheit = 68.0
    cool_setpoint_f: Fahrenheit = 76.0

    @model_validator(mode="after")
    def _order(self) -> Zone:
        if self.cool_setpoint_f <= self.heat_setpoint_f:
            raise ValueError("The cooling set point must be warmer than the heating set point.")
        return self
