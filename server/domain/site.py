"""The site: one plain document that everything else takes and nothing else owns."""

from __future__ import annotations

import re
from functools import cached_property
from typing import Annotated, Literal, Protocol
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, field_validator, model_validator
from pydantic_core import PydanticCustomError

from server.domain.base import Fahrenheit, Id, Name, Note, Part
from server.domain.behaviour import Zone
from server.domain.circuit import Circuit
from server.domain.errors import NotFoundError
from server.domain.panel import Panel
from server.domain.scenario import Scenario
from server.domain.supply import (
    Battery,
    DemandRecord,
    DoubleThrow,
    EnergyGroup,
    Feeder,
    Generator,
    Service,
    SolarArray,
    TransferSwitch,
)
from server.domain.survey import ClampReading
from server.domain.wiring import problems_of_site


class _Named(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def name(self) -> str: ...


# Small first letters name other tables beside the zones, such as those that count leap seconds.
_ZONE_NAME = re.compile(r"[A-Z][A-Za-z0-9_+-]*(/[A-Z][A-Za-z0-9_+-]*){0,2}")
_NOT_A_PLACE = frozenset({"Factory"})
"""A placeholder of the zone data, for a clock that was never set."""

CodeEdition = Literal["2017", "2020", "2023", "2026"]


PLACE_NOT_TOLD = "Place not told yet"


class Place(Part):
    """Where the house stands, for the sun and for derating."""

    name: Name = "Unnamed place"
    latitude_deg: Annotated[float, Field(ge=-90, le=90)] = 39.0
    longitude_deg: Annotated[float, Field(ge=-180, le=180)] = -98.0
    time_zone: Annotated[
        str,
        Field(max_length=60, json_schema_extra={"pattern": f"^(?!Factory$){_ZONE_NAME.pattern}$"}),
    ] = "America/Chicago"
    altitude_ft: Annotated[float, Field(ge=-1_500, le=20_000)] = 0.0

    @field_validator("time_zone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        unknown = "This time zone is not known. Use a name such as America/Denver."
        if not _ZONE_NAME.fullmatch(value) or value in _NOT_A_PLACE:
            raise ValueError(unknown)
        try:
            ZoneInfo(value)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise ValueError(unknown) from error
        return value


class Tariff(Part):
    """Prices in dollars; all optional and only used for the worth of solar and fuel."""

    import_per_kwh: Annotated[float, Field(ge=0, le=10)] | None = None
    export_per_kwh: Annotated[float, Field(ge=0, le=10)] | None = None
    fuel_per_unit: Annotated[float, Field(ge=0, le=100)] | None = None


class LocalAmendment(Part):
    """A local change of one figure of the code, with the reason that prints beside it."""

    figure: Annotated[str, Field(pattern=r"^[a-z0-9_]{1,60}$")]
    value: Annotated[float, Field(ge=0, le=1_000_000)]
    reason: Name


class Site(Part):
    """A house, its sources, its panels, its circuits and the days to try it on."""

    name: Name
    place: Place = Place()
    design_low_f: Fahrenheit = 15.0
    design_high_f: Fahrenheit = 95.0
    code_edition: CodeEdition = "2023"
    floor_area_ft2: Annotated[float, Field(ge=0, le=100_000)] | None = None
    people: Annotated[int, Field(ge=1, le=200)] = 4
    amendments: Annotated[tuple[LocalAmendment, ...], Field(max_length=30)] = ()
    tariff: Tariff = Tariff()
    note: Note = ""
    services: Annotated[tuple[Service, ...], Field(max_length=20)] = ()
    generators: Annotated[tuple[Generator, ...], Field(max_length=20)] = ()
    transfer_switches: Annotated[tuple[TransferSwitch, ...], Field(max_length=20)] = ()
    double_throws: Annotated[tuple[DoubleThrow, ...], Field(max_length=20)] = ()
    panels: Annotated[tuple[Panel, ...], Field(max_length=60)] = ()
    feeders: Annotated[tuple[Feeder, ...], Field(max_length=120)] = ()
    solar: Annotated[tuple[SolarArray, ...], Field(max_length=20)] = ()
    batteries: Annotated[tuple[Battery, ...], Field(max_length=20)] = ()
    energy_groups: Annotated[tuple[EnergyGroup, ...], Field(max_length=20)] = ()
    demand_records: Annotated[tuple[DemandRecord, ...], Field(max_length=20)] = ()
    zones: Annotated[tuple[Zone, ...], Field(max_length=30)] = ()
    circuits: Annotated[tuple[Circuit, ...], Field(max_length=600)] = ()
    scenarios: Annotated[tuple[Scenario, ...], Field(max_length=100)] = ()
    clamp_readings: Annotated[tuple[ClampReading, ...], Field(max_length=200)] = ()

    @model_validator(mode="after")
    def _can_be_computed(self) -> Site:
        problems = problems_of_site(self)
        if problems:
            raise PydanticCustomError(
                "site",
                "{text}",
                {"text": "; ".join(map(str, problems)), "problems": problems},
            )
        return self

    def __hash__(self) -> int:
        return self.content_hash

    def __copy__(self) -> Site:
        copied = super().__copy__()
        for name in _KEPT:
            copied.__dict__.pop(name, None)
        return copied

    @cached_property
    def content_hash(self) -> int:
        """Hash of the whole document, worked out once: results are filed under it."""
        return hash(tuple(getattr(self, name) for name in Site.model_fields))

    @cached_property
    def circuit_by_id(self) -> dict[str, Circuit]:
        """Circuits by id."""
        return {c.id: c for c in self.circuits}

    @cached_property
    def panel_by_id(self) -> dict[str, Panel]:
        """Panels by id."""
        return {p.id: p for p in self.panels}

    @cached_property
    def feeders_into(self) -> dict[str, tuple[Feeder, ...]]:
        """Feeders by the element they land on."""
        into: dict[str, tuple[Feeder, ...]] = {}
        for feeder in self.feeders:
            into[feeder.to_id] = (*into.get(feeder.to_id, ()), feeder)
        return into

    @cached_property
    def feeders_from(self) -> dict[str, tuple[Feeder, ...]]:
        """Feeders by the element they start at."""
        found: dict[str, list[Feeder]] = {}
        for feeder in self.feeders:
            found.setdefault(feeder.from_id, []).append(feeder)
        return {start: tuple(feeders) for start, feeders in found.items()}

    @cached_property
    def circuits_in(self) -> dict[str, tuple[Circuit, ...]]:
        """Circuits by the panel they stand in, in the order of the site."""
        found: dict[str, list[Circuit]] = {}
        for circuit in self.circuits:
            found.setdefault(circuit.panel_id, []).append(circuit)
        return {panel: tuple(circuits) for panel, circuits in found.items()}

    @cached_property
    def name_of(self) -> dict[str, str]:
        """Display name of every source, switch, panel, feeder, circuit and zone by id."""
        parts: tuple[_Named, ...] = (
            *self.services,
            *self.generators,
            *self.transfer_switches,
            *self.double_throws,
            *self.panels,
            *self.feeders,
            *self.solar,
            *self.batteries,
            *self.energy_groups,
            *self.zones,
            *self.circuits,
        )
        return {part.id: part.name for part in parts}

    @property
    def watchable_ids(self) -> tuple[str, ...]:
        """Sources, switches, panels and feeders, whose amps a load manager can be held to."""
        return (
            *(s.id for s in self.services),
            *(g.id for g in self.generators),
            *(t.id for t in self.transfer_switches),
            *(d.id for d in self.double_throws),
            *(p.id for p in self.panels),
            *(f.id for f in self.feeders),
        )

    def feeder_into(self, element_id: str, to_input: str | None = None) -> Feeder | None:
        """The feeder on this input, or None."""
        for feeder in self.feeders_into.get(element_id, ()):
            if feeder.to_input == to_input:
                return feeder
        return None

    def circuit(self, circuit_id: str) -> Circuit:
        """The circuit with this id, or NotFoundError."""
        try:
            return self.circuit_by_id[circuit_id]
        except KeyError:
            raise NotFoundError(f"There is no circuit {circuit_id!r} on this site.") from None

    def panel(self, panel_id: str) -> Panel:
        """The panel with this id, or NotFoundError."""
        try:
            return self.panel_by_id[panel_id]
        except KeyError:
            raise NotFoundError(f"There is no panel {panel_id!r} on this site.") from None

    def scenario(self, scenario_id: str) -> Scenario:
        """The scenario with this id, or NotFoundError."""
        for scenario in self.scenarios:
            if scenario.id == scenario_id:
                return scenario
        raise NotFoundError(f"There is no scenario {scenario_id!r} on this site.")


_KEPT = tuple(name for name, part in vars(Site).items() if isinstance(part, cached_property))
"""What a site keeps once it is worked out, and a changed copy must not take along."""

__all__ = ["CodeEdition", "Id", "LocalAmendment", "Place", "Site", "Tariff"]
