"""The runs that a page of every scenario may use: those kept, and as many more as it may make."""

from __future__ import annotations

from collections.abc import Mapping

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import Run
from server.simulate.run import cached_run, kept_run

CELLS_A_PAGE = 2_000_000
"""Circuits times steps that one page runs anew: some seconds; common practice, no source."""


def some_runs(site: Site, *, cells: int = CELLS_A_PAGE) -> dict[str, Run]:
    """Runs by id of their scenario, those that are kept and others up to so many cells.

    The first that is not kept is made whatever its size, where any may be made at all. A page
    names the scenarios that are missing.
    """
    found: dict[str, Run] = {}
    made = 0
    for scenario in site.scenarios if site.panels else ():
        run = kept_run(site, scenario)
        if run is None and cells:
            size = scenario.steps * max(len(site.circuits), 1)
            if made == 0 or made + size <= cells:
                made += size
                run = cached_run(site, scenario)
        if run is not None:
            found[scenario.id] = run
    return found


def without_run(site: Site, runs: Mapping[str, Run]) -> tuple[Scenario, ...]:
    """The scenarios that are missing from these runs; none without a panel to run."""
    return tuple(s for s in site.scenarios if s.id not in runs) if site.panels else ()
