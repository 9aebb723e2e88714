"""The parts of a supply in the order of the current's path, and what hangs on each of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from server.domain.errors import NotFoundError
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import (
    Battery,
    DoubleThrow,
    Feeder,
    Generator,
    Service,
    SolarArray,
    TransferSwitch,
)

SupplyPart: TypeAlias = (
    Service | Generator | TransferSwitch | DoubleThrow | Panel | Feeder | SolarArray | Battery
)
SupplyGroup = Literal[
    "services",
    "generators",
    "transfer_switches",
    "double_throws",
    "panels",
    "feeders",
    "solar",
    "batteries",
]
GROUPS: dict[SupplyGroup, type[SupplyPart]] = {
    "services": Service,
    "generators": Generator,
    "transfer_switches": TransferSwitch,
    "double_throws": DoubleThrow,
    "panels": Panel,
    "feeders": Feeder,
    "solar": SolarArray,
    "batteries": Battery,
}
NODES: tuple[SupplyGroup, ...] = (
    "services",
    "generators",
    "transfer_switches",
    "double_throws",
    "panels",
)


@dataclass(frozen=True)
class Step:
    """One part on the way from the sources to the last panel."""

    group: SupplyGroup
    part: SupplyPart


def members(site: Site, group: SupplyGroup) -> tuple[SupplyPart, ...]:
    """The parts of one group, in the site's order."""
    found: tuple[SupplyPart, ...] = getattr(site, group)
    return found


def supply_part(site: Site, part_id: str) -> Step:
    """The part of the supply with this id.

    Raises
    ------
    NotFoundError   When there is none.
    """
    for group in GROUPS:
        for part in members(site, group):
            if part.id == part_id:
                return Step(group, part)
    raise NotFoundError(f"There is no part {part_id!r} in the supply of this site.")


def current_path(site: Site) -> tuple[Step, ...]:
    """Every part of the supply once, each after all that feeds it.

    A feeder stands right before what it lands on, a generator right before the first switch that
    it feeds, solar and batteries right after their panel. What feeds nothing comes last.
    """
    groups = {part.id: (group, part) for group in NODES for part in members(site, group)}
    done: set[str] = set()
    found: list[Step] = []

    def put(group: SupplyGroup, part: SupplyPart) -> None:
        done.add(part.id)
        found.append(Step(group, part))

    def arrive(element_id: str) -> None:
        if element_id in done or element_id not in groups:
            return
        for feeder in site.feeders_into.get(element_id, ()):
            arrive(feeder.from_id)
        if element_id in done:
            return
        for feeder in site.feeders_into.get(element_id, ()):
            put("feeders", feeder)
        put(*groups[element_id])
        for array in site.solar:
            if array.panel_id == element_id:
                put("solar", array)
        for battery in site.batteries:
            if battery.panel_id == element_id:
                put("batteries", battery)
        for feeder in site.feeders:
            if feeder.from_id == element_id:
                arrive(feeder.to_id)

    feeding = {f.from_id for f in site.feeders}
    for service in site.services:
        if service.id in feeding:
            arrive(service.id)
    for element_id in groups:
        arrive(element_id)
    return tuple(found)


def fed_by(site: Site, element_id: str) -> Iterator[Feeder]:
    """The feeders that start at an element."""
    return (feeder for feeder in site.feeders if feeder.from_id == element_id)


def input_words(to_input: str | None) -> str:
    """What an input of a switch is called.

    >>> input_words("backed_up"), input_words(None)
    ('BACKED-UP side', '')
    """
    if to_input is None:
        return ""
    plain = to_input.replace("_", "-")
    return f"{plain.upper() if to_input in {'normal', 'backed_up'} else plain} side"
