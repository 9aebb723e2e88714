"""Which edition of the code a sheet shows, and the report of a site by it."""

from __future__ import annotations

from functools import lru_cache
from typing import get_args

from server.domain import cautions
from server.domain.errors import InputError
from server.domain.site import CodeEdition, Site
from server.rules.check import CheckReport, check_site

EDITIONS: tuple[CodeEdition, ...] = get_args(CodeEdition)
CODE_CAUTIONS = tuple(c.key for c in cautions.CODE_CAUTIONS)


def chosen_edition(site: Site, edition: str) -> CodeEdition:
    """The edition asked for, the site's own where none is asked.

    Raises
    ------
    InputError   For an edition that is not here.
    """
    chosen = next((e for e in EDITIONS if e == edition.strip()), None)
    if chosen is None and edition.strip():
        raise InputError(
            f"There is no edition {edition.strip()[:20]!r} here; choose {', '.join(EDITIONS)}.",
            field="edition",
        )
    return chosen or site.code_edition


@lru_cache(maxsize=32)
def report_of(site: Site, edition: CodeEdition) -> CheckReport:
    """The report of a site by an edition, kept while there is room."""
    return check_site(site, edition=edition)


@lru_cache(maxsize=8)
def rechecked_report_of(site: Site, edition: CodeEdition) -> CheckReport:
    """The report of a site with every mend tried and checked again, kept while there is room."""
    return check_site(site, edition=edition, recheck=True)
