"""When a double-throw keeps a set under load that no transfer switch takes off it."""

from __future__ import annotations

from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.supply import Generator
from server.domain.topology import sources_above


def under_load(
    site: Site, scenario: Scenario, generator: Generator
) -> tuple[tuple[float, float], ...]:
    """Stretches on BACKED-UP that end by a throw to NORMAL, with this set alone behind them. [s]

    Whoever throws the switch stops the set after it, and not before; one that is never thrown back
    keeps no set up.
    """
    if any(f.from_id == generator.id and f.to_input == "generator" for f in site.feeders):
        return ()
    found: list[tuple[float, float]] = []
    for throw in site.double_throws:
        feeder = site.feeder_into(throw.id, "backed_up")
        if feeder is None or sources_above(site, feeder.from_id) != {generator.id}:
            continue
        since = float("-inf") if throw.resting == "backed_up" else None
        for move in sorted(scenario.switch_moves, key=lambda m: m.at):
            at_s = (move.at - scenario.start).total_seconds()
            if move.switch_id != throw.id:
                continue
            if move.position == "normal" and since is not None:
                found.append((since, at_s))
                since = None
            elif move.position == "backed_up" and since is None:
                since = at_s
    return tuple(found)
