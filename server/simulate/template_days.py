"""How the ready-made days are built that begin with the utility on or a notice in hand."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

from server.domain.scenario import Scenario, Window
from server.domain.site import Site
from server.simulate.asks import Answers
from server.simulate.day_parts import (
    BURNERS,
    HOLIDAY,
    LINE_WORK,
    OUTAGE_DAY,
    OVENS,
    Hours,
    at_hour,
    booked_moves,
    bounded,
    charging,
    events_for,
    hand_windows,
    next_day,
    nth_weekday,
    on_day,
    service_stops,
    weather_of,
)

_FULL_HOUSE: dict[str, Hours] = {
    **dict.fromkeys(OVENS, (17.5,)),
    **dict.fromkeys(BURNERS, (18.25,)),
    "microwave": (18.5,),
    "dishwasher": (20.0,),
    "washer": (20.5,),
    "dryer": (21.25,),
    "hair-dryer": (21.5, 22.25),
    "coffee-maker": (30.25,),
    "toaster": (30.3,),
}
_SUN_HOURS: dict[str, Hours] = {
    **dict.fromkeys(BURNERS, (12.0, 18.25)),
    "microwave": (12.25,),
    "coffee-maker": (6.75,),
    "washer": (11.0,),
    "dryer": (11.75,),
    "dishwasher": (13.0,),
}


def season_day(start: date, which: str) -> date:
    """The day a template takes where none is asked for."""
    months = {
        "holiday-peak": (11, 3, 4),
        "shutoff": (9, 1, 2),
        "line-work": (4, 2, 2),
        "full-house": (12, 4, 2),
        "spring": (5, 5, 2),
        "gale": (1, 3, 2),
        "no-start": (2, 2, 2),
        "late-fuel": (1, 1, 3),
        "workshop": (10, 5, 2),
        "winter": (1, 2, 3),
        "summer": (7, 2, 3),
    }
    month, weekday, nth = months[which]
    return next_day(start, lambda year: nth_weekday(year, month, weekday=weekday, nth=nth))


def day_of(name: str, start: datetime, span_h: float, **more: Any) -> Scenario:
    """A scenario still without its own id and words."""
    return bounded(**{"id": "made", "name": name, "start": start, "span_h": span_h} | more)


def holiday(site: Site, start: date, answers: Answers) -> Scenario:
    """Guests from noon to midnight; dinner in the oven, and out for it or not."""
    out = answers.choice("outage") == "yes"
    return day_of(
        "Holiday peak",
        **holiday_parts(site, start, people=round(answers.number("people")), out=out),
    )


def holiday_parts(site: Site, start: date, *, people: int, out: bool) -> dict[str, Any]:
    """What a holiday is made of, for any name of it."""
    day = season_day(start, "holiday-peak")
    outages = (Window(start=at_hour(day, 17), end=at_hour(day, 20)),) if out else ()
    return {
        "start": at_hour(day, 12),
        "span_h": 12,
        "weather": weather_of(site.design_low_f + 20, swing_f=13),
        "people": people,
        "outages": outages,
        "events": (*events_for(site, day, HOLIDAY), *charging(site, at_hour(day, 18))),
        "hand_windows": tuple(hand_windows(site, outages)),
    }


def shutoff(site: Site, start: date, answers: Answers) -> Scenario:
    """Two days of making ready, then off for 48 h and the patrol."""
    day = answers.day("day")
    off = at_hour(day, 9)
    back = off + timedelta(hours=48 + answers.number("patrol_h"))
    outages = (Window(start=off, end=back),)
    told, before = day - timedelta(days=2), day - timedelta(days=1)
    out_days = (back.date() - day).days + 1
    away = {"washer", "dryer", "dishwasher"}
    living = {k: v for k, v in OUTAGE_DAY.items() if k not in away}
    events = [
        *events_for(site, told, OUTAGE_DAY),
        *charging(site, at_hour(told, 18)),
        *events_for(site, before, OUTAGE_DAY),
        *charging(site, at_hour(before, 18)),
    ]
    for n in range(out_days):
        events += events_for(site, day + timedelta(days=n), living)
    return day_of(
        "Announced shutoff",
        at_hour(told, 9),
        48 + 48 + answers.number("patrol_h") + 6,
        weather=on_day(
            weather_of(site.design_high_f - 32, swing_f=32, sun_share=0.85),
            site,
            usual=season_day(start, "shutoff"),
            day=day,
        ),
        outages=outages,
        events=events,
        switch_moves=[m for m in booked_moves(site, day, days=out_days) if off < m.at < back],
        hand_windows=tuple(hand_windows(site, outages)),
        generator_stops=tuple(service_stops(site, outages[0])),
    )


def line_work(site: Site, _start: date, answers: Answers) -> Scenario:
    """Off for a working day; what can wait waits, and a set that is started by hand stays in."""
    off = at_hour(answers.day("day"), answers.number("from_hour"))
    return day_of("Planned line work", **line_work_parts(site, off, hours=answers.number("hours")))


def line_work_parts(site: Site, off: datetime, *, hours: float) -> dict[str, Any]:
    """What a day of line work is made of, for any name of it."""
    day = off.date()
    outages = (Window(start=off, end=off + timedelta(hours=hours)),)
    return {
        "start": off - timedelta(hours=3),
        "span_h": hours + 10,
        "weather": on_day(
            weather_of(site.design_low_f + 35, swing_f=18),
            site,
            usual=season_day(day, "line-work"),
            day=day,
        ),
        "outages": outages,
        "events": (
            *events_for(site, day, LINE_WORK),
            *charging(site, max(at_hour(day, 18), outages[0].end)),
        ),
        "hand_windows": tuple(hand_windows(site, outages)),
        "generator": "absent" if started_by_hand(site) else "ready",
    }


def started_by_hand(site: Site) -> bool:
    """Whether every set of the site is started by a person."""
    return bool(site.generators) and all(g.start == "by_hand" for g in site.generators)


def full_house(site: Site, start: date, answers: Answers) -> Scenario:
    """Five and more people, showers and cars through a cold night until 09:00."""
    day = season_day(start, "full-house")
    out = answers.choice("outage") == "yes"
    outages = (Window(start=at_hour(day, 23), end=at_hour(day, 31)),) if out else ()
    cars = charging(site, at_hour(day, 18), energy_kwh=answers.number("kwh"), apart_h=0.5)
    return day_of(
        "Full house, two cars",
        at_hour(day, 16),
        17,
        weather=weather_of(site.design_low_f + 5, swing_f=10, sun_share=0.3),
        people=max(5, site.people),
        outages=outages,
        events=(*events_for(site, day, _FULL_HOUSE), *cars),
        switch_moves=tuple(booked_moves(site, day, days=1, hours=((23.25, 30.5),))) if out else (),
        hand_windows=tuple(hand_windows(site, outages)),
    )


def bright_spring_day(site: Site, start: date, _answers: Answers) -> Scenario:
    """A clear day without heat or cooling to speak of; washing, cooking and cars at noon."""
    day = season_day(start, "spring")
    return day_of(
        "Bright spring day",
        datetime.combine(day, time()),
        24,
        weather=weather_of(site.design_low_f + 33, swing_f=22, sun_share=1.0),
        events=(*events_for(site, day, _SUN_HOURS), *charging(site, at_hour(day, 10.5))),
    )
