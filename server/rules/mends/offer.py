"""A mend worked into a copy of the site."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from server.domain.circuit import Circuit
from server.domain.edits import with_changes
from server.domain.errors import SiteFileError
from server.domain.finding import Finding
from server.domain.problems import problems_in
from server.domain.site import Site
from server.rules.editions import Rulebook


@dataclass(frozen=True)
class Offer:
    """One way to mend a finding: what is done, as it reads after “with”, and the site after it."""

    words: str
    site: Site


Maker = Callable[[Site, Finding, Rulebook], Iterator[Offer]]


def changed(site: Site, part: str, ids: Iterable[str], **changes: Any) -> Site:
    """The site with fields of these parts of one list changed.

    Raises
    ------
    SiteFileError   When the part or the site cannot be computed so.
    """
    wanted = set(ids)
    parts = getattr(site, part)
    try:
        new = tuple(
            type(p).model_validate(p.model_dump() | changes) if p.id in wanted else p for p in parts
        )
    except ValidationError as error:
        raise SiteFileError(problems_in(error)) from error
    return with_changes(site, **{part: new})


def with_circuits(site: Site, circuits: Iterable[Circuit], **changes: Any) -> Site:
    """The site with fields of these circuits changed.

    Raises
    ------
    SiteFileError   When the site cannot be computed so.
    """
    return changed(site, "circuits", (c.id for c in circuits), **changes)
