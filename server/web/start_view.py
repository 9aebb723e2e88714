"""What the steps of the guided start show: drawings, choices, rooms and their things."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import combinations
from typing import get_args

from server.advise.begin import typical
from server.advise.begin.choices import (
    WAYS,
    Choices,
    Thing,
    Way,
    is_medical,
    is_urgent,
    offered_kinds,
)
from server.advise.begin.cylinders import CYLINDERS, LB_PER_GAL, MOST_FILLED
from server.advise.begin.site import begin_site
from server.domain.catalogue import KINDS, Group, Kind
from server.domain.kind_search import words_of
from server.physics.engine_set import BTU_PER_UNIT
from server.web.drawing.sketch import CARD, Sketch, sketch
from server.web.figures import plain
from server.web.format import duration
from server.web.start_form import HAVE, MUST
from server.web.start_mains import FIRST, OTHER, SECOND
from server.web.words import FUELS, Options

_FIXED_KW = (7.5, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 30, 38, 48)
_PORTABLE_KW = (2, 3, 4, 5, 6, 7.2, 7.5, 8, 9, 10, 12)
_TANKS_GAL = (5, 10, 20, 30, 60, 100, 120, 250, 500, 1000)
_SOLAR_KW = (2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20)
OTHER_SIZE = (OTHER, "another size: write it beside")
DONT_KNOW = "I don’t know"
NO_TANK = ("", f"{DONT_KNOW}: typical for the fuel")


def _cylinders(*, portable: bool) -> Options:
    """Those that can be carried for a portable set, those that stay for one that is fixed."""
    return tuple(
        (one.id, f"{one.words}: {one.liquid_gal:.1f} gal, {plain(round(one.heat_btu, -3))} Btu")
        for one in CYLINDERS.values()
        if one.stays != portable
    )


CYLINDER_FIGURES = (
    f"Cylinders are of propane, full: {LB_PER_GAL:g} lb and {plain(BTU_PER_UNIT['propane'])} Btu "
    f"a gallon, no more than {MOST_FILLED:.0%} of the room in it.".replace("%", " %")
)
"""What the gallons and the heat of a cylinder are worked out with."""


@dataclass(frozen=True)
class Card:
    """One way to feed a house with its drawing."""

    way: Way
    drawing: Sketch


@lru_cache(maxsize=1)
def cards() -> tuple[Card, ...]:
    """The ways to feed a house, each drawn from the house it would make."""
    return tuple(
        Card(way, sketch(begin_site(_example(way), today=date(2026, 1, 1)), CARD))
        for way in WAYS.values()
    )


def _example(way: Way) -> Choices:
    return Choices(way=way.id, name=way.name)


@dataclass(frozen=True)
class SourceOptions:
    """What can be picked on the step of the sources; None where the way has no such thing."""

    service_a: Options
    second_service_a: Options | None
    generator_kw: Options | None
    fuel: Options | None
    tank_gal: Options | None
    changeover: Options | None
    solar: Options


def source_options(way: Way) -> SourceOptions:
    """The choices for this way, “I don’t know” first with what is taken then."""
    usual_set = typical.PORTABLE_SET if way.portable else typical.FIXED_SET
    fuel = typical.usual_fuel(portable=way.portable)
    fuel_words = dict(FUELS)[fuel]
    sets = _PORTABLE_KW if way.portable else _FIXED_KW
    changeovers: Options = (
        ("", f"{DONT_KNOW}: by itself is taken"),
        ("automatic", "by itself, within seconds"),
        ("manual", "by hand, by somebody who is there"),
    )
    return SourceOptions(
        service_a=(*_sized(typical.SERVICE, FIRST.offered_a), OTHER_SIZE),
        second_service_a=(
            (*_sized(typical.SECOND_SERVICE, SECOND.offered_a), OTHER_SIZE)
            if way.second_meter
            else None
        ),
        generator_kw=(*_sized(usual_set, sets), OTHER_SIZE) if way.has_set else None,
        fuel=(("", f"{DONT_KNOW}: {fuel_words} is taken"), *FUELS) if way.has_set else None,
        tank_gal=(
            (NO_TANK, *_cylinders(portable=way.portable), *_amounts(_TANKS_GAL, "gal"))
            if way.has_set
            else None
        ),
        changeover=changeovers if way.has_set and not way.portable else None,
        solar=(
            ("none", "none"),
            ("unknown", f"there is some, size not known: {typical.SOLAR.words}"),
            *_amounts(_SOLAR_KW, "kW"),
        ),
    )


def _sized(usual: typical.Typical, sizes: tuple[float, ...]) -> Options:
    return (("", f"{DONT_KNOW}: {usual.words}"), *_amounts(sizes, usual.unit))


def _amounts(sizes: tuple[float, ...], unit: str) -> Options:
    return tuple((f"{size:g}", f"{plain(size)} {unit}") for size in sizes)


CLIMATES: Options = (
    ("", f"{DONT_KNOW}: cold winters, hot summers"),
    *((climate.id, climate.words) for climate in typical.CLIMATES.values()),
)


_TONS = (
    "Tons are in the model number on the outdoor unit: 24 is 2 tons, 36 is 3, 60 is 5 (thousands "
    "of Btu an hour, 12 to a ton). Not known: tick 3 ton, which is then a guess."
)
_SIZES_TOLD: Mapping[Group, str] = {
    "Heating": _TONS,
    "Cooling and air": _TONS,
    "Water": (
        "Horsepower (hp) is on the plate of a pump, for a well on its control box or in the "
        "driller’s papers. Not known: tick 1 hp, which is then a guess."
    ),
    "Garage and cars": (
        "A charger’s amps are on its plate: at most four fifths of its breaker’s, so 32 A on 40 A. "
        "Not known: tick 32 A, which is then a guess; one that plugs into an ordinary outlet is "
        "the 120 V one."
    ),
}
"""What to take is common practice, no source; four fifths is the code’s for a continuous load."""


@dataclass(frozen=True)
class Room:
    """The things of one room or purpose that can be ticked."""

    name: Group
    kinds: tuple[Kind, ...]

    @property
    def hint(self) -> str:
        """How to tell the size of what is in it, and what to take where nobody can."""
        return _SIZES_TOLD.get(self.name, "")

    @property
    def anchor(self) -> str:
        """Where a link jumps to."""
        return "room-" + self.name.partition(" ")[0].strip(",").lower()


def found_by(kind: Kind) -> str:
    """The words a thing is found by among the others, its room among them.

    >>> found_by(KINDS["refrigerator"])
    'refrigerator fridge icebox kitchen'
    """
    words = (*words_of(kind), (kind.whole_name or "").lower(), kind.group.lower())
    return " ".join(word for word in words if word)


_TAKEN_IF_UNKNOWN = frozenset({"heat-pump", "central-air", "well-pump", "car-charger-32"})
"""Of things that come in several sizes, the one to take for a guess; common practice, no source."""


def tick_words(kind: Kind) -> str:
    """What a thing is called beside its tick.

    >>> tick_words(KINDS["toaster"]), tick_words(KINDS["well-pump"])
    ('Toaster', 'Well pump, 1 hp, or I don’t know its size')
    """
    name = kind.whole_name or kind.name
    return f"{name}, or {DONT_KNOW} its size" if kind.id in _TAKEN_IF_UNKNOWN else name


def watts_of(kind: Kind) -> str:
    """The watts of a thing, of each half where it has two.

    >>> watts_of(KINDS["toaster"]), watts_of(KINDS["range-oven"])
    ('1,100 W', 'oven 4,000 W, four burners 7,000 W')
    """
    halves = [kind, *(other for other in KINDS.values() if other.goes_with == kind.id)]
    if len(halves) == 1:
        return f"{plain(kind.load_w)} W"
    return ", ".join(f"{h.name.rpartition(', ')[2]} {plain(h.load_w)} W" for h in halves)


@lru_cache(maxsize=1)
def rooms() -> tuple[Room, ...]:
    """Every kind that can be ticked, by room: what nearly every house has, then by name."""
    names: tuple[Group, ...] = get_args(Group)
    kinds = sorted(offered_kinds(), key=lambda k: (not k.usual, (k.whole_name or k.name).lower()))
    found = {name: tuple(k for k in kinds if k.group == name) for name in names}
    return tuple(Room(name, kinds) for name, kinds in found.items() if kinds)


_ROOM_HEAD_ROWS = 3
"""Rows of things that the name and the sources of a room take the place of."""


@lru_cache(maxsize=1)
def stacks() -> tuple[tuple[Room, ...], ...]:
    """The rooms in their order, in three stacks of which the tallest is as short as can be.

    Stacks made here spare the browser the balancing of columns, which takes it longer than the
    rest of the page.
    """
    listed = rooms()
    rows = [len(room.kinds) + _ROOM_HEAD_ROWS for room in listed]
    cuts = combinations(range(1, len(listed)), 2)
    first, second = min(
        cuts, key=lambda c: max(sum(rows[: c[0]]), sum(rows[c[0] : c[1]]), sum(rows[c[1] :]))
    )
    return listed[:first], listed[first:second], listed[second:]


ANSWERED_BY: Mapping[str, tuple[str, ...]] = {
    "gas-furnace": ("oil-furnace", "boiler"),
    "sump-pump": ("sewage-pump", "grinder-pump"),
    "gas-water-heater": ("tankless-gas", "water-heater", "water-heater-heat-pump"),
    "oxygen-concentrator": ("ventilator", "dialysis-machine", "sleep-apnea-machine"),
    "heat-lamp": ("heated-waterer",),
}
"""What was ticked already where one of these was, so that its question is not asked again."""

_MAY_BE: Mapping[str, tuple[str, ...]] = {
    "gas-furnace": ANSWERED_BY["gas-furnace"],
    "sump-pump": ANSWERED_BY["sump-pump"],
    "oxygen-concentrator": ANSWERED_BY["oxygen-concentrator"],
    "heat-lamp": ANSWERED_BY["heat-lamp"],
}
"""Which other things the same question may mean, to be ticked each by itself."""


@dataclass(frozen=True)
class Question:
    """What people forget: the question, and the kinds that can be ticked for an answer."""

    text: str
    kinds: tuple[Kind, ...]
    medical: bool


def asked_again(values: Mapping[str, str]) -> tuple[Question, ...]:
    """What people forget and was not ticked; where it may mean several things, which one."""
    ticked = {kind.id for kind in _ticked(values)}
    return tuple(
        Question(kind.prompt, _answers(kind), is_medical(kind))
        for kind in offered_kinds()
        if kind.prompt and ticked.isdisjoint((kind.id, *ANSWERED_BY.get(kind.id, ())))
    )


def _ticked(values: Mapping[str, str]) -> list[Kind]:
    return [kind for kind in offered_kinds() if values.get(f"{HAVE}{kind.id}") == "on"]


def _answers(kind: Kind) -> tuple[Kind, ...]:
    return tuple(KINDS[kind_id] for kind_id in (kind.id, *_MAY_BE.get(kind.id, ())))


@dataclass(frozen=True)
class Weighed:
    """A thing of the house that may or may not be dark in an outage.

    ``must`` is how its tick stands, ``bears`` how long it can wait where it is ticked.
    """

    kind: Kind
    must: bool
    bears: str
    medical: bool


def weighed(values: Mapping[str, str]) -> tuple[tuple[Weighed, ...], tuple[Weighed, ...]]:
    """What an outage can harm, the urgent first, and everything else that is in the house."""
    first: list[Weighed] = []
    rest: list[Weighed] = []
    for kind in _ticked(values):
        said = values.get(f"{MUST}{kind.id}")
        gap_min = Thing(kind_id=kind.id, must=True).gap_min
        one = Weighed(
            kind,
            must=is_urgent(kind) if said is None else said == "on",
            bears="" if gap_min is None else duration(gap_min),
            medical=is_medical(kind),
        )
        harmed = one.must or kind.load_class in {"must_serve", "important"}
        (first if harmed else rest).append(one)
    first.sort(key=lambda w: not is_urgent(w.kind))
    return tuple(first), tuple(rest)
