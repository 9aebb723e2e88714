"""Circuits that are set to stay off and need not be, for the scenarios of a site."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from server.advise.advice import advice_on, all_holds
from server.advise.doubt import doubtful_start
from server.advise.needed import new_harms, start_left_off
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

SAME_A, SAME_GAL, SAME_DIP = 0.05, 0.05, 0.005
"""Within which a peak, what is burnt and a dip count as no worse (common practice, no source)."""

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
    worse, asks more of a start or of what fails already, or has a set that a hand loads carry too
    much by the code, stays off: else the next step would ask to take it off again.
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
        after = _as_well(now, run, then, {p.id for p in pair_of(site, circuit.id)})
        if after is not None:
            now, with_them = then, after
            found.append(circuit)
    if not found:
        return None
    both = dict.fromkeys(p.name for c in found for p in pair_of(site, c.id))
    return Needless(tuple(both), now, with_them)


def _order(circuit: Circuit) -> tuple[int, float]:
    return _FIRST.index(circuit.load_class), sum(a.load_w for a in circuit.appliances)


def _as_well(now: Site, run: Run, then: Site, put_on: Collection[str]) -> Run | None:
    """The run of the scenario with a change that makes none of the site's worse, or None."""
    if len(left_off(then)) > len(left_off(now)):
        return None
    here: Run | None = None
    for scenario in sorted(now.scenarios, key=lambda s: s.id != run.scenario.id):
        before = run if scenario.id == run.scenario.id else cached_run(run.site, scenario)
        try:
            after = simulate(then, scenario)
        except InputError:
            return None
        if not _fares(before, after) or _asked_off(after, put_on):
            return None
        here = after if scenario.id == run.scenario.id else here
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
    return _starts_as_well(before, after) and _over_no_more(before, after)


def _starts_as_well(before: Run, after: Run) -> bool:
    """Whether no start is past what its set bears that was not, and none dips deeper."""
    was = _dips(before)
    return len(advice_on(after).never_start) <= len(advice_on(before).never_start) and all(
        dip <= was.get(which, 0.0) + SAME_DIP for which, dip in _dips(after).items()
    )


def _dips(run: Run) -> dict[tuple[str, str, frozenset[str]], float]:
    """Dips of the starts that a set cannot bear, by the set, the kind and the motors."""
    return {
        (one.generator_id, s.kind, frozenset(m.appliance.id for m in s.motors)): s.dip
        for one in advice_on(run).starts
        for s in one.starts
        if s.status == "over" and s.kind != "pair"
    }


def _over_no_more(before: Run, after: Run) -> bool:
    """Whether limits that are passed are passed by no more, and fuel that is short no shorter."""
    peaks = {r.point.id: r.worst.peak_a for r in before.verdict.over}
    if any(r.worst.peak_a > peaks.get(r.point.id, 0.0) + SAME_A for r in after.verdict.over):
        return False
    used = {f.generator_id: f.used_gal for f in before.fuel if f.eats_reserve or f.runs_dry}
    return all(
        f.used_gal <= used.get(f.generator_id, 0.0) + SAME_GAL
        for f in after.fuel
        if f.eats_reserve or f.runs_dry
    )


def _asked_off(after: Run, put_on: Collection[str]) -> bool:
    """Whether the mend of a start that is in doubt would take off what was put on."""
    worst = doubtful_start(advice_on(after).starts)
    lever = start_left_off(after, *worst) if worst is not None else None
    return lever is not None and lever.circuit_id in put_on
