"""Days to try any house on, built from what the house has.

Hours, people and coincidence are common practice, no source. Weather follows the site's design
temperatures; dates are the season's next on or after a given day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime, time, timedelta

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.scenario import (
    ApplianceEvent,
    HandWindow,
    Scenario,
    SwitchMove,
    Weather,
    Window,
)
from server.domain.site import Site

Hours = tuple[float, ...]

_OVENS = frozenset({"range-oven", "wall-oven"})
_BURNERS = frozenset({"range-burners", "cooktop", "induction-cooktop"})
_GUESTS = 10

_HOLIDAY: dict[str, Hours] = {
    **dict.fromkeys(_OVENS, (15.0, 16.0, 17.0)),
    **dict.fromkeys(_BURNERS, (18.0, 18.45)),
    "microwave": (17.75, 18.5),
    "coffee-maker": (19.5,),
    "warming-tray": (17.0,),
    "dishwasher": (19.0, 20.5),
    "disposer": (18.75,),
}
_OUTAGE_DAY: dict[str, Hours] = {
    **dict.fromkeys(_BURNERS, (7.0, 18.0)),
    "microwave": (12.25,),
    "coffee-maker": (6.75,),
    "washer": (10.0,),
    "dryer": (10.75,),
    "dishwasher": (19.0,),
}
_LINE_WORK: dict[str, Hours] = {
    **dict.fromkeys(_OVENS, (17.5,)),
    **dict.fromkeys(_BURNERS, (7.0, 18.25)),
    "microwave": (12.25,),
    "coffee-maker": (6.75,),
    "washer": (17.75,),
    "dryer": (18.5,),
    "dishwasher": (20.0,),
}
_THROW_HOURS = ((10.0, 12.0), (17.5, 20.0))
_HAND_HOURS: tuple[tuple[frozenset[str], tuple[tuple[float, float], ...]], ...] = (
    (_BURNERS | _OVENS, ((6.75, 7.75), (17.5, 19.0))),
    (frozenset({"water-heater", "water-heater-heat-pump"}), ((5.0, 6.5), (20.0, 22.0))),
    (frozenset({"washer", "dryer", "gas-dryer", "heat-pump-dryer"}), ((10.0, 12.0),)),
    (frozenset({"microwave", "kitchen-plugs", "dishwasher"}), ((6.75, 8.0), (12.0, 13.0))),
)
_HAND_OTHERWISE = ((6.5, 8.5), (19.0, 22.0))


def builtin_scenarios(site: Site, *, start: date) -> tuple[Scenario, ...]:
    """Holiday peak, the same with an evening outage, a three-day shutoff, planned line work.

    Parameters
    ----------
    site : Site    Its appliances' kinds decide what is started when.
    start : date   No scenario begins before this day.

    Returns
    -------
    tuple of Scenario   Each with what it proves. Times are local.
    """
    return (
        _holiday(site, start, outage=False),
        _holiday(site, start, outage=True),
        _shutoff(site, start),
        _line_work(site, start),
    )


def _holiday(site: Site, start: date, *, outage: bool) -> Scenario:
    day = _next(start, lambda year: _nth_weekday(year, 11, weekday=3, nth=4))
    outages = (Window(start=_at(day, 17), end=_at(day, 20)),) if outage else ()
    events = (*_events(site, day, _HOLIDAY), *_charging(site, _at(day, 18)))
    proves = (
        "Whether the service and every leg hold while guests cook, bathe and plug in, and who is "
        "on at the worst minute."
    )
    if outage:
        proves = (
            "Whether the generator carries the dinner that is already in the oven, and what "
            "waits until the power is back."
        )
    return Scenario(
        id="holiday-peak-evening-outage" if outage else "holiday-peak",
        name="Holiday peak with an evening outage" if outage else "Holiday peak",
        start=_at(day, 12),
        span_h=12,
        proves=proves,
        weather=_weather(site.design_low_f + 20, swing_f=13),
        people=max(_GUESTS, site.people),
        outages=outages,
        events=events,
        hand_windows=tuple(_hand_windows(site, outages)),
    )


def _shutoff(site: Site, start: date) -> Scenario:
    day = _next(start, lambda year: _nth_weekday(year, 9, weekday=1, nth=2))
    outages = (Window(start=_at(day, 9), end=_at(day + timedelta(days=3), 9)),)
    events = list(_charging(site, _at(day + timedelta(days=3), 18)))
    for n in range(3):
        events += _events(site, day + timedelta(days=n), _OUTAGE_DAY)
    events += _events(site, day + timedelta(days=1), dict.fromkeys(_OVENS, (17.6,)))
    return Scenario(
        id="three-day-shutoff",
        name="Three-day shutoff",
        start=_at(day, 6),
        span_h=84,
        proves=(
            "Whether the house lives three days on its generator in hot weather, with heavy "
            "loads taken in turns, and what comes back all at once when power returns."
        ),
        weather=_weather(site.design_high_f - 25, swing_f=25, sun_share=0.85),
        outages=outages,
        events=tuple(events),
        switch_moves=tuple(_booked_moves(site, day)),
        hand_windows=tuple(_hand_windows(site, outages)),
        generator_stops=tuple(_service_stops(site, day)),
    )


def _line_work(site: Site, start: date) -> Scenario:
    day = _next(start, lambda year: _nth_weekday(year, 4, weekday=2, nth=2))
    outages = (Window(start=_at(day, 8), end=_at(day, 17)),)
    by_hand = bool(site.generators) and all(g.start == "by_hand" for g in site.generators)
    return Scenario(
        id="planned-line-work",
        name="Planned daytime line work",
        start=_at(day, 5),
        span_h=19,
        proves=(
            "Whether the generator is needed at all when the work is known, or the day can coast "
            "on a full tank and a cold refrigerator."
            + (" The set stays in its shed." if by_hand else "")
        ),
        weather=_weather(site.design_low_f + 35, swing_f=18),
        outages=outages,
        events=(*_events(site, day, _LINE_WORK), *_charging(site, _at(day, 18))),
        hand_windows=tuple(_hand_windows(site, outages)),
        generator="absent" if by_hand else "ready",
    )


def _weather(low_f: float, *, swing_f: float, sun_share: float = 0.6) -> Weather:
    return Weather(low_f=low_f, high_f=low_f + swing_f, sun_share=sun_share)


def _appliances(site: Site) -> Iterator[Appliance]:
    for circuit in site.circuits:
        yield from circuit.appliances


def _events(site: Site, day: date, hours_of: dict[str, Hours]) -> Iterator[ApplianceEvent]:
    """Starts for each timed appliance whose kind is listed. The second of a kind waits 20 min."""
    seen: dict[str, int] = {}
    for appliance in _appliances(site):
        hours = hours_of.get(appliance.kind)
        if hours is None or appliance.behaviour.model != "timed":
            continue
        late_h = seen.get(appliance.kind, 0) / 3
        seen[appliance.kind] = seen.get(appliance.kind, 0) + 1
        for hour in hours:
            yield ApplianceEvent(appliance_id=appliance.id, at=_at(day, hour + late_h))


def _charging(site: Site, at: datetime) -> Iterator[ApplianceEvent]:
    for appliance in _appliances(site):
        if appliance.behaviour.model == "charger":
            yield ApplianceEvent(appliance_id=appliance.id, at=at)


def _booked_moves(site: Site, day: date) -> Iterator[SwitchMove]:
    """Two booked windows a day on backed-up, for switches that rest on normal."""
    for throw in site.double_throws:
        if throw.resting != "normal":
            continue
        for n in range(3):
            for first, last in _THROW_HOURS:
                for hour, position in ((first, "backed_up"), (last, "normal")):
                    at = _at(day + timedelta(days=n), hour)
                    yield SwitchMove.model_validate(
                        {"switch_id": throw.id, "at": at, "position": position}
                    )


def _hand_windows(site: Site, outages: tuple[Window, ...]) -> Iterator[HandWindow]:
    for circuit in site.circuits:
        if circuit.outage_role == "by_hand":
            for window in _within(outages, _hand_hours(circuit)):
                yield HandWindow(circuit_id=circuit.id, window=window)


def _hand_hours(circuit: Circuit) -> tuple[tuple[float, float], ...]:
    kinds = {a.kind for a in circuit.appliances}
    for listed, hours in _HAND_HOURS:
        if kinds & listed:
            return hours
    return _HAND_OTHERWISE


def _within(
    outages: tuple[Window, ...], hours: tuple[tuple[float, float], ...]
) -> Iterator[Window]:
    """Daily hours, cut to the outages."""
    for outage in outages:
        for n in range((outage.end.date() - outage.start.date()).days + 1):
            day = outage.start.date() + timedelta(days=n)
            for first, last in hours:
                begin = max(_at(day, first), outage.start)
                end = min(_at(day, last), outage.end)
                if begin < end:
                    yield Window(start=begin, end=end)


def _service_stops(site: Site, day: date) -> Iterator[Window]:
    """Refuelling a portable three times a day; an oil check of a fixed set once a day."""
    portable = any(g.portable for g in site.generators)
    hours, minutes = ((6.5, 14.5, 22.5), 20) if portable else ((13.0,), 30)
    for n in range(3):
        for hour in hours:
            at = _at(day + timedelta(days=n), hour)
            if at > _at(day, 12):
                yield Window(start=at, end=at + timedelta(minutes=minutes))


def _at(day: date, hour: float) -> datetime:
    return datetime.combine(day, time()) + timedelta(minutes=round(hour * 60))


def _nth_weekday(year: int, month: int, *, weekday: int, nth: int) -> date:
    """The nth weekday (Monday is 0) of a month."""
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (nth - 1))


def _next(start: date, day_of: Callable[[int], date]) -> date:
    """The first such day on or after ``start``."""
    this_year = day_of(start.year)
    return this_year if this_year >= start else day_of(start.year + 1)
