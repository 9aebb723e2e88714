"""A day or a fortnight to try the house on. Times are local wall-clock times."""

from __future__ import annotations

import math
import re
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from server.domain.base import Fahrenheit, Gallons, Hours, Id, Minutes, Name, Note, Part, Share
from server.domain.supply import ThrowPosition

GeneratorState = Literal["ready", "fails", "absent"]


_FIRST_YEAR, _LAST_YEAR = 1900, 2200
_MOST_LEAD_H = 14 * 24
_MOST_AGO_H = 24


def _plain(at: datetime) -> datetime:
    if at.tzinfo is not None:
        raise ValueError("Give local wall-clock time, without a time zone.")
    if not _FIRST_YEAR <= at.year <= _LAST_YEAR:
        raise ValueError(f"Give a year from {_FIRST_YEAR} to {_LAST_YEAR}.")
    return at


_DAY_AND_TIME = (
    r"-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
    r"[T ]([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9](\.[0-9]{1,6})?)?$"
)
_WRITTEN = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?")
_ZONE_AT_END = re.compile(r"(Z|[+-][0-9:]{2,5})", re.I)


def _as_written(at: Any) -> Any:
    """Read the one way to write a time, with a time zone for its own refusal."""
    if not isinstance(at, str):
        return at
    written = _WRITTEN.match(at)
    if written is not None and _ZONE_AT_END.fullmatch(at[written.end() :] or "Z"):
        try:
            return datetime.fromisoformat(at)
        except ValueError:
            pass
    raise ValueError("Write a date and time, such as 2026-11-26 17:30.")


def _schema_of(years: str) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "type": "string",
            "description": "Local wall-clock time without a time zone, such as 2026-11-26T17:30, "
            "on a day that its month has.",
            "pattern": f"^({years}){_DAY_AND_TIME}",
        }
    )


LocalTime = Annotated[
    datetime,
    BeforeValidator(_as_written),
    AfterValidator(_plain),
    _schema_of("19[0-9]{2}|2[01][0-9]{2}|2200"),
]


def _with_room_after(at: datetime) -> datetime:
    if at.year >= _LAST_YEAR:
        raise ValueError(f"Give a year from {_FIRST_YEAR} to {_LAST_YEAR - 1}.")
    return at


BeginTime = Annotated[
    LocalTime, AfterValidator(_with_room_after), _schema_of("19[0-9]{2}|2[01][0-9]{2}")
]
"""When a scenario begins: what happens in it and is put off in it stays within the years above."""


class Window(Part):
    """A stretch of local time, start included, end not."""

    start: LocalTime
    end: LocalTime

    @field_validator("end")
    @classmethod
    def _runs_forward(cls, end: datetime, info: ValidationInfo) -> datetime:
        """Refused at the end itself, so that its row is marked among many."""
        start = info.data.get("start")
        if start is not None and end <= start:
            raise ValueError("The end must be later than the start.")
        return end


class Stop(Window):
    """A stretch in which a set is stopped; every set where none is named, as by a bare window."""

    set_id: Id | None = None

    @model_validator(mode="before")
    @classmethod
    def _of_window(cls, given: object) -> object:
        return given.model_dump() if type(given) is Window else given

    def is_of(self, set_id: str) -> bool:
        """Whether it stops this set."""
        return self.set_id in {None, set_id}


class SwitchMove(Part):
    """A double-throw thrown by hand."""

    switch_id: Id
    at: LocalTime
    position: ThrowPosition


class ApplianceEvent(Part):
    """A timed appliance or charger started at a time.

    The events listed for an appliance replace its daily starts in this scenario. ``energy_kwh``
    applies to a charger.
    """

    appliance_id: Id
    at: LocalTime
    energy_kwh: Annotated[float, Field(ge=0, le=300)] | None = None


class HandWindow(Part):
    """A stretch in which a person has a by-hand circuit switched on."""

    circuit_id: Id
    window: Window


class KeptOff(Part):
    """A circuit that people keep off while a generator feeds it, in this scenario alone."""

    circuit_id: Id


class OwnSet(Part):
    """What differs for one set from what a scenario says of every set; None where nothing does."""

    set_id: Id
    state: GeneratorState | None = None
    tries: Annotated[int, Field(ge=1, le=10)] | None = None
    fuel_share: Share | None = None


