"""Rooms and things as circuits: which share a breaker, and how urgent each circuit is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from server.advise.begin.choices import Choices, Thing, is_medical
from server.advise.begin.typical import FLOOR
from server.domain.appliance import Appliance
from server.domain.behaviour import Backed, RoomUnit
from server.domain.catalogue import KINDS, Kind, SharedBy
from server.domain.circuit import LoadClass
from server.domain.edits import free_name, new_id

_RANK: tuple[LoadClass, ...] = ("must_serve", "important", "comfort", "deferrable")
_CONTINUOUS_SHARE = 0.8
_MOST_ON_ONE = 60
_FT2_FOR_LIGHTS = 700.0
_COUNTER_CIRCUITS = 2
_WHOLE = 0.9999
"""What own rooms are shrunk to, within what a run takes for the whole house."""


@dataclass(frozen=True)
class Room:
    """A room whose breakers are shared. Common practice, no source."""

    name: str
    breaker_a: float


ROOMS: dict[SharedBy, Room] = {
    "kitchen": Room("Kitchen counter", 20),
    "laundry": Room("Laundry", 20),
    "bath": Room("Bathroom", 20),
    "living": Room("Living room", 15),
    "bedroom": Room("Bedroom", 15),
    "lights": Room("Lights", 15),
    "garage": Room("Garage", 20),
    "workshop": Room("Workshop", 20),
    "outdoors": Room("Outdoors", 20),
    "barn": Room("Barn", 20),
}


@dataclass(frozen=True)
class Rider:
    """An appliance on a circuit with how urgent it is.

    ``gap_min`` is how long it can commonly be dark, ``battery_min`` what its own battery carries
    it for; None where nothing tells. [min]
    """

    kind: Kind
    appliance: Appliance
    load_class: LoadClass
    gap_min: float | None = None
    battery_min: float | None = None

    @property
    def is_held_to_a_gap(self) -> bool:
        """Whether the verdict holds its circuit to a gap for its sake."""
        return self.load_class == "must_serve" or is_medical(self.kind)


@dataclass(frozen=True)
class Draft:
    """A circuit that has no place yet."""

    name: str
    poles: int
    breaker_a: float
    area: str
    riders: tuple[Rider, ...] = field(default=())
    continuous: bool = False

    @property
    def load_w(self) -> float:
        """Watts of all its riders at once. [W]"""
        return sum(r.appliance.load_w for r in self.riders)

    @property
    def load_class(self) -> LoadClass:
        """The most urgent of its riders."""
        return min((r.load_class for r in self.riders), key=_RANK.index, default="comfort")

    @property
    def gap_min(self) -> float | None:
        """How long its must-serve riders can commonly wait. [min]

        None where one is not told, and where their batteries tell it.
        """
        if self.battery_min is not None:
            return None
        return _least([r.gap_min for r in self._urgent])

    @property
    def battery_min(self) -> float | None:
        """What the own battery of each rider held to a gap bears, None where it has none. [min]"""
        return _least([r.battery_min for r in self.riders if r.is_held_to_a_gap])

    @property
    def _urgent(self) -> list[Rider]:
        return [r for r in self.riders if r.load_class == "must_serve"]

    def takes(self, rider: Rider) -> bool:
        """Whether one more rider stays within the breaker with everything on at once.

        A circuit has one battery, so what is held to a gap shares one only with what has the same.
        """
        if len({r.battery_min for r in (*self.riders, rider) if r.is_held_to_a_gap}) > 1:
            return False
        continuous = self.continuous or rider.kind.continuous
        on = [r.appliance for r in (*self.riders, rider)]
        volt_amps = sum(a.load_w / a.power_factor for a in on)
        allowed = self.breaker_a * 120 * (_CONTINUOUS_SHARE if continuous else 1.0)
        return volt_amps <= allowed and len(self.riders) < _MOST_ON_ONE

    def with_rider(self, rider: Rider) -> Draft:
        """The circuit with one more rider."""
        continuous = self.continuous or rider.kind.continuous
        return replace(self, riders=(*self.riders, rider), continuous=continuous)


def _least(values: list[float | None]) -> float | None:
    """The least of them, None where there is none or one is not known."""
    known = [v for v in values if v is not None]
    return min(known) if known and len(known) == len(values) else None


class _Maker:
    """Gives every appliance an id and a name of its own."""

    def __init__(self, room_share: float) -> None:
        self._ids: set[str] = set()
        self._names: set[str] = set()
        self._room_share = room_share

    def appliance(self, kind: Kind, name: str | None = None) -> Appliance:
        named = free_name(name or short_name(kind), self._names)
        made = kind.appliance(new_id(named, self._ids), named)
        self._ids.add(made.id)
        self._names.add(named)
        behaviour = made.behaviour
        if isinstance(behaviour, RoomUnit) and behaviour.own_room_share:
            share = behaviour.own_room_share * self._room_share
            behaviour = behaviour.model_copy(update={"own_room_share": share})
            made = made.model_copy(update={"behaviour": behaviour})
        return made


def short_name(kind: Kind) -> str:
    """What a thing is called in a house, without its size.

    >>> short_name(KINDS["well-pump"])
    'Well pump'
    """
    return kind.name.partition(",")[0]


def circuits_of(choices: Choices) -> tuple[Draft, ...]:
    """Every circuit of the rooms and things that were chosen, each named once."""
    maker = _Maker(_room_share(choices.things))
    shared = {room: list(_seeds(choices, room, maker)) for room in ROOMS}
    alone: list[Draft] = []
    for thing in choices.things:
        for _ in range(thing.count):
            room = thing.kind.shares
            if room is None:
                alone.append(_own(thing, maker))
            else:
                _put(shared[room], ROOMS[room], _rider(thing, thing.kind, maker))
    found = [draft for drafts in shared.values() for draft in drafts] + alone
    return tuple(_named(found))


def _room_share(things: tuple[Thing, ...]) -> float:
    """What own rooms must shrink by so that they do not make more than the house."""
    shares = (
        t.count * t.kind.behaviour.own_room_share
        for t in things
        if isinstance(t.kind.behaviour, RoomUnit)
    )
    return min(1.0, _WHOLE / max(sum(shares), 1e-9))


def _seeds(choices: Choices, room: SharedBy, maker: _Maker) -> Iterator[Draft]:
    """The circuits that a room has before anything is plugged in."""
    area_ft2 = choices.floor_area_ft2 or FLOOR.value
    counts: dict[SharedBy, tuple[str, int]] = {
        "kitchen": ("kitchen-plugs", _COUNTER_CIRCUITS),
        "bath": ("bath-plugs", choices.bathrooms),
        "living": ("plugs", 1),
        "bedroom": ("plugs", choices.bedrooms),
        "lights": ("lighting", max(1, min(20, round(area_ft2 / _FT2_FOR_LIGHTS)))),
    }
    kind_id, count = counts.get(room, ("", 0))
    names = {"living": "Living room plugs", "bedroom": "Bedroom plugs"}
    for _ in range(count):
        kind = KINDS[kind_id]
        rider = Rider(kind, maker.appliance(kind, names.get(room)), kind.load_class)
        yield _empty(ROOMS[room]).with_rider(rider)


def _empty(room: Room) -> Draft:
    return Draft(room.name, 1, room.breaker_a, room.name)


def _rider(thing: Thing, kind: Kind, maker: _Maker, name: str | None = None) -> Rider:
    """One appliance of a thing, its own kind or the kind's other half."""
    made = maker.appliance(kind, name)
    if isinstance(made.behaviour, Backed) and thing.battery_min is not None:
        told = made.behaviour.model_copy(update={"battery_min": thing.battery_min})
        made = made.model_copy(update={"behaviour": told})
    return Rider(kind, made, thing.load_class, thing.gap_min, thing.battery_min)


def _put(drafts: list[Draft], room: Room, rider: Rider) -> None:
    for i, draft in enumerate(drafts):
        if draft.takes(rider):
            drafts[i] = draft.with_rider(rider)
            return
    fresh = replace(_empty(room), breaker_a=max(room.breaker_a, rider.kind.breaker_a))
    drafts.append(fresh.with_rider(rider))


def _own(thing: Thing, maker: _Maker) -> Draft:
    kind = thing.kind
    halves = [kind, *(other for other in KINDS.values() if other.goes_with == kind.id)]
    name = (kind.whole_name or kind.name).partition(",")[0]
    draft = Draft(name, 2 if kind.volts == 240 else 1, kind.breaker_a, kind.group)
    for half in halves:
        named = half.name if len(halves) > 1 else None
        draft = draft.with_rider(_rider(thing, half, maker, named))
    return replace(draft, breaker_a=max(half.breaker_a for half in halves))


def _named(drafts: list[Draft]) -> Iterator[Draft]:
    taken: set[str] = set()
    for draft in drafts:
        name = free_name(draft.name, taken)
        taken.add(name)
        yield replace(draft, name=name)
