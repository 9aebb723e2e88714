"""A site as rows, and rows as a site.

A part is a plain JSON dictionary with its ``position`` added (and ``circuit_id`` on an
appliance). Parts are held by ``(table, id)``; the site's own figures are ``("sites", "")``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, Table, bindparam, select

from server.domain.errors import SiteFileError
from server.domain.problems import problems_in
from server.domain.site import Site
from server.store.tables import PARTS, SITES

Part = dict[str, Any]
PartKey = tuple[str, str]
Parts = dict[PartKey, Part]

SITE_KEY: PartKey = ("sites", "")
GAP = 1024

_LISTS = tuple(name for name in PARTS if name != "appliances")
_ADDED = ("position", "circuit_id")
_SITE_COLUMNS = ("name", "code_edition", "people")
_PART_COLUMNS = {
    name: tuple(c.name for c in table.columns if c.name not in {"site_id", "body"})
    for name, table in PARTS.items()
}
_READ = {
    name: select(*(c for c in table.columns if c.name != "site_id")).where(
        table.c.site_id == bindparam("site")
    )
    for name, table in PARTS.items()
}


def parts_of(site: Site, current: Parts | None = None) -> Parts:
    """The parts of a site, placed so that as few as possible change place since ``current``."""
    data = site.model_dump(mode="json")
    current = current or {}
    parts: Parts = {}
    for table in _LISTS:
        members = data.pop(table)
        _add(parts, table, members, current)
    for circuit_id, circuit in [(key[1], p) for key, p in parts.items() if key[0] == "circuits"]:
        members = [a | {"circuit_id": circuit_id} for a in circuit.pop("appliances")]
        _add(parts, "appliances", members, current)
    parts[SITE_KEY] = data
    return parts


def _add(parts: Parts, table: str, members: list[Part], current: Parts) -> None:
    before = [current.get((table, m["id"]), {}).get("position") for m in members]
    for member, position in zip(members, placed(before), strict=True):
        parts[table, member["id"]] = member | {"position": position}


def placed(before: Iterable[int | None]) -> list[int]:
    """Rising positions for a list whose members had these positions before (None: new).

    Members keep theirs while that still gives the order; new ones go between or behind.

    >>> placed([1024, 3072, None])
    [1024, 3072, 4096]
    >>> placed([1024, None, 2048])
    [1024, 1536, 2048]
    >>> placed([2048, 1024])
    [1024, 2048]
    """
    wanted = list(before)
    fresh = [GAP * (i + 1) for i in range(len(wanted))]
    kept = [p for p in wanted if p is not None]
    if any(b <= a for a, b in pairwise(kept)):
        return fresh
    given: list[int] = []
    last = 0
    for i, held in enumerate(wanted):
        following = next((p for p in wanted[i:] if p is not None), None)
        between = last + GAP if following is None else (last + following) // 2
        position = between if held is None else held
        if position <= last:
            return fresh
        given.append(position)
        last = position
    return given


def site_from(parts: Parts) -> Site:
    """The site that these parts make.

    Raises
    ------
    SiteFileError   When they do not make one that can be computed.
    """
    data: dict[str, Any] = dict(parts[SITE_KEY]) | {table: [] for table in _LISTS}
    of_circuit: dict[str, list[Part]] = {}
    ordered = sorted((k for k in parts if k != SITE_KEY), key=lambda k: parts[k]["position"])
    for key in ordered:
        part = parts[key]
        plain = {name: value for name, value in part.items() if name not in _ADDED}
        if key[0] == "appliances":
            of_circuit.setdefault(part["circuit_id"], []).append(plain)
        else:
            data[key[0]].append(plain)
    for circuit in data["circuits"]:
        circuit["appliances"] = of_circuit.get(circuit["id"], [])
    try:
        return Site.model_validate(data)
    except ValidationError as error:
        raise SiteFileError(problems_in(error)) from error


def read_parts(connection: Connection, site_id: str) -> Parts:
    """All parts of a site as they lie in the tables."""
    own = connection.execute(select(SITES).where(SITES.c.id == site_id)).mappings().one()
    body = own["body"]
    place = body["place"] | {"name": own["place_name"]}
    parts: Parts = {SITE_KEY: body | {n: own[n] for n in _SITE_COLUMNS} | {"place": place}}
    for table, query in _READ.items():
        for row in connection.execute(query, {"site": site_id}).mappings():
            part = dict(row)
            parts[table, part["id"]] = part | part.pop("body")
    return parts


def site_values(part: Part) -> dict[str, Any]:
    """Column values of the site's own row."""
    rest = {name: value for name, value in part.items() if name not in _SITE_COLUMNS}
    place = dict(rest["place"])
    own = {name: part[name] for name in _SITE_COLUMNS}
    return own | {"place_name": place.pop("name"), "body": rest | {"place": place}}


def part_values(table: str, site_id: str, part: Part) -> dict[str, Any]:
    """Column values of one part's row."""
    columns = _PART_COLUMNS[table]
    body = {name: value for name, value in part.items() if name not in columns}
    return {name: part[name] for name in columns} | {"site_id": site_id, "body": body}


def write_parts(
    connection: Connection, site_id: str, changed: Mapping[PartKey, Part | None], *, present: Parts
) -> None:
    """Write parts (None: remove them) over those ``present`` in the tables.

    Parts are put from what is pointed at to what points at it, and removed the other way round,
    so every row always has what it points at. The site's own row is left to the caller.
    """
    for name, table in PARTS.items():
        put = {k: p for k, p in changed.items() if k[0] == name and p is not None}
        new = [part_values(name, site_id, p) for k, p in put.items() if k not in present]
        if new:
            connection.execute(table.insert(), new)
        for key in put.keys() & present.keys():
            values = part_values(name, site_id, put[key])
            connection.execute(table.update().where(*_is(table, site_id, key[1])), values)
    for name, table in reversed(PARTS.items()):
        for key in [k for k, p in changed.items() if k[0] == name and p is None]:
            connection.execute(table.delete().where(*_is(table, site_id, key[1])))


def _is(table: Table, site_id: str, part_id: str) -> tuple[Any, Any]:
    return table.c.site_id == site_id, table.c.id == part_id
