"""Pages and fragments, rendered on the server. ``router`` carries them all."""

from __future__ import annotations

from fastapi import APIRouter

from server.web import (
    appliances,
    bench,
    bulk,
    buses,
    buses_likely,
    circuit_rows,
    circuits,
    clamp,
    compare,
    demand,
    findings,
    glossary,
    house,
    keys,
    new_scenario,
    odds,
    overview,
    paste,
    preferences,
    relief,
    runs,
    scenario_list,
    scenario_weather,
    settings,
    sites,
    spaces,
    start,
    supply,
    survey,
    wiring,
)

router = APIRouter(include_in_schema=False)
for part in (
    preferences,
    sites,
    spaces,
    start,
    settings,
    supply,
    house,
    overview,
    buses,
    buses_likely,
    circuits,
    circuit_rows,
    paste,
    bulk,
    spaces,
    appliances,
    new_scenario,
    scenario_list,
    scenario_weather,
    relief,
    odds,
    compare,
    runs,
    demand,
    wiring,
    bench,
    findings,
    clamp,
    survey,
    glossary,
    keys,
):
    router.include_router(part.router)

__all__ = ["router"]
