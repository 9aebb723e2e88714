"""The supply as rows of a page, in the order of the current's path."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.current_path import SupplyGroup, SupplyPart, current_path, input_words
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
from server.domain.told import guessed_of, source_of, told_of
from server.domain.topology import Bus, BusKind, bus_of_panel
from server.web import words
from server.web.figures import plain
from server.web.format import listed

KINDS_OF_PART: Mapping[str, SupplyGroup] = {
    "service": "services",
    "generator": "generators",
    "transfer-switch": "transfer_switches",
    "double-throw": "double_throws",
    "panel": "panels",
    "feeder": "feeders",
    "solar": "solar",
    "battery": "batteries",
}
SINGULAR: Mapping[SupplyGroup, str] = {
    "services": "service",
    "generators": "generator",
    "transfer_switches": "transfer switch",
    "double_throws": "double-throw switch",
    "panels": "panel",
    "feeders": "feeder",
    "solar": "solar",
    "batteries": "battery",
}
TEACHES: Mapping[SupplyGroup, str] = {
    "services": "Where the utility comes in: one meter and one main breaker.",
    "generators": "A set that can feed part or all of the house while the utility is out.",
    "transfer_switches": (
        "Chooses utility or generator for all that is below it; what it feeds is backed up."
    ),
    "double_throws": (
        "Thrown by hand, it feeds one panel from NORMAL or from BACKED-UP; that panel is "
        "switchable."
    ),
    "panels": "Where circuits hang. Which bus it is on follows from what feeds it.",
    "feeders": "The wires from one part to the next, with the breaker that protects them.",
    "solar": "An array and its inverter, tied into a panel by a breaker.",
    "batteries": "Kept with the site. Runs show the house without it, and the pages say so.",
}


@dataclass(frozen=True)
class SupplyRow:
    """One part: its key figures, which bus it is on, and where it gets its current from.

    ``guess`` is of the figure that is shown, ``doubt`` says what of the part is a guess.
    """

    id: str
    group: SupplyGroup
    name: str
    what: str
    figure: str
    unit: str
    guess: bool
    doubt: str
    details: str
    bus_kind: BusKind | None
    bus_name: str

    @property
    def what_id(self) -> str:
        """The kind of part as the address of a new one has it."""
        return next(address for address, group in KINDS_OF_PART.items() if group == self.group)


def supply_rows(site: Site) -> tuple[SupplyRow, ...]:
    """A row for every part of the supply."""
    bus_by_panel = bus_of_panel(site)
    return tuple(_row(site, step.group, step.part, bus_by_panel) for step in current_path(site))


def _row(
    site: Site, group: SupplyGroup, part: SupplyPart, bus_by_panel: Mapping[str, Bus]
) -> SupplyRow:
    figure, unit = _figure(part)
    bus = bus_by_panel.get(part.id)
    return SupplyRow(
        id=part.id,
        group=group,
        name=part.name,
        what=SINGULAR[group],
        figure=figure,
        unit=unit,
        guess=_main_source(part) == "guess",
        doubt=_doubt(part),
        details=", ".join(_details(site, part)),
        bus_kind=bus.kind if bus else None,
        bus_name=bus.name if bus else "",
    )


def _main_source(part: SupplyPart) -> str:
    """Where the figure that a row shows is from."""
    if isinstance(part, Generator | SolarArray):
        return source_of(part, "ac_kw" if isinstance(part, SolarArray) else "rated_kw")
    return getattr(part, "figure_source", "nameplate")


def _doubt(part: SupplyPart) -> str:
    """What of a row is a guess, in words; empty where nothing is."""
    if getattr(part, "figure_source", "nameplate") != "guess":
        return ""
    if isinstance(part, Generator | SolarArray) and told_of(part):
        return f"{listed(list(guessed_of(part)))} a guess"
    return "a guess"


def _figure(part: SupplyPart) -> tuple[str, str]:
    if isinstance(part, Service):
        return plain(part.main_a), "A main"
    if isinstance(part, Generator):
        return plain(part.rated_kw), "kW"
    if isinstance(part, SolarArray):
        return plain(part.ac_kw), "kW ac"
    if isinstance(part, Battery):
        return plain(part.usable_kwh), "kWh"
    if isinstance(part, Feeder):
        amps = [a for a in (part.breaker_a, part.ampacity_a) if a is not None]
        return (plain(min(amps)), "A") if amps else ("–", "")
    if isinstance(part, TransferSwitch | DoubleThrow):
        return plain(part.rating_a), "A"
    return plain(part.rating_a), "A bus"


def _details(site: Site, part: SupplyPart) -> list[str]:
    if isinstance(part, Feeder):
        side = input_words(part.to_input)
        end = site.name_of[part.to_id] + (f", {side}" if side else "")
        found = [f"from {site.name_of[part.from_id]} to {end}"]
        if part.breaker_a is not None and len(part.spaces) > 1:
            found.append(f"spaces {part.spaces[0]} and {part.spaces[1]}")
        found += ["no neutral"] * part.no_neutral
        found += ["legs crossed"] * part.swap_legs
        feet = sum(s.run_ft for s in part.segments)
        return [*found, f"{plain(feet)} ft" if feet else "length not told"]
    if isinstance(part, Generator):
        kind = "portable" if part.portable else "fixed"
        found = [
            kind,
            words.said(words.FUELS, part.fuel),
            words.said(words.SET_SYSTEMS, part.system),
        ]
        if part.tank is not None:
            found.append(f"{plain(part.tank.capacity_gal)} gal")
            if part.tank.vessels > 1:
                found.append(f"in {part.tank.vessels} vessels")
        return [*found, f"starts {words.said(words.STARTS, part.start)}"]
    if isinstance(part, TransferSwitch):
        found = [f"changes over {words.said(words.SWITCH_KINDS, part.kind)}"]
        if part.kind == "handles":
            found.append(f"{len(part.handles)} circuits on it")
        return [*found, *["rated as service equipment"] * part.service_rated]
    if isinstance(part, DoubleThrow):
        rests = words.said(words.RESTING, part.resting)
        neutral = "switches the neutral" if part.switches_neutral else "neutral joined through"
        return [f"rests on {rests}", neutral]
    if isinstance(part, SolarArray):
        follows = "needs the grid" if part.grid_following else "can form its own grid"
        ties_in = [f"in {site.name_of[part.panel_id]}", f"{plain(part.breaker_a)} A breaker"]
        return [f"modules of {plain(part.dc_kw)} kW dc", *ties_in, follows]
    if isinstance(part, Battery):
        return [f"in {site.name_of[part.panel_id]}", "not modelled in a run: ask the installer"]
    if isinstance(part, Service):
        socket = part.meter_socket_a
        system = words.said(words.SERVICE_SYSTEMS, part.system)
        if part.building_feeder:
            system = f"{system}, a feeder from the building’s service"
        return [system, f"meter socket {plain(socket)} A" if socket else "meter socket not told"]
    circuits = sum(c.panel_id == part.id for c in site.circuits)
    found = [f"{part.spaces} spaces", f"{circuits} circuit{'' if circuits == 1 else 's'}"]
    found.append(f"main {plain(part.main_a)} A" if part.main_a is not None else "lugs")
    found += ["neutral and ground joined here"] * part.neutral_bonded
    return [*found, *["detached building"] * part.detached_building]


def thrown_by_hand(site: Site, part_id: str) -> str:
    """That a set starts by itself but its switch does not change over; empty where neither is new.

    A sentence with a space before it, to follow what was done.
    """
    for switch in site.transfer_switches:
        feeder = site.feeder_into(switch.id, "generator")
        source = next((g for g in site.generators if feeder and g.id == feeder.from_id), None)
        if source is None or switch.automatic or part_id not in {switch.id, source.id}:
            continue
        if source.start == "automatic":
            return (
                f" {source.name} is entered as starting by itself, but {switch.name} is worked by "
                "hand: somebody has to change over."
            )
    return ""


def backfed_words(site: Site, part_id: str) -> str:
    """That the amps typed for an interlock were taken for its back-fed breaker; or empty.

    A sentence with a space before it, to follow what was done.
    """
    switch = next((t for t in site.transfer_switches if t.id == part_id), None)
    feeder = site.feeder_into(part_id, "generator") if switch is not None else None
    if switch is None or switch.kind != "interlock" or feeder is None or feeder.breaker_a is None:
        return ""
    return (
        f" {plain(feeder.breaker_a)} A is entered as its back-fed breaker: an interlock is a plate "
        f"without amps of its own, and the main lets {plain(switch.rating_a)} A through."
    )
