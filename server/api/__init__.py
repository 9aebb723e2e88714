"""JSON under /api/v1. ``router`` carries it all."""

from __future__ import annotations

from fastapi import APIRouter, Depends

from server.api import check, circuits, scenarios, sites
from server.api.parts import checked_body

router = APIRouter(prefix="/api/v1", dependencies=[Depends(checked_body)])
router.include_router(sites.router)
router.include_router(circuits.router)
router.include_router(scenarios.router)
router.include_router(check.router)

__all__ = ["router"]
