"""What days are made of: hours, weather and windows that fit the house at hand.

Hours and coincidence are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from server.domain.appliance import Appliance
from server.domain.base import COLDEST_F, HOTTEST_F
from server.domain.behaviour import RoomUnit
from server.domain.circuit import Circuit
from server.domain.scenario import (
    ApplianceEvent,
    HandWindow,
    Scenario,
    Stop,
    SwitchMove,
    Weather,
    Window,
)
from server.domain.site import Site
from server.domain.supply import Generator

Hours = tuple[float, ...]

OVENS = frozenset({"range-oven", "wall-oven"})
DRAINED = frozenset({"irrigation-pump"})
FREEZES_F = 32.0
BURNERS = frozenset({"range-burners", "cooktop", "induction-cooktop"})

HOLIDAY: dict[str, Hours] = {
    **dict.fromkeys(OVENS, (15.0, 16.0, 17.0)),
    **dict.fromkeys(BURNERS, (18.0, 18.45)),
    "microwave": (17.75, 18.5),
    "coffee-maker": (19.5,),
    "warming-tray": (17.0,),
    "dishwasher": (19.0, 20.5),
    "disposer": (18.75,),
}
# Laundry some minutes after a switch is thrown at 10:00, coffee after the stop of a portable: what
# is started in the seconds without power is not started.
OUTAGE_DAY: dict[str, Hours] = {
    **dict.fromkeys(BURNERS, (7.0, 18.0)),
    "microwave": (12.25,),
    "coffee-maker": (7.6,),
    "washer": (10.1,),
    "dryer": (10.85,),
    "dishwasher": (19.0,),
}
LINE_WORK: dict[str, Hours] = {
    **dict.fromkeys(OVENS, (17.5,)),
    **dict.fromkeys(BURNERS, (7.0, 18.25)),
    "microwave": (12.25,),
    "coffee-maker": (6.75,),
    "washer": (17.75,),
    "dryer": (18.5,),
    "dishwasher": (20.0,),
}
_THROW_HOURS = ((10.0, 12.0), (17.5, 20.0))
_HAND_HOURS: tuple[tuple[frozenset[str], tuple[tuple[float, float], ...]], ...] = (
    (BURNERS | OVENS, ((6.75, 7.75), (17.5, 19.0))),
    (frozenset({"water-heater", "water-heater-heat-pump"}), ((5.0, 6.5), (20.0, 22.0))),
    (frozenset({"washer", "dryer", "gas-dryer", "heat-pump-dryer"}), ((10.0, 12.0),)),
    (frozenset({"microwave", "kitchen-plugs", "dishwasher"}), ((6.75, 8.0), (12.0, 13.0))),
)
_LISTS = {"events": "starts", "hand_windows": "by-hand windows", "switch_moves": "throws"}
_HAND_OTHERWISE = ((6.5, 8.5), (19.0, 22.0))
_COOL_HOURS = ((13.0, 17.0), (19.0, 22.0))
"""The heat of the day, then off while dinner is cooked, then the evening."""
_COLDEST_DAY = 20
_RUN_BEFORE_A_STOP = timedelta(hours=1)


def weather_of(low_f: float, *, swing_f: float, sun_share: float = 0.6) -> Weather:
    """A daily wave from ``low_f`` up by ``swing_f``, inside what can be entered."""
    low, high = (min(max(f, COLDEST_F), HOTTEST_F) for f in (low_f, low_f + swing_f))
    return Weather(low_f=low, high_f=high, sun_share=sun_share)


def on_day(weather: Weather, site: Site, *, usual: date, day: date) -> Weather:
    """Weather meant for the ``usual`` day, made warmer or colder as the season of ``day`` is.

    A day's mean goes through the year in a cosine from 7 °F over the design low around 20 January
    to 9 °F under the design high half a year on, the means of a cold and a hot day of the other
    ready-made days; south of the equator the other way round. Common practice, no source.
    """
    half_f = (site.design_high_f - 9.0 - site.design_low_f - 7.0) / 2.0
    if site.place.latitude_deg < 0.0:
        half_f = -half_f
    shift_f = half_f * (_coldness(usual) - _coldness(day))
    return weather_of(
        round(weather.low_f + shift_f),
        swing_f=weather.high_f - weather.low_f,
        sun_share=weather.sun_share,
    )


def _coldness(day: date) -> float:
    """1 on the coldest day of the year, -1 on the warmest."""
    return math.cos(2.0 * math.pi * (day.timetuple().tm_yday - _COLDEST_DAY) / 365.0)


def bounded(**fields: Any) -> Scenario:
    """A scenario whose lists are cut to what one can hold, and says so."""
    cut = []
    for name, words in _LISTS.items():
        most = _most(name)
        if len(fields.get(name, ())) > most:
            fields[name] = fields[name][:most]
            cut.append(f"only the first {most} {words}")
    if cut:
        said = f"A scenario holds {' and '.join(cut)}; the others are left out."
        fields["note"] = f"{fields.get('note', '')} {said}".strip()
    return Scenario.model_validate(fields)


def _most(name: str) -> int:
    """How many a list of a scenario holds."""
    return int(next(m.max_length for m in Scenario.model_fields[name].metadata))


MOST_EVENTS = _most("events")


def appliances_of(site: Site) -> Iterator[Appliance]:
    """Every appliance of the site."""
    for circuit in site.circuits:
        yield from circuit.appliances


def events_for(site: Site, day: date, hours_of: dict[str, Hours]) -> Iterator[ApplianceEvent]:
    """Starts for each timed appliance whose kind is listed. The second of a kind waits 20 min."""
    seen: dict[str, int] = {}
    for appliance in appliances_of(site):
        hours = hours_of.get(appliance.kind)
        if hours is None or appliance.behaviour.model != "timed":
            continue
        late_h = seen.get(appliance.kind, 0) / 3
        seen[appliance.kind] = seen.get(appliance.kind, 0) + 1
        for hour in hours:
            yield ApplianceEvent(appliance_id=appliance.id, at=at_hour(day, hour + late_h))


def charging(
    site: Site, at: datetime, *, energy_kwh: float | None = None, apart_h: float = 0.0
) -> Iterator[ApplianceEvent]:
    """Every car plugged in, each ``apart_h`` after the one before it."""
    chargers = [a for a in appliances_of(site) if a.behaviour.model == "charger"]
    for n, appliance in enumerate(chargers):
        yield ApplianceEvent(
            appliance_id=appliance.id, at=at + timedelta(hours=n * apart_h), energy_kwh=energy_kwh
        )


def starts_alone(site: Site) -> bool:
    """Whether a set starts and takes the house with nobody there."""
    starts = any(g.start == "automatic" for g in site.generators)
    return starts and any(t.kind == "automatic" for t in site.transfer_switches)


def unused(site: Site, home: datetime) -> Iterator[ApplianceEvent]:
    """Whatever people start by themselves, not before they are ``home``."""
    for appliance in appliances_of(site):
        if appliance.behaviour.model in {"timed", "charger"}:
            yield ApplianceEvent(appliance_id=appliance.id, at=home)


def drained(site: Site, weather: Weather, end: datetime) -> Iterator[ApplianceEvent]:
    """What stands drained while it freezes, put off until the ``end`` of the scenario.

    Irrigation is drained before the first frost: common practice, no source.
    """
    low_f = min(weather.hourly_f) if weather.hourly_f else weather.low_f
    for appliance in appliances_of(site):
        if low_f <= FREEZES_F and appliance.kind in DRAINED:
            yield ApplianceEvent(appliance_id=appliance.id, at=end)


def booked_moves(
    site: Site,
    day: date,
    *,
    days: int = 3,
    hours: tuple[tuple[float, float], ...] = _THROW_HOURS,
) -> Iterator[SwitchMove]:
    """Booked windows a day on backed-up, two unless given, for switches that rest on normal."""
    for throw in site.double_throws:
        if throw.resting != "normal":
            continue
        for n in range(days):
            for first, last in hours:
                for hour, position in ((first, "backed_up"), (last, "normal")):
                    at = at_hour(day + timedelta(days=n), hour)
                    yield SwitchMove.model_validate(
                        {"switch_id": throw.id, "at": at, "position": position}
                    )


def hand_windows(site: Site, outages: tuple[Window, ...]) -> Iterator[HandWindow]:
    """When by-hand circuits are switched on, inside the outages."""
    for circuit in site.circuits:
        if circuit.outage_role == "by_hand":
            for window in _within(outages, _hand_hours(circuit)):
                yield HandWindow(circuit_id=circuit.id, window=window)


def _hand_hours(circuit: Circuit) -> tuple[tuple[float, float], ...]:
    kinds = {a.kind for a in circuit.appliances}
    for listed, hours in _HAND_HOURS:
        if kinds & listed:
            return hours
    modes = {a.behaviour.mode for a in circuit.appliances if isinstance(a.behaviour, RoomUnit)}
    if "cool" in modes:
        return _COOL_HOURS if modes == {"cool"} else (_HAND_OTHERWISE[0], *_COOL_HOURS)
    return _HAND_OTHERWISE


def _within(
    outages: tuple[Window, ...], hours: tuple[tuple[float, float], ...]
) -> Iterator[Window]:
    """Daily hours, cut to the outages."""
    for outage in outages:
        for n in range((outage.end.date() - outage.start.date()).days + 1):
            day = outage.start.date() + timedelta(days=n)
            for first, last in hours:
                begin = max(at_hour(day, first), outage.start)
                end = min(at_hour(day, last), outage.end)
                if begin < end:
                    yield Window(start=begin, end=end)


def service_stops(site: Site, outage: Window) -> Iterator[Stop]:
    """Refuelling a portable every eight hours; a fixed set stopped for its oil by its own hours.

    Sets that are stopped alike are stopped together.
    """
    ways = {(g.portable, None if g.portable else g.oil_check_h) for g in site.generators}
    if len(ways) <= 1:
        yield from _stops_of(site.generators, outage, None)
        return
    for generator in site.generators:
        yield from _stops_of((generator,), outage, generator.id)


def _stops_of(sets: tuple[Generator, ...], outage: Window, set_id: str | None) -> Iterator[Stop]:
    """Stops from the first hour on at which a set has run for an hour, while the outage lasts.

    No stop of a portable comes later than eight hours after its start, or nine where one is so
    early.
    """
    if not any(g.portable for g in sets):
        yield from _oil_stops(sets, outage, set_id)
        return
    hours, minutes = (6.5, 14.5, 22.5), 20
    for n in range((outage.end.date() - outage.start.date()).days + 1):
        for hour in hours:
            at = at_hour(outage.start.date() + timedelta(days=n), hour)
            stop = Stop(start=at, end=at + timedelta(minutes=minutes), set_id=set_id)
            if at >= outage.start + _RUN_BEFORE_A_STOP and stop.end < outage.end:
                yield stop


def _oil_stops(sets: tuple[Generator, ...], outage: Window, set_id: str | None) -> Iterator[Stop]:
    """Stops at 13:00, the last of them that the oil hours allow; by those hours where under 24.

    24 h where none are told: common practice, no source.
    """
    every_h = min((g.oil_check_h for g in sets if g.oil_check_h), default=24.0)
    last = outage.start
    while True:
        due = last + timedelta(hours=max(every_h, 1.0))
        early = at_hour(due.date(), 13.0)
        early -= timedelta(days=1) if early > due else timedelta()
        at = early if early >= last + _RUN_BEFORE_A_STOP and every_h >= 24.0 else due
        stop = Stop(start=at, end=at + timedelta(minutes=30), set_id=set_id)
        if stop.end >= outage.end:
            return
        yield stop
        last = stop.end


def at_hour(day: date, hour: float) -> datetime:
    """An hour of a day; past 24 it is the next."""
    return datetime.combine(day, time()) + timedelta(minutes=round(hour * 60))


def nth_weekday(year: int, month: int, *, weekday: int, nth: int) -> date:
    """The nth weekday (Monday is 0) of a month."""
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (nth - 1))


def next_day(start: date, day_of: Callable[[int], date]) -> date:
    """The first such day on or after ``start``."""
    this_year = day_of(start.year)
    return this_year if this_year >= start else day_of(start.year + 1)
