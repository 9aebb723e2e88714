"""How an appliance draws its watts over time.

Each model says what the appliance *asks for*; whether it gets it is the supply's business.
``share`` figures are fractions of the appliance's ``load_w``.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from server.domain.base import HourlyShares, Hours, Part, Seconds, Share
from server.domain.lighting import Lighting
from server.domain.stores import Backed, ColdBox, SumpPump, Tub, WellPump
from server.domain.thermal import Rating, RoomUnit, Tank, Zone

Percent = Annotated[float, Field(ge=0, le=100)]
PositiveMinutes = Annotated[float, Field(ge=0.01, le=1_440)]


class Constant(Part):
    """Always on at a share of its rating."""

    model: Literal["constant"] = "constant"
    share: Share = 1.0


OutdoorF = Annotated[float, Field(ge=-60, le=130)]


class Seasonal(Part):
    """Rests unless it is colder outdoors than ``only_below_f`` and warmer than ``only_above_f``.

    None asks nothing of the weather. A season and not a thermostat: what it warms or dries is not
    followed.
    """

    only_below_f: OutdoorF | None = None
    only_above_f: OutdoorF | None = None


class Hourly(Seasonal):
    """A mean share of its rating for each hour of the day, hour 0 first.

    It steps to the next hour's share within ``spread_min`` of the hour, drawn anew each time, so
    that the things of a house do not step together (15 min: common practice, no source). A day's
    mean over the draws stays that of the shares; an hour's leans towards its neighbours by
    ``spread_min`` / 240 of each step beside it. In a scenario with nobody there it stays at its
    lowest hour's (common practice, no source).
    """

    model: Literal["hourly"] = "hourly"
    shares: HourlyShares
    spread_min: Annotated[float, Field(ge=0, le=30)] = 15.0


_CLOSEST_EDGE_F = 1.0


class Cycle(Seasonal):
    """On for about ``on_min``, off for about ``off_min``, starting at a random point.

    Each length is drawn uniformly within ``spread`` of its mean, in continuous time. With
    ``full_at_f`` its share of time on follows the weather: none at the edge of its season, all of
    it from there on, a straight line between, in turns as long as ever.
    """

    model: Literal["cycle"] = "cycle"
    on_min: PositiveMinutes
    off_min: PositiveMinutes
    spread: Annotated[float, Field(ge=0, le=0.9)] = 0.2
    full_at_f: OutdoorF | None = None

    @model_validator(mode="after")
    def _full_lies_in_its_season(self) -> Cycle:
        below, above, full = self.only_below_f, self.only_above_f, self.full_at_f
        if full is None:
            return self
        colder = below is not None and above is None and full <= below - _CLOSEST_EDGE_F
        warmer = above is not None and below is None and full >= above + _CLOSEST_EDGE_F
        if not (colder or warmer):
            raise ValueError(
                "What never rests from some weather on needs one edge of its season, 1 °F or more "
                "before it: colder outdoors than, or warmer outdoors than."
            )
        return self


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


class Week(Part):
    """Days of the week, every one where nothing is said."""

    mon: bool = True
    tue: bool = True
    wed: bool = True
    thu: bool = True
    fri: bool = True
    sat: bool = True
    sun: bool = True

    @property
    def days(self) -> tuple[int, ...]:
        """The days that are ticked, 0 for Monday.

        >>> Week(mon=False, sun=False).days
        (1, 2, 3, 4, 5)
        """
        ticked = (self.mon, self.tue, self.wed, self.thu, self.fri, self.sat, self.sun)
        return tuple(day for day, on in enumerate(ticked) if on)


class Charger(Part):
    """Charges from ``arrive_hour`` until what is wanted is in or the car departs.

    Wanted from the wall: ``energy_kwh``; or, where ``battery_kwh`` is told, what takes the battery
    from ``arrive_pct`` to ``target_pct``, over ``efficiency``. ``setting_a`` is the amps it is set
    to, None for all its watts. ``waits``: it begins as late as it can and still be done by then.
    It leaves on the days of ``leaves`` and comes back at the next ``arrive_hour``; on the others it
    stays plugged in.
    """

    model: Literal["charger"] = "charger"
    energy_kwh: Annotated[float, Field(ge=0, le=300)]
    arrive_hour: Hours = 18.0
    depart_hour: Hours = 7.0
    setting_a: Annotated[float, Field(ge=1, le=100)] | None = None
    battery_kwh: Annotated[float, Field(ge=1, le=300)] | None = None
    arrive_pct: Percent = 40.0
    target_pct: Percent = 80.0
    efficiency: Annotated[float, Field(ge=0.3, le=1)] = 0.9
    waits: bool = False
    leaves: Week = Week()

    @property
    def wall_kwh(self) -> float:
        """Energy wanted from the wall at each arrival. [kWh]

        >>> Charger(energy_kwh=5, battery_kwh=60, arrive_pct=35, target_pct=80).wall_kwh
        30.0
        """
        if self.battery_kwh is None:
            return self.energy_kwh
        wanted = max(0.0, self.target_pct - self.arrive_pct) / 100.0
        return wanted * self.battery_kwh / self.efficiency

    def share(self, *, load_w: float, volts: float) -> float:
        """Share of its watts that its setting leaves, 1 without one.

        >>> Charger(energy_kwh=5, setting_a=16).share(load_w=7680, volts=240)
        0.5
        """
        if self.setting_a is None or load_w <= 0.0:
            return 1.0
        return min(1.0, self.setting_a * volts / load_w)


Behaviour = Annotated[
    Constant
    | Hourly
    | Lighting
    | Cycle
    | Timed
    | Charger
    | Tank
    | RoomUnit
    | ColdBox
    | WellPump
    | SumpPump
    | Tub
    | Backed,
    Field(discriminator="model"),
]

__all__ = [
    "Backed",
    "Behaviour",
    "Charger",
    "ColdBox",
    "Constant",
    "Cycle",
    "DailyStart",
    "Hourly",
    "Lighting",
    "Rating",
    "RoomUnit",
    "Seasonal",
    "Stage",
    "SumpPump",
    "Tank",
    "Timed",
    "Tub",
    "Week",
    "WellPump",
    "Zone",
]
