"""Pages and fragments, rendered on the server. ``router`` carries them all."""

from __future__ import annotations

from fastapi import APIRouter

from server.web import appliances, circuits, overview, preferences, settings, sites

router = APIRouter(include_in_schema=False)
for part in (preferences, sites, settings, overview, circuits, appliances):
    router.include_router(part.router)

__all__ = ["router"]
