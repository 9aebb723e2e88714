"""What the API takes and gives, beside the nouns of a site themselves."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from server.domain.base import Id, Part
from server.domain.circuit import Circuit
from server.domain.panel import Space
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.topology import BusKind
from server.simulate.odds_views import OddsSummary
from server.simulate.views import RunSeries, RunSummary

Revision = Annotated[
    int,
    Field(ge=1, le=2**31 - 1, description="The revision your edit began from.", examples=[4]),
]
Seed = Annotated[int, Field(ge=0, lt=2**63, description="Seed of the draw.", examples=[1])]
DrawCount = Annotated[
    int,
    Field(ge=1, le=1000, description="How many draws to sum up as odds.", examples=[200]),
]


class _Given(BaseModel):
    model_config = ConfigDict(from_attributes=True, frozen=True)


class FieldProblem(BaseModel):
    """One field to mend."""

    field: str
    message: str


class ProblemDocument(BaseModel):
    """What failed and how to mend it (RFC 9457)."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "type": "about:blank",
                    "title": "Somebody saved first",
                    "status": 409,
                    "detail": "Somebody saved this site first; nothing was written.",
                    "revision": 5,
                }
            ]
        }
    )

    type: str
    title: str
    status: int
    detail: str
    problems: list[FieldProblem] = []
    revision: int | None = Field(None, description="The current revision, after a stale edit.")


class SiteListed(_Given):
    """A site in the list."""

    id: str
    name: str
    place: str
    revision: int
    saved_at: datetime
    circuits: int
    deleted_at: datetime | None


class SiteSaved(_Given):
    """A site as saved, with what undo and redo would do."""

    id: str
    revision: int
    undo_label: str | None
    redo_label: str | None
    saved_at: datetime
    site: Site


class ChangeListed(_Given):
    """One recorded change."""

    seq: int
    label: str
    made_at: datetime
    state: str


class SiteEdit(Part):
    """A whole site to put in place of the one at this revision."""

    revision: Revision
    site: Site


class BaseRevision(Part):
    """The revision an undo or redo is meant for; leave it out to take the current one."""

    revision: Revision | None = None


class CircuitEdit(Part):
    """A circuit to add or to put in place of the one with its id."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "revision": 4,
                    "circuit": {
                        "id": "porch-lights",
                        "name": "Porch lights",
                        "panel_id": "main",
                        "spaces": [9],
                        "breaker_a": 15,
                        "appliances": [{"id": "porch-lamps", "name": "Porch lamps", "load_w": 60}],
                    },
                }
            ]
        }
    )

    revision: Revision
    circuit: Circuit


class ScenarioEdit(Part):
    """A scenario to add or to put in place of the one with its id."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "revision": 4,
                    "scenario": {
                        "id": "evening-outage",
                        "name": "Evening outage",
                        "start": "2026-11-26T12:00:00",
                        "span_h": 12,
                        "outages": [{"start": "2026-11-26T17:00:00", "end": "2026-11-26T20:00:00"}],
                    },
                }
            ]
        }
    )

    revision: Revision
    scenario: Scenario


class MoveEdit(Part):
    """A circuit to move to a panel; without ``spaces`` the first that fit are taken."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"revision": 4, "circuit_id": "well-pump", "panel_id": "backed-up"}]
        }
    )

    revision: Revision
    circuit_id: Id
    panel_id: Id
    spaces: Annotated[tuple[Space, ...], Field(min_length=1, max_length=2)] | None = None


class PinEdit(Part):
    """A circuit to pin to its bus, or to let go."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"revision": 4, "circuit_id": "well-pump", "pinned": True}]}
    )

    revision: Revision
    circuit_id: Id
    pinned: bool


class BusPanel(BaseModel):
    """A panel of a bus, and the whole spaces it has left."""

    id: str
    name: str
    spaces: int
    free_spaces: tuple[int, ...]


class BusAssignment(BaseModel):
    """A bus with its panels and the circuits assigned to it."""

    id: str
    name: str
    kind: BusKind
    root_id: str
    panels: tuple[BusPanel, ...]
    circuits: tuple[Circuit, ...]


class Assignment(BaseModel):
    """Every bus of a site, and the revision this was read at."""

    revision: int
    buses: tuple[BusAssignment, ...]


class CircuitList(BaseModel):
    """The circuits of a site, and the revision they were read at."""

    revision: int
    circuits: tuple[Circuit, ...]


class ScenarioList(BaseModel):
    """The scenarios of a site, and the revision they were read at."""

    revision: int
    scenarios: tuple[Scenario, ...]


class RunAsked(Part):
    """How to run a scenario: its own seed unless given, step by step only when asked.

    ``draws`` runs it so many times and adds the odds.
    """

    seed: Seed | None = None
    series: bool = False
    draws: DrawCount | None = None


class RunAnswer(BaseModel):
    """A run, the revision it was made of, and its series when asked for."""

    site_id: str
    revision: int
    summary: RunSummary
    series: RunSeries | None = None
    odds: OddsSummary | None = None
