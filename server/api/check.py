"""What the published rules say about a site."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from server.api.parts import READS, Stored
from server.domain.site import CodeEdition
from server.rules.check import CheckReport, check_site

router = APIRouter(prefix="/sites/{site_id}", tags=["Published rules"])

EditionAsked = Annotated[
    CodeEdition | None,
    Query(
        description="Edition of the NEC (NFPA 70); the site’s own when left out.", examples=["2023"]
    ),
]


@router.get("/check", summary="Check a site by the published rules", responses=READS)
def get_check(stored: Stored, edition: EditionAsked = None) -> CheckReport:
    """Demand worksheets, feeder wiring and findings, each with its section and its mend tried."""
    return check_site(stored.site, edition=edition, recheck=True)
