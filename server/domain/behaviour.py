"""How an appliance draws its watts over time.

Each model says what the appliance *asks for*; whether it gets it is the supply's business.
``share`` figures are fractions of the appliance's ``load_w``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import Fahrenheit, Gallons, Hours, Id, Minutes, Name, Part, Seconds, Share

HourlyShares = Annotated[tuple[Share, ...], Field(min_length=24, max_length=24)]
HourlyGallons = Annotated[tuple[Gallons, ...], Field(min_length=24, max_length=24)]
PositiveMinutes = Annotated[float, Field(ge=0.01, le=1_440)]


class Constant(Part):
    """Always on at a share of its rating."""

    model: Literal["constant"] = "constant"
    share: Share = 1.0


class Hourly(Part):
    """A mean share of its rating for each hour of the day, hour 0 first."""

    model: Literal["hourly"] = "hourly"
    shares: HourlyShares


class Cycle(Part):
    """On for about ``on_min``, off for about ``off_min``, starting at a random point.

    Each length is drawn uniformly within ``spread`` of its mean, in continuous time.
    """

    model: Literal["cycle"] = "cycle"
    on_min: PositiveMinutes
    off_min: PositiveMinutes
    spread: Annotated[float, Field(ge=0, le=0.9)] = 0.2


_SHORTEST_CYCLE_S = 0.1


class Stage(Part):
    """One stage of a timed run: so long, at this share, cycling if both cycle times are given."""

    minutes: PositiveMinutes
    share: Share
    cycle_on_s: Seconds = 0.0
    cycle_off_s: Seconds = 0.0

    @model_validator(mode="after")
    def _cycles_can_be_counted(self) -> Stage:
        for length_s in (self.cycle_on_s, self.cycle_off_s):
            if 0.0 < length_s < _SHORTEST_CYCLE_S:
                raise ValueError("A cycle time is 0 (no cycling) or at least 0.1 s.")
        return self


class DailyStart(Part):
    """A habit: starts near this hour on a share of days, give or take ``spread_min``."""

    hour: Hours
    chance: Share = 1.0
    spread_min: Annotated[float, Field(ge=0, le=360)] = 0.0


class Timed(Part):
    """Runs through its stages at its daily starts, or at the scenario's events for it."""

    model: Literal["timed"] = "timed"
    stages: Annotated[tuple[Stage, ...], Field(min_length=1, max_length=24)]
    starts: Annotated[tuple[DailyStart, ...], Field(max_length=24)] = ()


class Charger(Part):
    """Charges from ``arrive_hour`` until ``energy_kwh`` from the wall is in or it departs."""

    model: Literal["charger"] = "charger"
    energy_kwh: Annotated[float, Field(ge=0, le=300)]
    arrive_hour: Hours = 18.0
    depart_hour: Hours = 7.0


class Tank(Part):
    """A stirred water heater with a thermostat.

    m c dT/dt = P - UA (T - T_room) - draw c (T - T_inlet)
    """

    model: Literal["tank"] = "tank"
    gallons: Annotated[float, Field(ge=1, le=1_000)]
    setpoint_f: Fahrenheit = 125.0
    deadband_f: Annotated[float, Field(gt=0, le=40)] = 8.0
    loss_btuh_per_f: Annotated[float, Field(ge=0, le=100)] = 2.5
    inlet_f: Fahrenheit = 58.0
    room_f: Fahrenheit = 65.0
    cop: Annotated[float, Field(ge=0.5, le=6)] = 1.0
    draws_gal_by_hour: HourlyGallons


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


Behaviour = Annotated[
    Constant | Hourly | Cycle | Timed | Charger | Tank | RoomUnit, Field(discriminator="model")
]


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
