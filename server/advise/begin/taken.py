"""Which typical values were taken, because a person did not know."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.advise.begin import typical
from server.advise.begin.choices import WAYS, Choices, is_medical
from server.advise.begin.typical import Typical
from server.domain.behaviour import RoomUnit


def typicals_taken(choices: Choices) -> tuple[Typical, ...]:
    """Every typical value these choices fall back on, in the order they are asked for.

    >>> [t.name for t in typicals_taken(Choices(way="nothing", name="x", service_a=200))]
    ['Floor area', 'Heat loss']
    """
    return tuple(_taken(choices))


@dataclass(frozen=True)
class Assumed:
    """Something other than a figure that was taken because nobody told it."""

    name: str
    words: str
    source: str


def assumed(choices: Choices) -> tuple[Assumed, ...]:
    """Every choice these choices leave open and what was taken for it.

    >>> [f"{a.name}: {a.words}" for a in assumed(Choices(way="portable", name="x"))]
    ['Fuel: gasoline', 'Climate: Cold winters, hot summers: 15 to 95 °F']
    """
    return tuple(_assumed(choices))


def _assumed(choices: Choices) -> Iterator[Assumed]:
    way = WAYS[choices.way]
    if way.has_set and choices.fuel is None:
        fuel = typical.usual_fuel(portable=way.portable)
        yield Assumed("Fuel", fuel.replace("_", " "), "common practice, no source")
    if way.has_set and not way.portable and choices.changeover is None:
        yield Assumed("Changeover", "by itself, within seconds", "common practice, no source")
    if choices.climate is None:
        words = typical.USUAL_CLIMATE.words
        yield Assumed("Climate", words, "common practice, no source")
    for thing in choices.things:
        if is_medical(thing.kind) and thing.battery_h is None:
            name = f"Own battery of the {thing.kind.name.partition(' with ')[0].lower()}"
            yield Assumed(name, "none to rely on", "not told, so the careful side")
    warmed = _own_rooms(choices)
    if 0.0 < warmed < 1.0 - 1e-9:
        words = f"none in the runs: what is ticked warms {100 * warmed:.0f} % of the house"
        yield Assumed("Heat in the other rooms", words, "not told: tick what warms them")


def _own_rooms(choices: Choices) -> float:
    """Share of the house that heaters of single rooms warm; 0 where something warms it all."""
    heaters = [
        (thing.count, thing.kind.behaviour.own_room_share)
        for thing in choices.things
        if isinstance(thing.kind.behaviour, RoomUnit) and thing.kind.behaviour.mode == "heat"
    ]
    if not all(share for _, share in heaters):
        return 0.0
    return sum(count * share for count, share in heaters)


def _taken(choices: Choices) -> Iterator[Typical]:
    way = WAYS[choices.way]
    if choices.service_a is None:
        yield typical.SERVICE
    if way.second_meter and choices.second_service_a is None:
        yield typical.SECOND_SERVICE
    if way.has_set:
        if choices.generator_kw is None:
            yield typical.PORTABLE_SET if way.portable else typical.FIXED_SET
        tank = typical.TANKS.get(choices.fuel or typical.usual_fuel(portable=way.portable))
        if tank is not None and choices.tank_gal is None:
            yield tank
        if not way.second_meter and choices.way not in {"whole-house", "portable"}:
            yield typical.BACKED_FEED
    if way.switchable:
        yield typical.THROW_FEED
    if choices.solar and choices.solar_kw is None:
        yield typical.SOLAR
    if choices.solar:
        yield typical.inverter(choices.solar_kw or typical.SOLAR.value)
    if any(t.gap_is_taken for t in choices.things):
        yield typical.PATIENCE
    if choices.floor_area_ft2 is None:
        yield typical.FLOOR
    yield typical.LOSS_PER_FT2
