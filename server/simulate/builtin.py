"""Days to try any house on, built from what the house has.

Hours, people and coincidence are common practice, no source. Weather follows the site's design
temperatures; dates are the season's next on or after a given day.
"""

from __future__ import annotations

from datetime import date, timedelta

from server.domain.scenario import Scenario, Window
from server.domain.site import Site
from server.simulate.day_parts import (
    OUTAGE_DAY,
    OVENS,
    at_hour,
    booked_moves,
    bounded,
    charging,
    events_for,
    hand_windows,
    service_stops,
    weather_of,
)
from server.simulate.template_days import (
    holiday_parts,
    line_work_parts,
    season_day,
    started_by_hand,
)
from server.simulate.templates import template

_GUESTS = 10


def builtin_scenarios(site: Site, *, start: date) -> tuple[Scenario, ...]:
    """Holiday peak, the same with an evening outage, a shutoff, a winter gale, line work.

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
        template("three-night-gale").build(site, start=start),
        _line_work(site, start),
    )


def _holiday(site: Site, start: date, *, outage: bool) -> Scenario:
    proves = (
        "Whether the service and every leg hold while guests cook, bathe and plug in, and who is "
        "on at the worst minute."
    )
    if outage:
        proves = (
            "Whether the generator carries the dinner that is already in the oven, and what "
            "waits until the power is back."
        )
    return bounded(
        id="holiday-peak-evening-outage" if outage else "holiday-peak",
        name="Holiday peak with an evening outage" if outage else "Holiday peak",
        proves=proves,
        **holiday_parts(site, start, people=max(_GUESTS, site.people), out=outage),
    )


def _shutoff(site: Site, start: date) -> Scenario:
    day = season_day(start, "shutoff")
    outages = (Window(start=at_hour(day, 9), end=at_hour(day + timedelta(days=3), 9)),)
    events = list(charging(site, outages[0].end))
    for n in range(3):
        events += events_for(site, day + timedelta(days=n), OUTAGE_DAY)
    events += events_for(site, day + timedelta(days=1), dict.fromkeys(OVENS, (17.6,)))
    return bounded(
        id="three-day-shutoff",
        name="Three-day shutoff",
        start=at_hour(day, 6),
        span_h=84,
        proves=(
            "Whether the house lives three days on its generator in hot weather, with heavy "
            "loads taken in turns, and what comes back all at once when power returns."
        ),
        weather=weather_of(site.design_high_f - 25, swing_f=25, sun_share=0.85),
        outages=outages,
        events=tuple(events),
        switch_moves=tuple(booked_moves(site, day)),
        hand_windows=tuple(hand_windows(site, outages)),
        generator_stops=tuple(service_stops(site, outages[0])),
    )


def _line_work(site: Site, start: date) -> Scenario:
    off = at_hour(season_day(start, "line-work"), 8)
    return bounded(
        id="planned-line-work",
        name="Planned daytime line work",
        proves=(
            "Whether the generator is needed at all when the work is known, or the day can coast "
            "on a full tank and a cold refrigerator."
            + (" The set stays in its shed." if started_by_hand(site) else "")
        ),
        **line_work_parts(site, off, hours=9),
    )
