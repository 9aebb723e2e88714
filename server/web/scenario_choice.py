"""Which scenario a sheet shows, and what a sheet says where there is none."""

from __future__ import annotations

from server.domain.cautions import result_cautions, scenario_entry_cautions
from server.domain.scenario import Scenario
from server.domain.site import Site


def chosen_scenario(site: Site, scenario_id: str) -> Scenario | None:
    """The scenario asked for, the first one when nothing is asked, None when there is none.

    Raises
    ------
    NotFoundError   When a scenario is asked for that is not on this site.
    """
    if scenario_id:
        return site.scenario(scenario_id)
    return site.scenarios[0] if site.scenarios else None


def entry_cautions(site: Site, scenario: Scenario | None) -> tuple[str, ...]:
    """Keys of the cautions of a form of this scenario, or of a new one."""
    return tuple(c.key for c in scenario_entry_cautions(site, scenario))


def run_cautions(site: Site, scenario: Scenario | None, *, over: bool) -> tuple[str, ...]:
    """Keys of the cautions that stand under a result of this site and scenario."""
    return tuple(c.key for c in result_cautions(site, scenario, over=over))
