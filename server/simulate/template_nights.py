"""How the ready-made outages are built: gales, failures, late fuel, returns, nights."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from server.domain.scenario import Delivery, Scenario, Stop, Weather, Window
from server.domain.site import Site
from server.simulate.asks import Answers
from server.simulate.day_parts import (
    BURNERS,
    OUTAGE_DAY,
    Hours,
    at_hour,
    booked_moves,
    charging,
    events_for,
    hand_windows,
    service_stops,
    starts_alone,
    unused,
    weather_of,
)
from server.simulate.template_days import day_of, season_day

_COLD_DAY: dict[str, Hours] = {
    **dict.fromkeys(BURNERS, (7.0, 18.0)),
    "microwave": (12.25,),
    "coffee-maker": (7.6,),
    "dishwasher": (19.0,),
}
_RETURN: dict[str, Hours] = {**dict.fromkeys(BURNERS, (18.25,)), "microwave": (18.1,)}
_SAW = tuple(9.0 + n * 0.3 for n in range(20))
_WORKSHOP: dict[str, Hours] = {
    "table-saw": _SAW,
    "dust-collector": _SAW[::2],
    "air-compressor": tuple(9.1 + n * 0.4 for n in range(16)),
    "microwave": (12.25,),
}
_QUIET = ((0.0, 2.0), (4.0, 6.0), (9.0, 12.0), (14.0, 17.0), (21.0, 23.0))
"""Hours in which a rationed set stands still: it runs 12 of 24. None is so long that a closed
refrigerator, which keeps four hours, or a house loses much in it."""
RATION_GAP_MIN = 180.0
"""The longest of them. [min]"""


def _winter(site: Site, low: float, high: float, *, sun_share: float = 0.3) -> Weather:
    return weather_of(site.design_low_f + low, swing_f=high - low, sun_share=sun_share)


def _fuel_share(site: Site, answers: Answers) -> float:
    has_tank = any(g.tank is not None for g in site.generators)
    return answers.number("fuel_pct") / 100.0 if has_tank else 1.0


def gale(site: Site, start: date, answers: Answers) -> Scenario:
    """Out from 18:00 for three nights; laundry and stove in turns, the oil looked at in time."""
    day = season_day(start, "gale")
    off = at_hour(day, 18)
    outages = (Window(start=off, end=off + timedelta(hours=72)),)
    events = [*charging(site, at_hour(day + timedelta(days=3), 19))]
    for n in range(1, 4):
        events += events_for(site, day + timedelta(days=n), OUTAGE_DAY)
    first = day + timedelta(days=1)
    return day_of(
        "Three-night gale",
        off - timedelta(hours=6),
        6 + 72 + 12,
        weather=_winter(site, 9, 21, sun_share=0.2),
        pit_inflow_gpm=2.0,
        outages=outages,
        events=events,
        switch_moves=tuple(booked_moves(site, first)),
        hand_windows=tuple(hand_windows(site, outages)),
        generator_stops=tuple(service_stops(site, outages[0])),
        fuel_at_start_share=_fuel_share(site, answers),
        roads="closed",
    )


def no_start(site: Site, start: date, answers: Answers) -> Scenario:
    """Out for 30 h in the cold while the engine does not start, or only after nine hours."""
    day = season_day(start, "no-start")
    off = at_hour(day, 18)
    outages = (Window(start=off, end=off + timedelta(hours=30)),)
    mended = answers.choice("fixed_h") != "never"
    dead = Stop(start=off, end=off + timedelta(hours=9))
    events = [
        event for n in range(3) for event in events_for(site, day + timedelta(days=n), _COLD_DAY)
    ]
    return day_of(
        "Generator won’t start",
        off - timedelta(hours=2),
        2 + 30 + 6,
        weather=_winter(site, -5, 10),
        outages=outages,
        events=events,
        hand_windows=tuple(hand_windows(site, outages)) if mended else (),
        generator="ready" if mended else "fails",
        generator_stops=(dead,) if mended else (),
    )


def _brought(site: Site, off: datetime, answers: Answers) -> tuple[Delivery, ...]:
    """Fuel for the largest tank, and in proportion for each of the others."""
    tanks = {g.id: g.tank.capacity_gal for g in site.generators if g.tank is not None}
    if not tanks:
        return ()
    at, gallons = off + timedelta(hours=answers.number("arrive_h")), answers.number("gallons")
    if len(tanks) == 1:
        return (Delivery(at=at, gallons=gallons),)
    most = max(tanks.values())
    return tuple(
        Delivery(at=at, gallons=round(gallons * gal / most, 1), set_id=set_id)
        for set_id, gal in tanks.items()
    )


def late_fuel(site: Site, start: date, answers: Answers) -> Scenario:
    """Out for four days on part of a tank, the lorry late; the set in turns or day and night."""
    day = season_day(start, "late-fuel")
    off = at_hour(day, 6)
    outages = (Window(start=off, end=off + timedelta(hours=96)),)
    events = [
        event for n in range(4) for event in events_for(site, day + timedelta(days=n), _COLD_DAY)
    ]
    comes = _brought(site, off, answers)
    rationed = answers.choice("ration") == "half"
    stops = [
        Stop(start=at_hour(day + timedelta(days=n), a), end=at_hour(day + timedelta(days=n), b))
        for n in range(5)
        for a, b in _QUIET
    ]
    stops = [w for w in stops if outages[0].start <= w.start and w.end <= outages[0].end]
    return day_of(
        "Late fuel",
        off - timedelta(hours=2),
        2 + 96 + 6,
        weather=_winter(site, -10, 5),
        outages=outages,
        events=events,
        hand_windows=tuple(hand_windows(site, outages)),
        generator_stops=stops if rationed else tuple(service_stops(site, outages[0])),
        fuel_at_start_share=_fuel_share(site, answers),
        deliveries=comes,
    )


def power_returns(site: Site, start: date, answers: Answers) -> Scenario:
    """Out from 08:00 to 18:00 at the edge of the season, then everything together."""
    summer = answers.choice("season") == "summer"
    day = season_day(start, answers.choice("season"))
    back = at_hour(day, 18)
    outages = (Window(start=at_hour(day, 8), end=back),)
    weather = (
        weather_of(site.design_high_f - 20, swing_f=20, sun_share=0.9)
        if summer
        else _winter(site, 0, 12)
    )
    return day_of(
        "Power returns",
        at_hour(day, 7),
        17,
        weather=weather,
        outages=outages,
        events=(*events_for(site, day, _RETURN), *charging(site, back)),
        hand_windows=tuple(hand_windows(site, outages)),
    )


def nobody_home(site: Site, start: date, answers: Answers) -> Scenario:
    """Ten days away; out from the third day to the sixth; nothing is started by anybody."""
    summer = answers.choice("season") == "summer"
    day = season_day(start, answers.choice("season"))
    begin = datetime.combine(day, time())
    outages = (Window(start=at_hour(day, 48 + 14), end=at_hour(day, 120 + 14)),)
    weather = (
        weather_of(site.design_high_f - 18, swing_f=18, sun_share=0.8)
        if summer
        else _winter(site, 0, 15)
    )
    return day_of(
        "Nobody home",
        begin,
        240,
        weather=weather,
        people=0,
        outages=outages,
        generator="ready" if starts_alone(site) else "absent",
        events=tuple(unused(site, begin + timedelta(days=10, hours=18))),
    )


def medical_night(site: Site, start: date, answers: Answers) -> Scenario:
    """A night from 21:00 with two outages, the second while everybody sleeps again."""
    season = answers.choice("season")
    day = season_day(start, season)
    outages = (
        Window(start=at_hour(day, 25 + 1 / 6), end=at_hour(day, 27.5)),
        Window(start=at_hour(day, 28.5), end=at_hour(day, 30.75)),
    )
    weather = (
        weather_of(site.design_high_f - 22, swing_f=15)
        if season == "summer"
        else _winter(site, 5, 18)
    )
    return day_of(
        "Medical night",
        at_hour(day, 21),
        11,
        weather=weather,
        outages=outages,
        hand_windows=tuple(hand_windows(site, outages)),
    )


def workshop_day(site: Site, start: date, _answers: Answers) -> Scenario:
    """Saw, collector and compressor from 09:00 to 16:00, on the set from 11:00 to 15:00."""
    day = season_day(start, "workshop")
    outages = (Window(start=at_hour(day, 11), end=at_hour(day, 15)),)
    return day_of(
        "Workshop day",
        at_hour(day, 8),
        10,
        weather=weather_of(site.design_low_f + 35, swing_f=12),
        outages=outages,
        events=tuple(events_for(site, day, _WORKSHOP)),
        switch_moves=tuple(booked_moves(site, day, days=1, hours=((11.25, 14.75),))),
        hand_windows=tuple(hand_windows(site, outages)),
    )
