"""Circuits that are set to stay off and need not be, for the scenarios of a site."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.advice import all_holds
from server.advise.needed import new_harms
from server.domain.circuit import Circuit
from server.domain.errors import InputError
from server.domain.pairs import in_role, pair_of
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.rules.demand.left_off import left_off
from server.rules.words import listed
from server.simulate.results import Run
from server.simulate.run import cached_run, simulate

MOST_TRIED, MOST_SCENARIOS = 6, 8
"""Circuits and scenarios tried, some seconds of runs (common practice, no source)."""

_FIRST = ("must_serve", "important", "comfort", "deferrable")


@dataclass(frozen=True)
class Needless:
    """Circuits that may be on again, by name, and the site and this scenario's run with them on."""

    names: tuple[str, ...]
    site: Site
    run: Run

    @property
    def words(self) -> str:
        """The change as a command."""
        return f"Keep {listed(list(self.names))} on while the generator runs"

    @property
    def sentence(self) -> str:
        """What may be on again, and what the scenario comes to with it."""
        worst = self.run.verdict.worst
        nearest = (
            f"; here the nearest limit, {worst.point.name}, is then filled to "
            f"{worst.worst.percent:.0f} %"
            if worst is not None
            else ""
        )
        one = len(self.names) == 1
        return (
            f"{listed(list(self.names))} {'is' if one else 'are'} off for nothing and may be on "
            f"again: run so, every scenario of this site does as well as now{nearest}."
        )


def needless(run: Run) -> Needless | None:
    """What of a run that holds is off while a set could carry it, each tried by runs of its own.

    What matters most is put on first, then the smallest; one that makes any scenario of the site
    worse, or a set that a hand loads carry too much by the code, stays off.
    """
    site = run.site
    if len(site.scenarios) > MOST_SCENARIOS:
        return None
    # What a manager keeps off besides would stay off whatever its role.
    free = [c for c in site.circuits if c.appliances and c.energy_group_id is None]
    off = [c for c in free if c.outage_role == "off" and generator_can_energise(site, c.panel_id)]
    found: list[Circuit] = []
    now, with_them = site, run
    for circuit in sorted(off, key=_order)[:MOST_TRIED]:
        if circuit.id in {p.id for c in found for p in pair_of(site, c.id)}:
            continue
        then = in_role(now, circuit.id, "on")
        after = _as_well(run, then)
        if after is not None:
            now, with_them = then, after
            found.append(circuit)
    if not found:
        return None
    both = dict.fromkeys(p.name for c in found for p in pair_of(site, c.id))
    return Needless(tuple(both), now, with_them)


def _order(circuit: Circuit) -> tuple[int, float]:
    return _FIRST.index(circuit.load_class), sum(a.load_w for a in circuit.appliances)


def _as_well(run: Run, then: Site) -> Run | None:
    """The run of the scenario with a change that makes none of the site's worse, or None."""
    site = run.site
    if len(left_off(then)) > len(left_off(site)):
        return None
    here: Run | None = None
    for scenario in sorted(site.scenarios, key=lambda s: s.id != run.scenario.id):
        before = run if scenario.id == run.scenario.id else cached_run(site, scenario)
        try:
            after = simulate(then, scenario)
        except InputError:
            return None
        if not _fares(before, after):
            return None
        here = after if before is run else here
    return here


def _fares(before: Run, after: Run) -> bool:
    """Whether a run does no worse: as much holds, as surely, no new harm, no fuel more short."""
    held = all_holds(before)
    if held and all_holds(after) != held:
        return False
    if len(after.verdict.over) > len(before.verdict.over) or new_harms(before, after):
        return False
    if len(after.verdict.gaps) > len(before.verdict.gaps):
        return False
    short = {f.generator_id for f in before.fuel if f.eats_reserve or f.runs_dry}
    return all(f.generator_id in short or not (f.eats_reserve or f.runs_dry) for f in after.fuel)
