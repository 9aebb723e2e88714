"""The tables. A row holds one part of a site: its key figures in typed columns, the rest as JSON.

Rows of a site are found by ``(site_id, id)``; ``position`` keeps the order of its list.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar, TypeAlias

from sqlalchemy import JSON, ForeignKeyConstraint, LargeBinary, MetaData, Row
from sqlalchemy import Table as SqlTable
from sqlmodel import Field, SQLModel

from server.store.columns import LocalTimeText, Moment

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Table(SQLModel):
    """Base of every table: one metadata with named constraints."""

    metadata: ClassVar[MetaData] = MetaData(naming_convention=NAMES)


def _in_panel() -> tuple[ForeignKeyConstraint]:
    return (ForeignKeyConstraint(["site_id", "panel_id"], ["panels.site_id", "panels.id"]),)


class SiteRow(Table, table=True):
    """A site: its own figures, and where its history stands.

    ``head_seq`` is the newest change that is in force; 0 is the site as it was created.
    """

    __tablename__ = "sites"

    id: str = Field(primary_key=True, max_length=64)
    name: str = Field(max_length=80)
    place_name: str = Field(max_length=80)
    code_edition: str = Field(max_length=8)
    people: int
    body: dict[str, Any] = Field(sa_type=JSON)
    revision: int
    head_seq: int
    saved_at: datetime = Field(sa_type=Moment)
    deleted_at: datetime | None = Field(default=None, sa_type=Moment)


class ChangeRow(Table, table=True):
    """One recorded edit: what each part it touched was before and after.

    Undone changes have a ``seq`` above their site's ``head_seq``. ``dropped`` ones were undone
    and then passed by with another edit, so they cannot come back.
    """

    __tablename__ = "changes"

    site_id: str = Field(primary_key=True, foreign_key="sites.id", max_length=64)
    seq: int = Field(primary_key=True)
    label: str = Field(max_length=200)
    made_at: datetime = Field(sa_type=Moment)
    dropped: bool = False
    parts: list[dict[str, Any]] = Field(sa_type=JSON)


class _PartRow(Table):
    site_id: str = Field(primary_key=True, foreign_key="sites.id", max_length=64)
    id: str = Field(primary_key=True, max_length=48)
    position: int
    name: str = Field(max_length=80)
    body: dict[str, Any] = Field(sa_type=JSON)


class ServiceRow(_PartRow, table=True):
    """A utility service."""

    __tablename__ = "services"

    system: str = Field(max_length=8)
    main_a: float


class GeneratorRow(_PartRow, table=True):
    """A generator."""

    __tablename__ = "generators"

    rated_kw: float
    system: str = Field(max_length=8)
    fuel: str = Field(max_length=16)
    portable: bool


class TransferSwitchRow(_PartRow, table=True):
    """A transfer switch, interlock or handle set."""

    __tablename__ = "transfer_switches"

    kind: str = Field(max_length=16)
    rating_a: float


class DoubleThrowRow(_PartRow, table=True):
    """A hand-thrown switch between two feeders."""

    __tablename__ = "double_throws"

    rating_a: float
    resting: str = Field(max_length=16)


class PanelRow(_PartRow, table=True):
    """A panelboard."""

    __tablename__ = "panels"

    rating_a: float
    main_a: float | None = None
    spaces: int


class FeederRow(_PartRow, table=True):
    """A feeder; its ends are sources, switches or panels, so they are no foreign keys."""

    __tablename__ = "feeders"

    from_id: str = Field(max_length=48)
    to_id: str = Field(max_length=48)
    to_input: str | None = Field(default=None, max_length=16)
    breaker_a: float | None = None


class SolarRow(_PartRow, table=True):
    """A solar array."""

    __tablename__ = "solar"
    __table_args__ = _in_panel()

    panel_id: str = Field(max_length=48)
    dc_kw: float
    ac_kw: float


class BatteryRow(_PartRow, table=True):
    """A house battery."""

    __tablename__ = "batteries"
    __table_args__ = _in_panel()

    panel_id: str = Field(max_length=48)
    usable_kwh: float
    grid_forming: bool


class ZoneRow(_PartRow, table=True):
    """A heated or cooled part of the house."""

    __tablename__ = "zones"

    heat_setpoint_f: float
    cool_setpoint_f: float


class CircuitRow(_PartRow, table=True):
    """A branch circuit, without its appliances."""

    __tablename__ = "circuits"
    __table_args__ = _in_panel()

    panel_id: str = Field(max_length=48)
    poles: int
    breaker_a: float
    load_class: str = Field(max_length=16)
    outage_role: str = Field(max_length=16)
    pinned: bool


class ApplianceRow(_PartRow, table=True):
    """An appliance on a circuit."""

    __tablename__ = "appliances"
    __table_args__ = (
        ForeignKeyConstraint(["site_id", "circuit_id"], ["circuits.site_id", "circuits.id"]),
    )

    circuit_id: str = Field(max_length=48)
    kind: str = Field(max_length=48)
    volts: int
    load_w: float
    figure_source: str = Field(max_length=16)


class ScenarioRow(_PartRow, table=True):
    """A scenario."""

    __tablename__ = "scenarios"

    start: str = Field(sa_type=LocalTimeText)
    span_h: float
    step_s: int


class PhotoRow(Table, table=True):
    """A photo, once for every site and every point of their histories that names it."""

    __tablename__ = "photos"

    id: str = Field(primary_key=True, max_length=64)
    media_type: str = Field(max_length=16)
    width_px: int
    height_px: int
    taken_in_at: datetime = Field(sa_type=Moment)
    data: bytes = Field(sa_type=LargeBinary)


AnyRow: TypeAlias = Row[*tuple[Any, ...]]

SITES: SqlTable = Table.metadata.tables["sites"]
CHANGES: SqlTable = Table.metadata.tables["changes"]
PHOTOS: SqlTable = Table.metadata.tables["photos"]

PARTS: dict[str, SqlTable] = {
    name: Table.metadata.tables[name]
    for name in (
        "services",
        "generators",
        "transfer_switches",
        "double_throws",
        "panels",
        "feeders",
        "solar",
        "batteries",
        "zones",
        "circuits",
        "appliances",
        "scenarios",
    )
}
"""Part tables by name, what is pointed at before what points at it."""
