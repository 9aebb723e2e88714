"""Kinds of appliance, read once from ``catalogue.toml`` and checked as they are read."""

from __future__ import annotations

import tomllib
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from server.domain.appliance import Appliance, LoadType, Restart
from server.domain.base import Amps, Id, Minutes, Name, Note, Part, PowerFactor, Share, Watts
from server.domain.behaviour import Behaviour, RoomUnit
from server.domain.circuit import LoadClass

if TYPE_CHECKING:
    from collections.abc import Mapping

    from server.domain.site import Site

Group = Literal[
    "Kitchen",
    "Laundry",
    "Bath",
    "Living room and office",
    "Bedrooms",
    "Lights and alarms",
    "Heating",
    "Cooling and air",
    "Water",
    "Garage and cars",
    "Workshop",
    "Pool, garden and barn",
    "Health",
    "Other",
]
SharedBy = Literal[
    "kitchen",
    "laundry",
    "bath",
    "living",
    "bedroom",
    "lights",
    "garage",
    "workshop",
    "outdoors",
    "barn",
]


HarmOf = Literal["refrigerator", "freezer", "water", "sump", "internet", "medical"]
"""What is harmed when such an appliance is without power; the harm clock counts to it."""


class Kind(Part):
    """A kind of appliance with a fair starting figure for everything.

    ``source`` says where the watts come from. ``breaker_a`` and ``continuous`` are what such a
    circuit commonly has. ``prompt`` is the question to ask where people forget it, or empty;
    ``harm`` is what the harm clock counts to. ``also`` has other words it may be looked for by.
    ``away_share`` is what is left of its use with nobody there, where it goes neither by the hour
    nor by what is drawn: none of what is worn or breathed through.

    What a plan is begun with: ``usual`` is what nearly every house has; ``shares`` names the room
    whose breakers it commonly shares, None where it has one of its own; ``goes_with`` is the kind
    whose other half it is, on the same breaker (``whole_name`` is what both are called); and
    ``gap_min`` is how long such a must-serve thing can commonly be without power.
    """

    id: Id
    name: Name
    also: Note = ""
    group: Group
    volts: Literal[120, 240] = 120
    load_w: Watts
    part_120_w: Watts = 0.0
    power_factor: PowerFactor = 1.0
    load_type: LoadType = "electronic"
    horsepower: Annotated[float, Field(gt=0, le=50)] | None = None
    locked_rotor_a: Amps | None = None
    code_letter: str | None = None
    breaker_a: Amps
    continuous: bool = False
    load_class: LoadClass = "comfort"
    restart: Restart = "by_itself"
    behaviour: Behaviour
    source: Annotated[Note, Field(min_length=1)]
    prompt: Note = ""
    usual: bool = False
    shares: SharedBy | None = None
    goes_with: Id | None = None
    whole_name: Name | None = None
    gap_min: Minutes | None = None
    harm: HarmOf | None = None
    away_share: Share = 1.0

    def appliance(self, appliance_id: str, name: str | None = None, **overrides: Any) -> Appliance:
        """An appliance of this kind.

        Parameters
        ----------
        appliance_id : str       Its id on the site.
        name : str, optional     Its name; the kind's name when left out.
        **overrides              Any other field of ``Appliance``, or ``zone_id`` for a heating or
                                 cooling unit in another zone than ``house``.

        Raises
        ------
        pydantic.ValidationError   When an override does not fit.
        """
        behaviour: Behaviour = self.behaviour
        zone_id = overrides.pop("zone_id", None)
        if zone_id is not None and isinstance(behaviour, RoomUnit):
            behaviour = behaviour.model_copy(update={"zone_id": zone_id})
        defaults: dict[str, Any] = {
            "id": appliance_id,
            "name": name or self.name,
            "kind": self.id,
            "volts": self.volts,
            "load_w": self.load_w,
            "part_120_w": self.part_120_w,
            "power_factor": self.power_factor,
            "load_type": self.load_type,
            "horsepower": self.horsepower,
            "locked_rotor_a": self.locked_rotor_a,
            "code_letter": self.code_letter,
            "restart": self.restart,
            "behaviour": behaviour,
        }
        return Appliance.model_validate(defaults | overrides)


def read_kinds(text: str) -> dict[str, Kind]:
    """The kinds of a catalogue text, in its order.

    Raises
    ------
    pydantic.ValidationError   When a kind, or the appliance it makes, is not well formed.
    ValueError                 When two kinds share an id, or one goes with a kind that is none.
    """
    kinds: dict[str, Kind] = {}
    for row in tomllib.loads(text)["kind"]:
        kind = Kind.model_validate(row)
        if kind.id in kinds:
            raise ValueError(f"The catalogue has two kinds {kind.id!r}.")
        kind.appliance("check")
        kinds[kind.id] = kind
    for kind in kinds.values():
        if kind.goes_with is not None and kind.goes_with not in kinds:
            raise ValueError(f"{kind.id!r} goes with {kind.goes_with!r}, which is no kind here.")
    return kinds


KINDS: Mapping[str, Kind] = MappingProxyType(
    read_kinds(Path(__file__).with_name("catalogue.toml").read_text(encoding="utf-8"))
)


def kinds_by_group() -> dict[str, tuple[Kind, ...]]:
    """The kinds under their group's name, in the catalogue's order."""
    groups: dict[str, tuple[Kind, ...]] = {}
    for kind in KINDS.values():
        groups[kind.group] = (*groups.get(kind.group, ()), kind)
    return groups


def forgotten(site: Site) -> tuple[Kind, ...]:
    """Kinds people forget that no circuit of this site carries yet."""
    present = {appliance.kind for circuit in site.circuits for appliance in circuit.appliances}
    return tuple(kind for kind in KINDS.values() if kind.prompt and kind.id not in present)


WASTE_PITS = frozenset({"sewage-pump", "septic-pump", "grinder-pump"})
"""Kinds whose pit takes what a house drains, and no ground or rain water."""


def pumps_waste(appliance: Appliance) -> bool:
    """Whether it empties a pit of what the house drains."""
    return appliance.kind in WASTE_PITS


def away_share(appliance: Appliance) -> float:
    """What is left of an appliance's use with nobody there, where its behaviour does not say.

    >>> away_share(KINDS["ventilator"].appliance("lungs"))
    0.0
    """
    kind = KINDS.get(appliance.kind)
    return 1.0 if kind is None else kind.away_share
