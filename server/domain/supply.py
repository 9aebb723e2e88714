"""Sources, switches and the feeders between them."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from server.domain.base import (
    Amps,
    Fahrenheit,
    Feet,
    FigureSource,
    Gallons,
    Id,
    Kilowatts,
    Leg,
    Minutes,
    Name,
    Note,
    Part,
    Seconds,
    Share,
    WireMetal,
    WireSize,
    Word,
)
from server.domain.panel import Space

SupplySystem = Literal["120/240", "120/208", "120"]
Fuel = Literal["propane", "natural_gas", "gasoline", "diesel"]
FuelRateUnit = Literal["gal/h", "ft3/h", "Btu/h", "kBtu/h"]
FeederInput = Literal["utility", "generator", "normal", "backed_up"]
ThrowPosition = Literal["normal", "backed_up"]
SetFigure = Literal["rated_kw", "fuel", "tank"]
SolarFigure = Literal["dc_kw", "ac_kw", "breaker_a"]


class Service(Part):
    """A utility service: one meter, one main.

    ``building_feeder``: it is a feeder of a dwelling from the service of its building, such as an
    apartment has, and ``main_a`` the breaker there; then the building’s service holds the bond.
    """

    id: Id
    name: Name
    system: Literal["120/240", "120/208"] = "120/240"
    main_a: Amps
    meter_socket_a: Amps | None = None
    fault_current_a: Annotated[float, Field(ge=1, le=200_000)] | None = None
    building_feeder: bool = False
    figure_source: FigureSource = "nameplate"
    note: Note = ""


GasInput = Annotated[float, Field(ge=0, le=20_000_000)]
_CLOSEST_POINTS_KW = 0.1


class FuelPoint(Part):
    """One published point of a fuel table: a load in kW or in percent of rated, and the burn there.

    The burn is in the set's ``fuel_rate_in``.
    """

    load_kw: Kilowatts | None = None
    load_pct: Annotated[float, Field(ge=0, le=150)] | None = None
    rate_per_h: Annotated[float, Field(ge=0, le=20_000_000)]

    @model_validator(mode="after")
    def _one_load(self) -> FuelPoint:
        if (self.load_kw is None) == (self.load_pct is None):
            raise ValueError("Give the load of a fuel point once: in kW or in % of full load.")
        return self

    def at_kw(self, rated_kw: float) -> float:
        """Its load. [kW]"""
        return self.load_kw if self.load_kw is not None else (self.load_pct or 0.0) / 100 * rated_kw


class FuelTank(Part):
    """A tank, or the cans or cylinders by the set.

    ``capacity_gal`` is the room of all of it, in so many ``vessels`` alike that are drawn on
    together: each of propane boils by itself. ``fill_share`` is as full as it is ever filled.
    ``other_btu_h`` is what all other appliances on it burn, as a mean of day and night, whether the
    set runs or not.
    """

    capacity_gal: Gallons
    vessels: Annotated[int, Field(ge=1, le=40)] = 1
    other_btu_h: GasInput = 0.0
    fill_share: Share = 0.8
    reserve_share: Share = 0.2


class Generator(Part):
    """A standby or portable set.

    ``rated_kw`` and ``rated_kva`` are nameplate at its ``system`` volts for the fuel in use,
    before derating. ``receptacle_a``, ``cord_a`` and ``inlet_a`` belong to portables.
    ``retry_s`` is from one try to start to the next (15 s of cranking, 15 s of rest: the cycle of
    NFPA 110, from memory). Derate: ``altitude_derate_per_1000ft`` above ``altitude_free_ft`` and
    ``heat_derate_per_10f`` above ``heat_free_f``. ``oil_check_h`` is how long it may run before its
    oil is looked at, None where its book was not read. ``fuel_rate_in`` is the unit of the fuel
    points, None for gallons an hour or, on natural gas, 1000 Btu/h. ``gas_meter_btu_h`` is what
    the gas meter and its pipe carry, the lesser of the two, and ``other_gas_btu_h`` the inputs of
    all other gas appliances behind it; None where not told, and only looked at on natural gas.
    ``told`` names figures that were told where ``figure_source`` calls the rest a guess.
    """

    id: Id
    name: Name
    rated_kw: Annotated[float, Field(ge=0.01, le=500)]
    rated_kva: Annotated[float, Field(ge=0.01, le=700)] | None = None
    system: SupplySystem = "120/240"
    portable: bool = False
    start: Literal["automatic", "by_hand"] = "automatic"
    start_delay_s: Seconds = 10.0
    retry_s: Seconds = 30.0
    cool_down_min: Minutes = 5.0
    oil_check_h: Annotated[float, Field(ge=1, le=1_000)] | None = None
    breaker_a: Amps | None = None
    receptacle_a: Amps | None = None
    cord_a: Amps | None = None
    inlet_a: Amps | None = None
    fuel: Fuel = "propane"
    fuel_rate_in: FuelRateUnit | None = None
    fuel_points: Annotated[tuple[FuelPoint, ...], Field(max_length=12)] = ()
    tank: FuelTank | None = None
    gas_meter_btu_h: GasInput | None = None
    other_gas_btu_h: GasInput | None = None
    reactance_pu: Annotated[float, Field(ge=0.001, le=2)] | None = None
    start_kva_limit: Annotated[float, Field(ge=0.01, le=2_000)] | None = None
    altitude_derate_per_1000ft: Share = 0.035
    altitude_free_ft: Feet = 0.0
    heat_derate_per_10f: Share = 0.01
    heat_free_f: Annotated[float, Field(ge=0, le=150)] = 77.0
    neutral_bonded: bool = False
    figure_source: FigureSource = "nameplate"
    told: Annotated[tuple[SetFigure, ...], Field(max_length=3)] = ()
    note: Note = ""

    @field_validator("fuel_rate_in")
    @classmethod
    def _unit_of_its_fuel(
        cls, unit: FuelRateUnit | None, info: ValidationInfo
    ) -> FuelRateUnit | None:
        fuel = info.data.get("fuel")
        if unit == "gal/h" and fuel == "natural_gas":
            raise ValueError("Natural gas is not counted in gallons; choose ft³/h or Btu/h.")
        if unit == "ft3/h" and fuel in {"gasoline", "diesel"}:
            raise ValueError("A liquid fuel is not counted in cubic feet; choose gal/h or Btu/h.")
        return unit

    @model_validator(mode="after")
    def _fuel_rises_with_load(self) -> Generator:
        points = sorted((p.at_kw(self.rated_kw), p.rate_per_h) for p in self.fuel_points)
        for (low_kw, low), (high_kw, high) in pairwise(points):
            if high_kw - low_kw < _CLOSEST_POINTS_KW:
                raise ValueError("Fuel points need loads at least 0.1 kW apart.")
            if high < low:
                raise ValueError("A generator does not burn less at more load; check its points.")
        return self

    @property
    def kva(self) -> float:
        """Rated apparent power; equal to the kilowatts when no kVA is on the plate. [kVA]"""
        return self.rated_kva if self.rated_kva is not None else self.rated_kw

    @property
    def outlet_parts_a(self) -> dict[str, float]:
        """Ratings that are told of a portable’s receptacle, cord and inlet, by the word. [A]

        All it gives passes each of them.
        """
        parts = {"receptacle": self.receptacle_a, "cord": self.cord_a, "inlet": self.inlet_a}
        return {word: amps for word, amps in parts.items() if amps is not None}


class SolarArray(Part):
    """Roof or ground solar behind one breaker in a panel. Azimuth from north, clockwise.

    ``told`` names figures that were told where ``figure_source`` calls the rest a guess.
    """

    id: Id
    name: Name
    panel_id: Id
    dc_kw: Annotated[float, Field(ge=0.001, le=200)]
    ac_kw: Annotated[float, Field(ge=0.001, le=200)]
    tilt_deg: Annotated[float, Field(ge=0, le=90)] = 25.0
    azimuth_deg: Annotated[float, Field(ge=0, le=360)] = 180.0
    breaker_a: Amps
    spaces: Annotated[tuple[Space, ...], Field(max_length=2)] = ()
    grid_following: bool = True
    reconnect_s: Seconds = 300.0
    losses_share: Share = 0.14
    figure_source: FigureSource = "nameplate"
    told: Annotated[tuple[SolarFigure, ...], Field(max_length=3)] = ()
    note: Note = ""


class Battery(Part):
    """A house battery. Kept in the site; not yet modelled in a run, and the page says so.

    ``parted`` says that a switch of its own opens the utility before it forms a grid.
    """

    id: Id
    name: Name
    panel_id: Id
    usable_kwh: Annotated[float, Field(ge=0.001, le=500)]
    inverter_kw: Annotated[float, Field(ge=0.001, le=200)]
    grid_forming: bool = False
    parted: bool = False
    note: Note = ""


class Handle(Part):
    """One circuit of a handle set, and the leg it lands on when fed by the generator.

    A 2-pole circuit lands on both legs; for it ``leg`` is the leg of its first pole.
    """

    circuit_id: Id
    leg: Leg


class TransferSwitch(Part):
    """Chooses utility or generator for all that is below it.

    ``interlock`` is a main and a back-fed breaker that cannot both be closed; ``handles`` is a set
    with one handle for each circuit listed, each a small switchable bus. ``spaces`` are those that
    the back-fed breaker of an interlock takes in the panel it feeds; empty where that was not read.
    """

    id: Id
    name: Name
    kind: Literal["automatic", "manual", "interlock", "handles"] = "automatic"
    rating_a: Amps
    poles: Literal[1, 2, 3] = 2
    transfer_delay_s: Seconds = 5.0
    return_delay_min: Minutes = 10.0
    motion_s: Seconds = 1.0
    service_rated: bool = False
    switches_neutral: bool = False
    withstand_a: Annotated[float, Field(ge=1, le=200_000)] | None = None
    handles: Annotated[tuple[Handle, ...], Field(max_length=30)] = ()
    spaces: Annotated[tuple[Space, ...], Field(max_length=2)] = ()
    figure_source: FigureSource = "nameplate"
    note: Note = ""

    @model_validator(mode="after")
    def _handles_only_in_a_set(self) -> TransferSwitch:
        if self.handles and self.kind != "handles":
            raise ValueError("Only a handle set lists circuits; set its kind to handles.")
        return self

    @property
    def automatic(self) -> bool:
        """Whether it transfers without a person."""
        return self.kind == "automatic"


class DoubleThrow(Part):
    """A hand-thrown switch that feeds a switchable panel from one of two feeders."""

    id: Id
    name: Name
    rating_a: Amps
    poles: Literal[2, 3] = 2
    resting: ThrowPosition = "normal"
    motion_s: Seconds = 5.0
    switches_neutral: bool = False
    figure_source: FigureSource = "nameplate"
    note: Note = ""


ControlWay = Literal["setting", "interlock", "turns"]


class EnergyGroup(Part):
    """Circuits that a load manager (a listed energy-management system) controls; they name it.

    By its ``way`` it opens them in their shed order while a leg is above ``setting_a``
    (``setting``); lets each run only while none that is shed after it draws (``interlock``); or
    lets one run at a time, whichever began (``turns``). ``watch_id`` is the source, feeder, switch
    or panel whose legs are held to the setting, None for those of its circuits together.
    ``off_on_generator`` keeps them off while a set feeds them. ``shed_after_s`` is how long a leg
    must be above, ``least_off_min`` the least time off, through all of which there must have been
    room for what a circuit drew when it was opened, ``return_every_min`` the time from one return
    to the next, also after a dead bus. ``planned`` is of one that nobody has fitted yet: runs and
    sheets take it as there, and say so.
    """

    id: Id
    name: Name
    way: ControlWay = "setting"
    setting_a: Amps | None = None
    watch_id: Id | None = None
    off_on_generator: bool = False
    shed_after_s: Seconds = 10.0
    least_off_min: Minutes = 5.0
    return_every_min: Minutes = 1.0
    planned: bool = False
    note: Note = ""

    @model_validator(mode="after")
    def _does_something(self) -> EnergyGroup:
        if self.way == "setting" and self.setting_a is None and not self.off_on_generator:
            raise ValueError(
                "A manager needs a setting in amperes, or to keep its circuits off on a generator."
            )
        if self.watch_id is not None and self.setting_a is None:
            raise ValueError("A manager that watches amperes needs a setting to hold them to.")
        return self


class DemandRecord(Part):
    """A measured demand of all that a service carries.

    ``year`` is twelve months of demand data, ``recording`` a continuous recording of the highest
    average on the heavier leg. ``peak_kva`` is twice the heavier leg where only legs were read.
    ``seasonal_included``: the larger of heating and cooling ran, or was added by calculation.
    """

    service_id: Id
    kind: Literal["year", "recording"] = "recording"
    peak_kva: Annotated[float, Field(ge=0.001, le=1_000)]
    days: Annotated[float, Field(ge=0.01, le=4_000)]
    interval_min: Annotated[float, Field(ge=0.01, le=1_440)] = 15.0
    net_metered: bool = False
    peak_shaving: bool = False
    seasonal_included: bool = False
    note: Note = ""


class Segment(Part):
    """A length of feeder with one conductor size. One-way feet.

    ``terminal_c`` is the marking of the terminals at both ends, None where it was not read;
    ``ambient_f`` the hottest air (or ground) around it and ``current_carrying`` the
    current-carrying wires that lie together, None where nothing but its own set does. ``wet`` is
    whether it lies in the ground or in another wet place, the inside of its raceway with it.
    """

    run_ft: Annotated[float, Field(ge=0.01, le=20_000)]
    size: WireSize
    metal: WireMetal = "copper"
    sets: Annotated[int, Field(ge=1, le=6)] = 1
    insulation: Annotated[Word, Field(max_length=20)] = "THWN-2"
    neutral_size: Annotated[Word, Field(max_length=6)] | None = None
    ground_size: Annotated[Word, Field(max_length=6)] | None = None
    ground_metal: WireMetal = "copper"
    raceway: Word = ""
    raceway_trade_size: Annotated[Word, Field(max_length=6)] = ""
    terminal_c: Literal[60, 75] | None = None
    ambient_f: Fahrenheit | None = None
    current_carrying: Annotated[int, Field(ge=1, le=60)] | None = None
    wet: bool = False


class Feeder(Part):
    """A run from a source, switch or panel to a switch or panel.

    ``to_input`` names the input of a switch it lands on: ``utility`` or ``generator`` on a
    transfer switch, ``normal`` or ``backed_up`` on a double-throw; None on a panel.
    ``breaker_a`` is its overcurrent device at the from end (None: protected by what is upstream).
    ``spaces`` are the spaces that breaker takes when the from end is a panel.
    ``swap_legs``: L1 at the from end lands on L2 at the to end.
    ``no_neutral``: two hots and a ground lie in it, for 240 V loads alone.
    """

    id: Id
    name: Name
    from_id: Id
    to_id: Id
    to_input: FeederInput | None = None
    breaker_a: Amps | None = None
    full_rated: bool = False
    spaces: Annotated[tuple[Space, ...], Field(max_length=2)] = ()
    ampacity_a: Amps | None = None
    neutral_ampacity_a: Amps | None = None
    swap_legs: bool = False
    no_neutral: bool = False
    segments: Annotated[tuple[Segment, ...], Field(max_length=12)] = ()
    figure_source: FigureSource = "nameplate"
    note: Note = ""
