"""Every address of the planner that can be read, filled in for one site."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fastapi import APIRouter

from server import api, web
from server.domain.site import Site

HEAVY = ("series.csv", "plot.json", "plot.bin")
"""Ends of addresses that send every step of a run."""


def _read_routes(router: Any) -> Iterator[str]:
    for route in router.routes:
        if hasattr(route, "original_router"):
            yield from _read_routes(route.original_router)
        elif "GET" in (getattr(route, "methods", None) or ()):
            yield route.path


def templates() -> tuple[str, ...]:
    """The paths of all pages and of the JSON interface, with their parameters unfilled."""
    routers: tuple[APIRouter, ...] = (web.router, api.router)
    found = [router.prefix + path for router in routers for path in _read_routes(router)]
    assert len(found) > 30
    return tuple(found)


def addresses_of(site_id: str, site: Site, *, heavy: bool = True) -> tuple[str, ...]:
    """Every page, fragment, file and document of a site, with its first part of every kind."""
    circuit = next((c for c in site.circuits if c.appliances), None) or next(
        iter(site.circuits), None
    )
    parts = {part_id: [part_id] for part_id in _supply_parts(site)}
    values: dict[str, list[str]] = {
        "site_id": [site_id],
        "circuit_id": [circuit.id] if circuit else [],
        "appliance_id": [circuit.appliances[0].id] if circuit and circuit.appliances else [],
        "scenario_id": [s.id for s in site.scenarios[:1]],
        "part_id": list(parts),
        "kind": list(_KINDS),
    }
    found = []
    for template in templates():
        if "{site_id}" not in template or (not heavy and template.endswith(HEAVY)):
            continue
        filled = [template]
        for name, choices in values.items():
            hole = f"{{{name}}}"
            filled = (
                [f.replace(hole, c) for f in filled for c in choices]
                if hole in template
                else (filled)
            )
        found += filled
    return tuple(path for path in found if "{" not in path)


def _supply_parts(site: Site) -> tuple[str, ...]:
    groups: tuple[tuple[Any, ...], ...] = (
        site.services,
        site.generators,
        site.transfer_switches,
        site.double_throws,
        site.panels,
        site.feeders,
        site.solar,
        site.batteries,
    )
    return tuple(group[0].id for group in groups if group)


_KINDS = tuple(web.supply.KINDS_OF_PART)