class Delivery(Part):
    """Fuel that arrives for the tank of a set; so much for the tank of each where none is named."""

    at: LocalTime
    gallons: Gallons
    set_id: Id | None = None


class Weather(Part):
    """Outdoor temperature, as a daily wave or hour by hour; sun as a share of clear sky.

    ``hourly_f`` holds at each hour from the scenario's start, ``hourly_sun_share`` over each hour
    from there on; both are held past their end.
    """

    low_f: Fahrenheit = 35.0
    high_f: Fahrenheit = 55.0
    hottest_hour: Hours = 15.0
    hourly_f: Annotated[tuple[Fahrenheit, ...], Field(max_length=24 * 15)] = ()
    sun_share: Share = 0.6
    hourly_sun_share: Annotated[
        tuple[Annotated[float, Field(ge=0, le=1.5)], ...], Field(max_length=24 * 15)
    ] = ()

    @model_validator(mode="after")
    def _low_below_high(self) -> Weather:
        if self.low_f > self.high_f:
            raise ValueError("The low of the day cannot be above the high.")
        return self


class Scenario(Part):
    """What happens, hour by hour, and to whom.

    ``span_h`` hours are run from ``start`` in steps of ``step_s`` seconds. ``pit_inflow_gpm`` is
    the water into every pit but those of waste, None for each pump's own figure. Sets catch at the
    ``start_tries``-th try of every outage; ``own_sets`` has what differs for one of several.
    ``oil_stop_min`` is how long each set is stopped for its oil whenever its engine has run its
    interval, None where nobody does. With ``roads`` closed no fuel is fetched beside what is
    entered as delivered; nothing that a run works out hangs on it.
    """

    id: Id
    name: Name
    start: BeginTime
    span_h: Annotated[float, Field(gt=0, le=14 * 24)]
    step_s: Annotated[int, Field(ge=10, le=900)] = 60
    proves: Note = ""
    weather: Weather = Weather()
    outages: Annotated[tuple[Window, ...], Field(max_length=40)] = ()
    people: Annotated[int, Field(ge=0, le=200)] | None = None
    pit_inflow_gpm: Annotated[float, Field(ge=0, le=200)] | None = None
    events: Annotated[tuple[ApplianceEvent, ...], Field(max_length=400)] = ()
    switch_moves: Annotated[tuple[SwitchMove, ...], Field(max_length=200)] = ()
    hand_windows: Annotated[tuple[HandWindow, ...], Field(max_length=400)] = ()
    kept_off: Annotated[tuple[KeptOff, ...], Field(max_length=400)] = ()
    generator: GeneratorState = "ready"
    start_tries: Annotated[int, Field(ge=1, le=10)] = 1
    own_sets: Annotated[tuple[OwnSet, ...], Field(max_length=40)] = ()
    generator_stops: Annotated[tuple[Stop, ...], Field(max_length=40)] = ()
    oil_stop_min: Annotated[float, Field(gt=0, le=1_440)] | None = None
    generator_exercise: Annotated[tuple[Window, ...], Field(max_length=40)] = ()
    hand_start_min: Minutes = 15.0
    hand_return_min: Minutes = 20.0
    fuel_at_start_share: Share = 1.0
    deliveries: Annotated[tuple[Delivery, ...], Field(max_length=40)] = ()
    roads: Literal["open", "closed"] = "open"
    seed: Annotated[int, Field(ge=0, lt=2**63)] = 1
    draws: Annotated[int, Field(ge=1, le=10_000)] = 1
    note: Note = ""

    @model_validator(mode="after")
    def _steps_divide(self) -> Scenario:
        if 3600 % self.step_s:
            raise ValueError("The step must divide an hour evenly: 10, 15, 30, 60, 300, 900 s…")
        if self.span_h * 3600 < self.step_s:
            raise ValueError("The span must hold at least one step.")
        ordered = sorted(self.outages, key=lambda w: w.start)
        for before, after in pairwise(ordered):
            if after.start < before.end:
                raise ValueError("Two outages overlap; make them one.")
        named = [one.set_id for one in self.own_sets]
        if len(set(named)) < len(named):
            raise ValueError("A set is listed twice; say what differs for it in one row.")
        return self

    def state_of(self, set_id: str) -> GeneratorState:
        """Whether a set starts."""
        own = self._own(set_id)
        return self.generator if own is None or own.state is None else own.state

    def tries_of(self, set_id: str) -> int:
        """At which try a set catches."""
        own = self._own(set_id)
        return self.start_tries if own is None or own.tries is None else own.tries

    def fuel_share_of(self, set_id: str) -> float:
        """Fuel of a set at the start, of its filled tank."""
        own = self._own(set_id)
        share = None if own is None else own.fuel_share
        return self.fuel_at_start_share if share is None else share

    def stops_of(self, set_id: str) -> tuple[Stop, ...]:
        """Stretches in which a set is stopped, in order."""
        mine = (s for s in self.generator_stops if s.is_of(set_id))
        return tuple(sorted(mine, key=lambda s: s.start))

    def deliveries_to(self, set_id: str) -> tuple[Delivery, ...]:
        """Fuel that arrives for the tank of a set within the run, in order."""
        mine = (d for d in self.deliveries_due if d.set_id in {None, set_id})
        return tuple(sorted(mine, key=lambda d: d.at))

    def _own(self, set_id: str) -> OwnSet | None:
        return next((one for one in self.own_sets if one.set_id == set_id), None)

    def with_every_set(self) -> Scenario:
        """The same with every set starting."""
        own = tuple(o.model_copy(update={"state": None}) for o in self.own_sets)
        return self.model_copy(update={"generator": "ready", "own_sets": own})

    @property
    def end(self) -> datetime:
        """When the last step ends."""
        return self.start + timedelta(hours=self.span_h)

    @property
    def deliveries_due(self) -> tuple[Delivery, ...]:
        """Fuel that arrives within the run; what came before is in the tank as it begins."""
        return tuple(d for d in self.deliveries if self.start <= d.at < self.end)

    @property
    def cut_off(self) -> bool:
        """Whether no fuel can be fetched, the roads being closed."""
        return self.roads == "closed"

    @property
    def dark_before_s(self) -> float:
        """How long the utility has been out when the run begins, 0 where it is there. [s]"""
        begun = [w.start for w in self.whole_outages if w.start < self.start < w.end]
        return (self.start - max(begun)).total_seconds() if begun else 0.0

    def stood_before(self, at: datetime) -> bool:
        """Whether what is first so at a moment was so before the run.

        What is so at the first step of a run that begins inside an outage was.
        """
        first_s = (at - self.start).total_seconds()
        return first_s < 0.0 or (self.dark_before_s > 0.0 and first_s <= self.step_s)

    @property
    def whole_outages(self) -> tuple[Window, ...]:
        """Outages in order, those that touch as one."""
        found: list[Window] = []
        for window in sorted(self.outages, key=lambda w: w.start):
            touches = bool(found) and found[-1].end == window.start
            start = found.pop().start if touches else window.start
            found.append(Window(start=start, end=window.end))
        return tuple(found)

    @property
    def outages_before(self) -> tuple[Window, ...]:
        """Outages whose marks a run begins with, the first in front; the last may go on in it.

        Each ended a day at most before the next began, or the run: by then a house is warm again
        and its tanks are full. Common practice, no source.
        """
        found: list[Window] = []
        next_at = self.start
        for window in reversed(self.whole_outages):
            if window.start >= self.start:
                continue
            if window.end <= next_at - timedelta(hours=_MOST_AGO_H):
                break
            found.append(window)
            next_at = window.start
        return tuple(reversed(found))

    @property
    def lead_s(self) -> float:
        """What is marched before the run from where the first of those outages began. [s]

        In whole minutes, 14 days at most.
        """
        before = self.outages_before
        before_s = (self.start - before[0].start).total_seconds() if before else 0.0
        minutes = math.ceil(before_s / 60.0 - 1e-9)
        return 60.0 * min(minutes, _MOST_LEAD_H * 60)

    @property
    def steps(self) -> int:
        """Number of whole steps."""
        return int(self.span_h * 3600 / self.step_s + 1e-9)
