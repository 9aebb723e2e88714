"""The runs that a page of every scenario may use: those kept, and as many more as it may make."""

from __future__ import annotations

from collections.abc import Mapping

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.kept import ROOM_BYTES, size_of
from server.simulate.results import Run
from server.simulate.run import cached_run, kept_run

CELLS_A_PAGE = 2_000_000
"""Circuits times steps that one page runs anew: some seconds; common practice, no source."""


def some_runs(
    site: Site, *, cells: int = CELLS_A_PAGE, room_bytes: int = ROOM_BYTES
) -> dict[str, Run]:
    """Runs by id of their scenario, those that are kept and others up to so many cells.

    The first that is not kept is made whatever its size, where any may be made at all. A page
    names the scenarios that are missing.

    None is made once those of this site fill the room for kept runs: each would push another of
    them out, and every look at the page would make them all again.
    """
    wanted = site.scenarios if site.panels else ()
    found = {s.id: run for s in wanted if (run := kept_run(site, s)) is not None}
    sizes = [size_of(run) for run in found.values()]
    made = 0
    for scenario in wanted if cells else ():
        if scenario.id in found:
            continue
        if sum(sizes) + 2 * max(sizes, default=0) > room_bytes:
            break
        size = scenario.steps * max(len(site.circuits), 1)
        if made == 0 or made + size <= cells:
            made += size
            found[scenario.id] = cached_run(site, scenario)
            sizes.append(size_of(found[scenario.id]))
    return {s.id: found[s.id] for s in wanted if s.id in found}


def without_run(site: Site, runs: Mapping[str, Run]) -> tuple[Scenario, ...]:
    """The scenarios that are missing from these runs; none without a panel to run."""
    return tuple(s for s in site.scenarios if s.id not in runs) if site.panels else ()
