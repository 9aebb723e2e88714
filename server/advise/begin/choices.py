"""What a newcomer chooses: how the house is fed, its sources, its rooms and what is in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from pydantic import Field, field_validator, model_validator

from server.advise.begin.typical import CLIMATES, PATIENCE
from server.domain.base import Amps, Gallons, Id, Name, OptionalName, Part
from server.domain.catalogue import KINDS, Kind
from server.domain.circuit import BATTERY_MARGIN, LoadClass
from server.domain.supply import Fuel

WayId = Literal[
    "backed-up-panel",
    "backed-up-and-switchable",
    "whole-house",
    "two-meters",
    "two-meters-and-switchable",
    "portable",
    "nothing",
]
WAY_IDS: tuple[WayId, ...] = get_args(WayId)


@dataclass(frozen=True)
class Way:
    """One way to feed a house, in a few words and a sentence for who has it."""

    id: WayId
    name: str
    text: str
    has_set: bool = True
    second_meter: bool = False
    switchable: bool = False
    portable: bool = False


WAYS: dict[WayId, Way] = {
    way.id: way
    for way in (
        Way(
            "backed-up-panel",
            "One meter, a backed-up panel",
            "A transfer switch feeds a second, smaller panel; the rest goes dark with the grid.",
        ),
        Way(
            "backed-up-and-switchable",
            "The same with a switchable panel",
            "A third panel is thrown by hand from the main panel to the backed-up one.",
            switchable=True,
        ),
        Way(
            "whole-house",
            "One meter, the whole house",
            "One transfer switch ahead of the main panel: all or nothing goes over.",
        ),
        Way(
            "two-meters",
            "Two meters, one backed up",
            "One meter feeds a panel without backup, the other a panel behind a transfer switch.",
            second_meter=True,
        ),
        Way(
            "two-meters-and-switchable",
            "Two meters and a switchable panel",
            "The same, with a third panel thrown by hand from one to the other.",
            second_meter=True,
            switchable=True,
        ),
        Way(
            "portable",
            "A portable through an inlet",
            "A set is wheeled out and plugged in; an interlock at the main keeps the grid out.",
            portable=True,
        ),
        Way(
            "nothing",
            "Nothing yet, or I don’t know which",
            "One meter and one panel: what an outage does without a source shows first. A "
            "generator and its switch are added on the supply page once somebody has looked.",
            has_set=False,
        ),
    )
}

MOST_OF_A_KIND = 20
MOST_THINGS = 200
MOST_BATTERY_H = 336
"""Hours of own battery that can be told: the longest scenario. [h]"""


class Thing(Part):
    """So many of a kind of appliance.

    ``must`` says whether it must not go dark in an outage, None where its kind decides;
    ``battery_h`` is how long a battery of its own carries it, None where nobody told. [h]
    """

    kind_id: Id
    count: Annotated[int, Field(ge=1, le=MOST_OF_A_KIND)] = 1
    must: bool | None = None
    battery_h: Annotated[float, Field(ge=0, le=MOST_BATTERY_H)] | None = None

    @field_validator("kind_id")
    @classmethod
    def _is_offered(cls, value: str) -> str:
        kind = KINDS.get(value)
        if kind is None or not offered(kind):
            raise ValueError("This kind of appliance is not known.")
        return value

    @property
    def kind(self) -> Kind:
        """The kind itself."""
        return KINDS[self.kind_id]

    @property
    def load_class(self) -> LoadClass:
        """How urgent it is: what was told, else as its kind is.

        >>> Thing(kind_id="sump-pump", must=False).load_class
        'important'
        """
        if self.must or (self.must is None and is_urgent(self.kind)):
            return "must_serve"
        spared = self.must is False and self.kind.load_class == "must_serve"
        return "important" if spared else self.kind.load_class

    @property
    def battery_min(self) -> float | None:
        """What its own battery carries it for, None where it has none or nobody told. [min]"""
        return self.battery_h * 60.0 if self.battery_h else None

    @property
    def gap_min(self) -> float | None:
        """How long it can commonly be dark where it must not be, None where nothing tells. [min]

        Its own battery divided by 1.5; else what is common for its kind; else, for what is no
        medical device and only this house calls urgent, an hour. Common practice, no source.
        """
        if self.battery_min is not None:
            return self.battery_min / BATTERY_MARGIN
        return PATIENCE.value if self.gap_is_taken else self.kind.gap_min

    @property
    def gap_is_taken(self) -> bool:
        """Whether only this house calls it urgent, and nothing tells how long it can wait."""
        asked = self.kind.load_class != "must_serve" and is_urgent(self.kind)
        urgent = asked if self.must is None else self.must
        return urgent and self.kind.gap_min is None and not is_medical(self.kind)


ROOM_KINDS = frozenset({"kitchen-plugs", "plugs", "bath-plugs", "lighting"})
"""Kinds that follow from the rooms and are not ticked."""


def offered(kind: Kind) -> bool:
    """Whether a kind is ticked: not the other half of one, and not what rooms bring along."""
    return kind.goes_with is None and kind.id not in ROOM_KINDS and kind.group != "Other"


def is_medical(kind: Kind) -> bool:
    """Whether somebody relies on it to live or breathe: it is asked for its own battery."""
    return kind.harm == "medical"


def is_urgent(kind: Kind) -> bool:
    """Whether it must not go dark where nobody said otherwise: all of health is taken so."""
    return kind.load_class == "must_serve" or kind.group == "Health"


def offered_kinds() -> Iterator[Kind]:
    """The kinds that can be ticked, in the catalogue's order."""
    return (kind for kind in KINDS.values() if offered(kind))


class Choices(Part):
    """The choices of a guided start. None is “I don’t know”: a typical value is taken.

    ``tank_gal`` is the room of all of so many ``vessels`` alike.
    """

    way: WayId
    name: Name
    place_name: OptionalName = ""
    climate: str | None = None
    service_a: Annotated[Amps, Field(ge=15)] | None = None
    second_service_a: Annotated[Amps, Field(ge=15)] | None = None
    generator_kw: Annotated[float, Field(ge=1, le=150)] | None = None
    fuel: Fuel | None = None
    tank_gal: Annotated[Gallons, Field(gt=0)] | None = None
    vessels: Annotated[int, Field(ge=1, le=40)] = 1
    changeover: Literal["automatic", "manual"] | None = None
    solar: bool = False
    solar_kw: Annotated[float, Field(ge=0.5, le=100)] | None = None
    floor_area_ft2: Annotated[float, Field(ge=100, le=20_000)] | None = None
    people: Annotated[int, Field(ge=1, le=20)] = 3
    bedrooms: Annotated[int, Field(ge=0, le=12)] = 3
    bathrooms: Annotated[int, Field(ge=0, le=10)] = 2
    things: Annotated[tuple[Thing, ...], Field(max_length=300)] = ()

    @field_validator("climate")
    @classmethod
    def _known_climate(cls, value: str | None) -> str | None:
        if value is not None and value not in CLIMATES:
            raise ValueError("Choose how cold and hot it gets, or “I don’t know”.")
        return value

    @model_validator(mode="after")
    def _not_too_many(self) -> Choices:
        if len({t.kind_id for t in self.things}) < len(self.things):
            raise ValueError("A kind is told once, with how many there are.")
        if sum(t.count for t in self.things) > MOST_THINGS:
            raise ValueError(
                f"At most {MOST_THINGS} things can be begun with; add the rest on Circuits."
            )
        return self
