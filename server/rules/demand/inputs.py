"""What a demand worksheet asks for: a dwelling, or the part of one that a conductor carries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.domain.base import Leg
from server.domain.errors import InputError
from server.rules.ranges import within

Category = Literal[
    "fastened",
    "cooking",
    "dryer",
    "room_heat",
    "central_heat",
    "storage_heat",
    "heat_pump",
    "air_handler",
    "cooling",
    "vehicle",
    "individual",
    "outlet",
    "luminaire",
]
BY_OUTLET: tuple[Category, ...] = ("luminaire", "outlet")
HEATING: tuple[Category, ...] = ("room_heat", "central_heat", "storage_heat", "heat_pump")
HVAC: tuple[Category, ...] = (*HEATING, "air_handler", "cooling")
MOST_VA = 1e9
"""Past the largest load of a site at its least power factor: what is entered is worked out. [VA]"""
MOST_CIRCUITS = 1_000_000
SINGLE_LEG_BELOW_V = 150.0


@dataclass(frozen=True)
class Load:
    """One load, or ``quantity`` equal ones.

    ``va`` is the nameplate of one. ``leg`` is the leg of a 120 V load, or of the ``neutral_va`` a
    240 V load draws from one leg; None spreads it over both. ``motor_va`` is the part of one that
    is a motor, ``wired_motor`` that all of it is one without a plug, ``corded_motor`` one of 240 V
    that is taken to have a plug. ``continuous`` runs three hours or more. ``ductless`` heating,
    cooling or fan shares no duct with another. ``new`` is added to an existing dwelling.
    ``outbuilding`` stands in a building that is no dwelling.
    ``group`` names the energy-management setting that holds it.
    ``by_current`` is rated by its amps at 240 V, which it draws at lower volts too.
    ``known`` is False where the nameplate is not told. ``note`` stands beside its line.
    """

    name: str
    category: Category
    va: float
    quantity: int = 1
    volts: float = 240.0
    leg: Leg | None = None
    neutral_va: float = 0.0
    motor_va: float = 0.0
    horsepower: float | None = None
    wired_motor: bool = False
    corded_motor: bool = False
    continuous: bool = False
    ductless: bool = False
    new: bool = False
    outbuilding: bool = False
    group: str = ""
    by_current: bool = False
    known: bool = True
    note: str = ""

    def __post_init__(self) -> None:
        within(self.va, 0, MOST_VA, field="va", unit="VA")
        within(self.quantity, 1, 1000, field="quantity")
        within(self.volts, 100, 480, field="volts", unit="V")
        within(self.neutral_va, 0, self.va, field="neutral_va", unit="VA")
        within(self.motor_va, 0, self.va, field="motor_va", unit="VA")
        if self.leg not in (None, "L1", "L2"):
            raise InputError(f"A leg is L1 or L2; {self.leg!r} was given.", field="leg")

    @property
    def total_va(self) -> float:
        """Nameplate of all of them. [VA]"""
        return self.va * self.quantity

    @property
    def single_leg(self) -> bool:
        """Whether it is a 120 V load."""
        return self.volts < SINGLE_LEG_BELOW_V


@dataclass(frozen=True)
class Setting:
    """The setting of a listed energy-management or power-control system over a group of loads.

    ``of_all_va``: a limit on all that is carried, of which it is what is left to them; else 0.
    """

    group: str
    name: str
    va: float
    of_all_va: float = 0.0

    def __post_init__(self) -> None:
        within(self.va, 0, MOST_VA, field="setting_va", unit="VA")


@dataclass(frozen=True)
class FarmBuilding:
    """What stands in one farm building, and on how many branch circuits.

    ``together_va`` is what runs there at one time; None where it is not told. [VA]
    """

    name: str
    loads: tuple[Load, ...]
    circuits: int
    together_va: float | None = None

    def __post_init__(self) -> None:
        within(self.circuits, 1, 1000, field="circuits")
        if self.together_va is not None:
            within(self.together_va, 0, MOST_VA, field="together_va", unit="VA")


@dataclass(frozen=True)
class Dwelling:
    """Everything a conductor carries, as the load calculation asks for it.

    ``area_ft2`` is outside dimensions without open porches, garages and unfinished space; None
    where it is not told. ``whole`` is True only for conductors that carry the whole dwelling.
    ``existing_a`` is the rating it is compared with, ``conductors_a`` what its conductors carry,
    None where that is not told. ``dwellings`` are the units in it where it
    carries several, ``shared`` what belongs to none of them; ``feeders`` is how many supply one
    unit from outside of it. ``missing`` are questions still open.
    ``at_service`` is True for a service and the conductors right behind it.
    ``common_circuits`` are names of what several dwellings share where none of them is named,
    ``shared_circuits`` of what hangs on the service of one of them and is shared.
    ``refrigerator_circuits`` are names of 1,500 VA circuits that may be left out,
    ``appliance_circuits`` of those for one thing in its place, where more count than must,
    ``laundry_dryers`` of laundry circuits that feed a dryer of 120 V,
    ``in_farm_buildings`` of circuits that feed a farm building; ``farm_buildings`` are those
    buildings, whose loads are among ``loads`` too.
    ``farm_in_dwelling`` are names of what is usual on farms and counts with the dwelling.
    ``no_dwelling``: all of it stands in outbuildings on a service of their own, and
    ``whole_service`` that it is all of such a service. ``whose_untold``: it is one of several
    services, and nobody told whether they are of one house.
    """

    name: str
    area_ft2: float | None
    small_appliance_circuits: int = 2
    laundry_circuits: int = 1
    loads: tuple[Load, ...] = ()
    settings: tuple[Setting, ...] = ()
    units: int = 1
    volts: float = 240.0
    whole: bool = True
    is_service: bool = True
    one_family: bool = True
    at_service: bool = False
    dwellings: tuple[Dwelling, ...] = ()
    shared: Dwelling | None = None
    feeders: int = 1
    existing_a: float | None = None
    conductors_a: float | None = None
    area_note: str = ""
    common_circuits: tuple[str, ...] = ()
    shared_circuits: tuple[str, ...] = ()
    refrigerator_circuits: tuple[str, ...] = ()
    appliance_circuits: tuple[str, ...] = ()
    laundry_dryers: tuple[str, ...] = ()
    in_farm_buildings: tuple[str, ...] = ()
    farm_buildings: tuple[FarmBuilding, ...] = ()
    farm_in_dwelling: tuple[str, ...] = ()
    no_dwelling: bool = False
    whole_service: bool = False
    whose_untold: bool = False
    missing: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.area_ft2 is not None:
            within(self.area_ft2, 0, 100_000, field="area_ft2", unit="ft²")
        within(self.small_appliance_circuits, 0, MOST_CIRCUITS, field="small_appliance_circuits")
        within(self.laundry_circuits, 0, MOST_CIRCUITS, field="laundry_circuits")
        within(self.units, 1, 1000, field="units")
        within(self.volts, 100, 480, field="volts", unit="V")
        if self.existing_a is not None:
            within(self.existing_a, 0.1, 6000, field="existing_a", unit="A")

    def of(self, *categories: Category) -> tuple[Load, ...]:
        """Loads of these categories that no setting holds."""
        held = self.held_groups
        return tuple(d for d in self.loads if d.category in categories and d.group not in held)

    @property
    def of_a_farm(self) -> bool:
        """Whether all that hangs on a farm's service is carried, with or without its dwelling."""
        return bool(self.farm_buildings) and (self.whole or self.whole_service)

    @property
    def dwelling_loads(self) -> tuple[Load, ...]:
        """Loads that stand in no farm building."""
        left = [d for building in self.farm_buildings for d in building.loads]
        found = []
        for load in self.loads:
            if load in left:
                left.remove(load)
            else:
                found.append(load)
        return tuple(found)

    @property
    def held_groups(self) -> frozenset[str]:
        """Groups with a setting."""
        return frozenset(s.group for s in self.settings)


def sum_va(loads: Iterable[Load]) -> float:
    """Nameplates added. [VA]"""
    return sum(d.total_va for d in loads)
