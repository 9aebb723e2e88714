"""Pages and fragments, rendered on the server. ``router`` carries them all."""

from __future__ import annotations

from fastapi import APIRouter, Depends

from server.web import (
    appliances,
    bench,
    bulk,
    buses,
    buses_elsewhere,
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
    survey_found,
    wiring,
)
from server.web.ready import kernels_ready

router = APIRouter(include_in_schema=False)
for part in (
    preferences,
    sites,
    start,
    settings,
    supply,
    circuits,
    circuit_rows,
    paste,
    bulk,
    spaces,
    appliances,
    new_scenario,
    scenario_weather,
    odds,
    wiring,
    bench,
    survey,
    survey_found,
    glossary,
    keys,
):
    router.include_router(part.router)
for part in (
    house,
    overview,
    buses,
    buses_elsewhere,
    buses_likely,
    scenario_list,
    relief,
    compare,
    runs,
    demand,
    findings,
    clamp,
):
    router.include_router(part.router, dependencies=[Depends(kernels_ready)])

__all__ = ["router"]
