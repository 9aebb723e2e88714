"""Pages and fragments, rendered on the server. ``router`` carries them all."""

from __future__ import annotations

from fastapi import APIRouter

router = APIRouter(include_in_schema=False)

__all__ = ["router"]
