"""Which scenario a sheet shows, and what a sheet says where there is none."""

from __future__ import annotations

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


def run_cautions(site: Site, *, over: bool) -> tuple[str, ...]:
    """Keys of the cautions that stand under every result of this site."""
    keys = ["planning-aid"]
    if over:
        keys.append("overload")
    if site.generators:
        keys += ["backfeed", "exhaust", "co-alarms"]
    if any(c.load_class == "must_serve" for c in site.circuits):
        keys.append("medical")
    if site.double_throws or any(t.handles for t in site.transfer_switches):
        keys.append("throwing")
    if site.solar:
        keys.append("solar")
    return (*keys, "result")
