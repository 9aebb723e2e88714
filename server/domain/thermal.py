"""How water and rooms are heated and cooled, and how they hold it."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import (
    Fahrenheit,
    FigureSource,
    HourlyGallons,
    Hours,
    Id,
    Minutes,
    Name,
    Part,
    Share,
    Watts,
)


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
    deadband_f: Annotated[float, Field(ge=0.01, le=40)] = 8.0
    loss_btuh_per_f: Annotated[float, Field(ge=0, le=100)] = 2.5
    inlet_f: Fahrenheit = 58.0
    room_f: Fahrenheit = 65.0
    cop: Annotated[float, Field(ge=0.5, le=6)] = 1.0
    heat_pump_w: Watts | None = None
    boost_below_f: Annotated[float, Field(ge=0.01, le=100)] = 25.0
    boost_on_set: bool = False
    upper_share: Annotated[float, Field(ge=0.1, le=0.9)] = 0.33
    draw_gal: Annotated[float, Field(ge=0.01, le=100)] = 5.0
    draw_gpm: Annotated[float, Field(ge=0, le=50)] = 2.0
    draws_gal_by_hour: HourlyGallons

    @model_validator(mode="after")
    def _boost_is_below(self) -> Tank:
        if self.heat_pump_w is not None and self.boost_below_f <= self.deadband_f:
            raise ValueError("The element boosts further below the set point than the heat pump.")
        return self


_CLOSEST_RATINGS_F = 1.0


class Rating(Part):
    """One point of a heating or cooling unit's sheet: heat moved for each watt at full speed."""

    outdoor_f: Fahrenheit
    capacity_btuh: Annotated[float, Field(ge=0, le=500_000)]
    cop: Annotated[float, Field(ge=0.5, le=15)]


class RoomUnit(Part):
    """Heats or cools a zone by its thermostat; see ``server.physics.rooms``.

    ``cop`` is heat moved for each watt drawn: 2 to 4 for a heat pump, 1 for strip heat, 20 to 35
    for the blower of a gas furnace, whose burner gives the heat. ``ratings`` replace ``load_w`` and
    ``cop`` by points of the maker's sheet, straight between and beyond them.
    A second-stage unit (strip heat) starts only ``stage_drop_f`` past the set point, and stays off
    while it is warmer outdoors than ``off_above_f``; a heat pump stops below ``off_below_f``.
    Compressors stay off ``min_off_min`` and on ``min_on_min``. ``least_share`` below 1 is a unit of
    variable speed. Between 17 and 38 F outdoors a heat pump defrosts ``defrost_min`` of every
    ``defrost_every_min`` it runs, while strips that ``tempers_defrost`` run.
    A ``fan`` runs with the ``ducted`` units of its zone, which cannot run without it.
    ``own_room_share`` gives a unit a room and thermostat of its own: that share of the zone.

    Typical: minimum times 5 min; heat pump COP about 3.5, 2.5 and 2.0 at 47, 17 and 5 F; cooling
    power up 1 to 1.2 % and capacity down 0.6 % per degree over 95 F: common practice, no source.
    """

    model: Literal["room"] = "room"
    zone_id: Id
    mode: Literal["heat", "cool", "fan"]
    cop: Annotated[float, Field(ge=0.5, le=100)] = 1.0
    ratings: Annotated[tuple[Rating, ...], Field(max_length=8)] = ()
    deadband_f: Annotated[float, Field(ge=0.01, le=10)] = 1.5
    stage_drop_f: Annotated[float, Field(ge=0, le=20)] = 0.0
    min_off_min: Minutes = 0.0
    min_on_min: Minutes = 0.0
    least_share: Annotated[float, Field(ge=0.01, le=1)] = 1.0
    off_above_f: Fahrenheit | None = None
    off_below_f: Fahrenheit | None = None
    on_generator: bool = True
    defrost_every_min: Minutes = 0.0
    defrost_min: Minutes = 6.0
    tempers_defrost: bool = False
    ducted: bool = False
    own_room_share: Share = 0.0

    @model_validator(mode="after")
    def _ratings_differ(self) -> RoomUnit:
        outdoors = sorted(r.outdoor_f for r in self.ratings)
        for low, high in pairwise(outdoors):
            if high - low < _CLOSEST_RATINGS_F:
                raise ValueError("Points of the sheet need outdoor temperatures 1 °F apart.")
        return self


class Zone(Part):
    """A heated or cooled part of the house: one resistance, one heat store.

    C dT/dt = Q - UA (T - T_outdoor), with C = UA * time constant.
    ``gain_btuh`` is the heat of people and things; ``things_share`` of it comes from lamps and
    appliances, and falls with the share of their usual watts that has power.
    ``sun_ft2`` of level ground's sun comes in as heat. From ``setback_from_hour`` to
    ``setback_to_hour`` the set points are the setback's, where given. ``cold_f``, ``hot_f`` and
    ``pipes_f`` are what the harm clock counts to. ``figure_source`` says where its heat
    loss comes from.

    Typical: UA 200 to 800 Btu/h F, time constant 15 to 60 h, fitted to one observed cool-down;
    things 0.6 of 2,500 Btu/h, as four people at rest give about 250 each (from memory, ASHRAE);
    cold 55, hot 90 and pipes 40 F indoors: common practice, no source.
    """

    id: Id
    name: Name
    loss_btuh_per_f: Annotated[float, Field(ge=0.1, le=5_000)]
    time_constant_h: Annotated[float, Field(ge=0.01, le=300)] = 25.0
    gain_btuh: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    things_share: Share = 0.6
    sun_ft2: Annotated[float, Field(ge=0, le=5_000)] = 0.0
    heat_setpoint_f: Fahrenheit = 68.0
    cool_setpoint_f: Fahrenheit = 76.0
    heat_setback_f: Fahrenheit | None = None
    cool_setback_f: Fahrenheit | None = None
    setback_from_hour: Hours = 22.0
    setback_to_hour: Hours = 6.0
    cold_f: Fahrenheit = 55.0
    hot_f: Fahrenheit = 90.0
    pipes_f: Fahrenheit = 40.0
    figure_source: FigureSource = "nameplate"

    @model_validator(mode="after")
    def _order(self) -> Zone:
        heat = [f for f in (self.heat_setpoint_f, self.heat_setback_f) if f is not None]
        cool = [f for f in (self.cool_setpoint_f, self.cool_setback_f) if f is not None]
        if min(cool) <= max(heat):
            raise ValueError("The cooling set point must be warmer than the heating set point.")
        return self
