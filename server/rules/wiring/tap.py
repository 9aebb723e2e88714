"""Wire that taps a feeder: no device where it starts, one at its end (240.21(B))."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.site import Site
from server.domain.supply import Feeder
from server.rules.editions import Figure, Rulebook
from server.rules.wiring.laid import SegmentWiring

WAYS = ("tap_short", "tap_long")
"""The shorter rule first; of each the most feet and the least part of the device ahead."""


@dataclass(frozen=True)
class Tap:
    """A run that may stand behind a device too large for it, by the main at its end.

    ``ahead_a`` is that device and ``end_a`` the main; ``figure`` is of the rule that lets it.
    """

    run_ft: float
    ahead_a: float
    end_a: float
    figure: Figure


def feeder_tap(
    site: Site,
    feeder: Feeder,
    segments: Iterable[SegmentWiring],
    *,
    ahead_a: float | None,
    rules: Rulebook,
) -> Tap | None:
    """Whether a run from a panel is a lawful tap by its length, its wire and the main at its end.

    Its ampacity is not under that main, nor under a tenth of the device ahead up to 10 ft or a
    third of it up to 25 ft; no next size up is open to it. That it lies in a raceway, or is else
    kept from damage, is for a person to look at.
    """
    end = site.panel_by_id.get(feeder.to_id)
    end_a = None if end is None else end.main_a
    from_panel = feeder.from_id in site.panel_by_id
    laid = tuple(segments)
    if feeder.breaker_a is not None or not from_panel or end_a is None or not laid:
        return None
    least_a = min(part.ampacity.final_a for part in laid)
    run_ft = sum(part.segment.run_ft for part in laid)
    if ahead_a is None or least_a < end_a:
        return None
    for way in WAYS:
        most, parts = rules.figure(f"{way}_ft"), rules.value(f"{way}_parts")
        if run_ft <= most.value and least_a * parts >= ahead_a:
            return Tap(run_ft, ahead_a, end_a, most)
    return None
