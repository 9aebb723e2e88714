"""The breaker an interlock lets in from its inlet: it stands in the panel like any other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from server.domain.supply import TransferSwitch

if TYPE_CHECKING:
    from server.domain.site import Site


def backfed_breakers(site: Site) -> Iterator[tuple[int, TransferSwitch, str]]:
    """Each interlock that feeds a panel: its place in the site's list, itself, the panel's id."""
    panels = {p.id for p in site.panels}
    for i, switch in enumerate(site.transfer_switches):
        if switch.kind != "interlock":
            continue
        for feeder in site.feeders:
            if feeder.from_id == switch.id and feeder.to_id in panels:
                yield i, switch, feeder.to_id


def backfed_in(site: Site, panel_id: str) -> tuple[TransferSwitch, ...]:
    """The interlocks whose back-fed breaker stands in a panel."""
    return tuple(s for _, s, here in backfed_breakers(site) if here == panel_id)


def backfed_a(site: Site, switch: TransferSwitch) -> float:
    """Amps of that breaker: what is entered from the inlet, else the switch's rating. [A]"""
    feeder = site.feeder_into(switch.id, "generator")
    return switch.rating_a if feeder is None else feeder.breaker_a or switch.rating_a
