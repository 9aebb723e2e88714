"""The circuit: the atom of assignment. Everything that rides on its breaker goes with it."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from pydantic import Field, model_validator

from server.domain.appliance import Appliance
from server.domain.base import Amps, Id, Minutes, Name, Note, Part, WireMetal, WireSize
from server.domain.behaviour import Backed
from server.domain.panel import Half, Space
from server.domain.survey import PhotoId, TraceState

LoadClass = Literal["must_serve", "important", "comfort", "deferrable"]
OutageRole = Literal["on", "managed", "by_hand", "off"]
BreakerType = Literal["standard", "afci", "gfci", "dual_function", "tandem"]
Grounding = Literal["four_wire", "three_wire_old"]
CircuitPlace = Literal["dwelling", "outbuilding", "common_area"]

DEFAULT_ALLOWED_GAP_MIN = 2.0
BATTERY_MARGIN = 1.5
"""What an own battery is divided by, so that an old one still bears the gap."""

DEFAULT_RECHARGE_H = 4.0
"""Hours to fill a battery that only the circuit tells of (common practice, no source)."""


class OwnBattery(NamedTuple):
    """How long what is on a circuit runs by its own battery, and how long that takes to fill."""

    lasts_min: float
    fills_min: float


class Circuit(Part):
    """A branch circuit in a panel.

    ``spaces`` has one number for a 1-pole breaker, two (n, n+2) for a 2-pole one; ``half`` says
    which half of a tandem a 1-pole circuit uses. ``outage_role`` says what happens while a
    generator feeds it: ``on`` as usual; ``managed`` by load management; ``by_hand`` only in the
    scenario's hand windows; ``off`` never. ``wire_size`` is the wire at the breaker, None where
    it was not read. ``is_new`` marks a circuit that is planned or newly run;
    ``energy_group_id`` is the energy-management setting that holds it. ``photo`` names a photo
    that is kept beside the site and does not travel in its file.

    ``place`` says whose lights and plugs it feeds: those of a ``dwelling`` unit, counted by its
    floor area; of an ``outbuilding`` such as a shed or barn; or of a ``common_area`` of a house
    with several dwellings, such as a shared stair, yard, cellar or laundry. ``plug_outlets`` is how
    many outlets for plugs it has there, a duplex on one yoke counting once; None where it was not
    counted. In a dwelling nobody asks.
    """

    id: Id
    name: Name
    panel_id: Id
    poles: Literal[1, 2] = 1
    spaces: Annotated[tuple[Space, ...], Field(min_length=1, max_length=2)]
    half: Half | None = None
    breaker_a: Amps = 20.0
    breaker_type: BreakerType = "standard"
    full_rated: bool = False
    continuous: bool = False
    multiwire_partner_id: Id | None = None
    grounding: Grounding = "four_wire"
    wire_size: WireSize | None = None
    wire_metal: WireMetal = "copper"
    is_new: bool = False
    load_class: LoadClass = "comfort"
    shed_order: Annotated[int, Field(ge=1, le=99)] | None = None
    own_battery_min: Minutes | None = None
    allowed_gap_min: Minutes | None = None
    outage_role: OutageRole = "on"
    energy_group_id: Id | None = None
    pinned: bool = False
    area: Note = ""
    place: CircuitPlace = "dwelling"
    plug_outlets: Annotated[int, Field(ge=0, le=100)] | None = None
    note: Note = ""
    traced: TraceState = "not_yet"
    photo: PhotoId | None = None
    appliances: Annotated[tuple[Appliance, ...], Field(max_length=60)] = ()

    @model_validator(mode="after")
    def _spaces_match_poles(self) -> Circuit:
        if len(self.spaces) != self.poles:
            raise ValueError(
                f"A {self.poles}-pole breaker takes {self.poles} space"
                f"{'s' if self.poles > 1 else ''}; {len(self.spaces)} given."
            )
        if self.poles == 2:
            first, second = self.spaces
            if second != first + 2:
                raise ValueError(
                    "A 2-pole breaker needs two spaces under each other on one side, such as "
                    "5 and 7, so that it lands on both legs."
                )
            if self.half is not None:
                raise ValueError(
                    "Half a space lies on one leg only, so a 2-pole breaker cannot use it."
                )
        else:
            for appliance in self.appliances:
                if appliance.volts == 240:
                    raise ValueError(
                        f"{appliance.name} needs 240 V, but this breaker has one pole. Make the "
                        "circuit 2-pole or set the appliance to 120 V."
                    )
        if self.multiwire_partner_id == self.id:
            raise ValueError("A circuit cannot share a neutral with itself.")
        return self

    @property
    def gap_min(self) -> float | None:
        """Longest gap without power that is allowed, None where the class sets none. [min]"""
        if self.allowed_gap_min is None and self.load_class != "must_serve":
            return None
        return self.least_gap_min

    @property
    def least_gap_min(self) -> float:
        """The gap that is allowed where something on it must be served. [min]

        As set, else own battery divided by 1.5, else 2 minutes.
        """
        if self.allowed_gap_min is not None:
            return self.allowed_gap_min
        own = self.own_battery
        return DEFAULT_ALLOWED_GAP_MIN if own is None else own.lasts_min / BATTERY_MARGIN

    @property
    def battery_waited_on_min(self) -> float:
        """The battery that the allowed gap is two thirds of; 0 where it stands on none. [min]"""
        own = self.own_battery
        return 0.0 if own is None or self.allowed_gap_min is not None else own.lasts_min

    @property
    def own_battery(self) -> OwnBattery | None:
        """The battery that carries what is on it: the least where each has one, None without."""
        if self.own_battery_min is not None:
            return OwnBattery(self.own_battery_min, DEFAULT_RECHARGE_H * 60.0)
        backed = [
            OwnBattery(a.behaviour.battery_min, a.behaviour.recharge_h * 60.0)
            for a in self.appliances
            if isinstance(a.behaviour, Backed)
        ]
        return min(backed) if len(backed) == len(self.appliances) > 0 else None
