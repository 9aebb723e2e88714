"""Twelve days to try any house on, under plain names, each with what it proves.

Spans, hours and coincidence are common practice, no source. Weather follows the site's design
temperatures, dates the season's next on or after a given day.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from server.domain.errors import NotFoundError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.asks import Answers, Ask
from server.simulate.day_parts import MOST_EVENTS, drained
from server.simulate.template_days import (
    bright_spring_day,
    full_house,
    holiday,
    line_work,
    season_day,
    shutoff,
)
from server.simulate.template_nights import (
    RATION_GAP_MIN,
    gale,
    late_fuel,
    medical_night,
    no_start,
    nobody_home,
    power_returns,
    workshop_day,
)

_SEASONS = (("winter", "Winter"), ("summer", "Summer"))
_NIGHT = (("no", "Utility on"), ("yes", "Out from 23:00 to 07:00"))


_SEASON_HINT = "Temperatures follow the season of that day; see them once it is made."


def _no_asks(_site: Site, _start: date) -> tuple[Ask, ...]:
    return ()


@dataclass(frozen=True)
class Template:
    """A kind of day.

    ``season`` says when and how long in a few words, ``proves`` what a run of it shows. ``asks``
    are its questions on a site, ``make`` builds it from the answers.
    """

    id: str
    name: str
    season: str
    proves: str
    make: Callable[[Site, date, Answers], Scenario]
    asks: Callable[[Site, date], tuple[Ask, ...]] = _no_asks

    def build(self, site: Site, *, start: date, given: Mapping[str, str] | None = None) -> Scenario:
        """The scenario on this site, no earlier than ``start``.

        Raises
        ------
        SiteFileError   When an answer cannot be read; problems are named by question.
        """
        answers = Answers(self.asks(site, start), given or {})
        made = self.make(site, start, answers)
        told = {e.appliance_id for e in made.events}
        end = made.start + timedelta(hours=made.span_h)
        put_off = [e for e in drained(site, made.weather, end) if e.appliance_id not in told]
        events = (*made.events[: MOST_EVENTS - len(put_off)], *put_off)
        said = {"id": self.id, "name": self.name, "proves": self.proves, "events": events}
        return Scenario.model_validate(made.model_dump() | said)


def _has_tank(site: Site) -> bool:
    return any(g.tank is not None for g in site.generators)


def _fuel(default: str) -> Ask:
    return Ask(
        "fuel_pct",
        "Fuel in the tank when it begins",
        "number",
        default,
        "%",
        "Of what it holds when filled as far as it may be.",
        most=100,
    )


def _season_ask(default: str) -> Ask:
    return Ask("season", "Season", "choice", default, choices=_SEASONS)


def _summer_asks(_site: Site, _start: date) -> tuple[Ask, ...]:
    return (_season_ask("summer"),)


def _winter_asks(_site: Site, _start: date) -> tuple[Ask, ...]:
    return (_season_ask("winter"),)


def _holiday_asks(site: Site, _start: date) -> tuple[Ask, ...]:
    return (
        Ask(
            "people",
            "People in the house",
            "number",
            str(max(10, site.people)),
            hint="With the guests. Hot water follows.",
            most=200,
        ),
        Ask(
            "outage",
            "The evening",
            "choice",
            "no",
            choices=(("no", "Utility on"), ("yes", "Out from 17:00 to 20:00")),
        ),
    )


def _gale_asks(site: Site, _start: date) -> tuple[Ask, ...]:
    return (_fuel("100"),) if _has_tank(site) else ()


def _shutoff_asks(_site: Site, start: date) -> tuple[Ask, ...]:
    return (
        Ask(
            "day",
            "It goes off at 09:00 on",
            "date",
            season_day(start, "shutoff").isoformat(),
            hint=_SEASON_HINT,
        ),
        Ask(
            "patrol_h",
            "Line patrol after the wind, until power is back",
            "number",
            "12",
            "h",
            "Lines are walked by daylight: 6 to 18 h on top of the 48 h told.",
            most=48,
        ),
    )


def _line_asks(_site: Site, start: date) -> tuple[Ask, ...]:
    return (
        Ask(
            "day",
            "Day of the work",
            "date",
            season_day(start, "line-work").isoformat(),
            hint=_SEASON_HINT,
        ),
        Ask("from_hour", "Off from", "number", "8", "h", "The hour of the day.", most=23),
        Ask("hours", "For", "number", "9", "h", least=0.5, most=24),
    )


def _full_house_asks(_site: Site, _start: date) -> tuple[Ask, ...]:
    return (
        Ask("kwh", "Each car needs by 07:00", "number", "30", "kWh", most=150),
        Ask("outage", "The night", "choice", "no", choices=_NIGHT),
    )


def _no_start_asks(_site: Site, _start: date) -> tuple[Ask, ...]:
    return (
        Ask(
            "fixed_h",
            "The engine is mended after",
            "choice",
            "never",
            choices=(("never", "never"), ("9", "nine hours")),
        ),
    )


def _late_fuel_asks(site: Site, _start: date) -> tuple[Ask, ...]:
    tank_gal = max((g.tank.capacity_gal for g in site.generators if g.tank), default=0.0)
    asks = (
        Ask("gallons", "They bring", "number", f"{0.5 * tank_gal:.0f}", "gal", most=5_000),
        Ask("arrive_h", "Promised for hour 36, they come at hour", "number", "72", "h", most=96),
    )
    waits_min = [c.gap_min for c in site.circuits if c.gap_min is not None]
    patient = min(waits_min, default=RATION_GAP_MIN) >= RATION_GAP_MIN
    ration = Ask(
        "ration",
        "The set runs",
        "choice",
        "half" if _has_tank(site) and patient else "all",
        hint="" if patient else "Half leaves up to 3 h dark, longer than something here can wait.",
        choices=(
            ("half", "half the hours: 02–04, 06–09, 12–14, 17–21, 23–24"),
            ("all", "day and night"),
        ),
    )
    return (*((_fuel("45"), *asks) if _has_tank(site) else ()), ration)


TEMPLATES: tuple[Template, ...] = (
    Template(
        "holiday-peak",
        "Holiday peak",
        "November, 12 h",
        "Whether the service and every leg hold while guests cook, bathe and plug in, and who is "
        "on at the worst minute.",
        holiday,
        _holiday_asks,
    ),
    Template(
        "three-night-gale",
        "Three-night gale",
        "January, 72 h out and 12 h after",
        "Whether fuel, the stops for oil and one laundry a day fit while the road is "
        "closed and nothing is delivered.",
        gale,
        _gale_asks,
    ),
    Template(
        "announced-shutoff",
        "Announced shutoff",
        "September, 48 h told and off, and the patrol after",
        "What two days’ notice buys: laundry, car and hot water are done before it goes off; what "
        "is left for the generator, and whether it carries the heat of the day.",
        shutoff,
        _shutoff_asks,
    ),
    Template(
        "planned-line-work",
        "Planned line work",
        "April, one working day",
        "Whether the generator is needed at all when the work is known, or the day can coast on a "
        "full tank and a cold refrigerator.",
        line_work,
        _line_asks,
    ),
    Template(
        "full-house-two-cars",
        "Full house, two cars",
        "December, one night",
        "Whether five showers, the cars and the morning’s heat fit one after another, and which "
        "car has to begin when.",
        full_house,
        _full_house_asks,
    ),
    Template(
        "generator-wont-start",
        "Generator won’t start",
        "February, 30 h out",
        "How many hours there are until each harm: cold, pipes, food, water, medical; what has to "
        "be carried by hand.",
        no_start,
        _no_start_asks,
    ),
    Template(
        "late-fuel",
        "Late fuel",
        "January, 96 h out",
        "Whether the fuel that is there bridges a delivery that comes late, by running the set "
        "only half the hours.",
        late_fuel,
        _late_fuel_asks,
    ),
    Template(
        "bright-spring-day",
        "Bright spring day",
        "May, one day",
        "What it is worth to run the big loads at noon, with the sun, and whether the service "
        "holds while they run together.",
        bright_spring_day,
    ),
    Template(
        "power-returns",
        "Power returns",
        "after 10 h, and 6 h on",
        "Whether the service, not only the generator, holds when every thermostat calls at once "
        "and solar waits to rejoin.",
        power_returns,
        _summer_asks,
    ),
    Template(
        "nobody-home",
        "Nobody home",
        "10 days, out on days 3 to 6",
        "Whether running with nobody there helps or wastes: the freeze guard, the freezer, the "
        "sump, and oil that nobody checks.",
        nobody_home,
        _winter_asks,
    ),
    Template(
        "medical-night",
        "Medical night",
        "one night, out twice",
        "How many seconds the must-serve circuits are dark at each gap, and that they are never "
        "dark longer than they can wait.",
        medical_night,
        _winter_asks,
    ),
    Template(
        "workshop-day",
        "Workshop day",
        "October, 09 to 16, out 11 to 15",
        "Which motor may start while another runs, how far the volts dip, and when work has to "
        "stop.",
        workshop_day,
    ),
)


def template(template_id: str) -> Template:
    """The template with this id.

    Raises
    ------
    NotFoundError   When there is none.
    """
    for one in TEMPLATES:
        if one.id == template_id:
            return one
    raise NotFoundError(f"There is no ready-made scenario {template_id!r}.")
