"""The figure of a worksheet that is held against a rating, one for findings, pages and terminal."""

from __future__ import annotations

from server.domain.site import Site
from server.rules.demand.report import ElementDemand
from server.rules.demand.worksheet import Worksheet, round_half_up


def held_a(site: Site, element: ElementDemand, sheet: Worksheet) -> float:
    """Amps held against the rating: with 25 % more for what runs three hours or longer. [A]

    That is a rule for devices and conductors, not for a generator's output, nor behind a device
    listed for all of its rating (210.20(A) exception, 215.3 exception 1).
    """
    full = any(f.id == element.element_id and f.full_rated for f in site.feeders)
    return sheet.leg_a if full or element.kind == "generator" else sheet.needed_a


def holds(site: Site, element: ElementDemand, sheet: Worksheet) -> bool | None:
    """Whether that, to the nearest ampere, is within the rating; None without a rating."""
    if sheet.existing_a is None:
        return None
    return round_half_up(held_a(site, element, sheet)) <= sheet.existing_a
