"""How hard a set works: too much for a standby rating, too little for a diesel, off its sheet."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from server.domain.finding import Finding
from server.domain.scenario import Scenario
from server.domain.supply import Generator
from server.physics.engine_set import UNIT_OF_FUEL
from server.physics.fuel_curve import ENOUGH_POINTS
from server.simulate.burn import fuel_used
from server.simulate.limits import site_kw
from server.simulate.prepared import Marched, Prepared
from server.simulate.stock import share_inside
from server.simulate.weather import warmest_f

Floats = NDArray[np.float64]

_NOTHING_W = 1.0

STANDBY_SHARE = 0.70
"""A day's mean of a standby rating. Source: ISO 8528-1:2018, emergency standby power, permissible
average over 24 h; from memory."""

LIGHT_SHARE = 0.30
"""Below it a diesel runs too cool, and for the day's mean less counts as this much. Source: ISO
8528-1 (how the average is taken) and NFPA 110 (exercise at 30 % of nameplate or more); from
memory."""

DAY_H = 24.0
LEAST_RUN_H = 6.0
"""A stretch with less running than this says nothing of a day's work (common practice, no
source)."""

OFF_SHEET_SHARE = 0.1
"""Of a set's hours outside its sheet, from which they are told (common practice, no source)."""

IDLE_H = 1.0
"""An engine that turns for longer with nothing on it is told (common practice, no source)."""

MOST_TRIES = 3
"""Tries after which the control of a set may stop cranking. Source: NFPA 110, from memory."""


def set_findings(ready: Prepared, marched: Marched) -> tuple[Finding, ...]:
    """A finding for each set loaded too much for its day's mean, too little, or off its sheet."""
    site, cells = ready.site, ready.supply.cells
    found: list[Finding] = []
    for g, generator in enumerate(site.generators):
        watts = marched.source_w[len(site.services) + g]
        run_h = ready.running[g] * cells.dt_s / 3600.0
        gives_kw = site_kw(site, generator, warmest_f(ready.scenario.weather))
        found += _over(generator, day_mean_kw(generator, watts, run_h, cells.start_s), gives_kw)
        found += _light(generator, watts, run_h)
        found += _off_sheet(generator, watts, run_h)
        found += _idles(ready, generator, watts, run_h)
        found += _cranks_long(generator, ready.scenario, ran=bool(run_h.any()))
    return tuple(found)


def day_mean_kw(generator: Generator, watts: Floats, run_h: Floats, start_s: Floats) -> float:
    """Highest mean over the running time of any 24 h, with little load counted as 30 %. [kW]

    ``watts``, ``run_h`` and ``start_s`` are (cells,): power given, hours run, start. Days begin on
    every whole hour; one with under six hours of running is passed over.
    """
    least_w = LIGHT_SHARE * generator.rated_kw * 1000.0
    energy = np.append(0.0, np.cumsum(np.maximum(watts, least_w * (run_h > 0.0)) * run_h))
    hours = np.append(0.0, np.cumsum(run_h))
    begins = np.arange(0.0, start_s[-1] + 3600.0, 3600.0)
    first = np.searchsorted(start_s, begins - 1e-6)
    last = np.searchsorted(start_s, begins + DAY_H * 3600.0 - 1e-6)
    ran = hours[last] - hours[first]
    enough = ran >= LEAST_RUN_H
    if not enough.any():
        return 0.0
    means = (energy[last] - energy[first])[enough] / ran[enough]
    return float(means.max()) / 1000.0


def _over(generator: Generator, mean_kw: float, gives_kw: float) -> tuple[Finding, ...]:
    """``gives_kw`` is what it can give here: thin and hot air take from the mean too."""
    limit_kw = STANDBY_SHARE * gives_kw
    here = f"its {generator.rated_kw:g} kW"
    if gives_kw < generator.rated_kw - 1e-9:
        here = f"the {gives_kw:.1f} kW that it can give at this altitude and heat"
    if generator.portable or mean_kw <= limit_kw * (1.0 + 1e-9):
        return ()
    return (
        Finding(
            code="set-day-mean-high",
            severity="warning",
            element_id=generator.id,
            text=(
                f"{generator.name} gives {mean_kw:.1f} kW on average over a day of this run: more "
                f"than 70 % of {here}, which is all that a standby rating is for "
                f"({limit_kw:.1f} kW)."
            ),
            mend="Run less through the day, or ask for a set with a prime rating.",
            source=(
                "ISO 8528-1:2018, emergency standby power: average over 24 h of running, with "
                "less than 30 % counted as 30 % (from memory)."
            ),
            value=mean_kw,
            limit=limit_kw,
            unit="kW",
        ),
    )


def _light(generator: Generator, watts: Floats, run_h: Floats) -> tuple[Finding, ...]:
    """A diesel that runs for more than half its hours, and six in all, under 30 %."""
    if generator.fuel != "diesel":
        return ()
    light_h = float(run_h[watts < LIGHT_SHARE * generator.rated_kw * 1000.0].sum())
    if light_h < LEAST_RUN_H or light_h <= 0.5 * float(run_h.sum()):
        return ()
    return (
        Finding(
            code="diesel-light-load",
            severity="note",
            element_id=generator.id,
            text=(
                f"{generator.name} runs {light_h:.0f} of its {float(run_h.sum()):.0f} h under 30 % "
                f"of {generator.rated_kw:g} kW: a diesel that long at light load collects unburnt "
                "fuel in its exhaust."
            ),
            mend="Heat water or charge a car while it runs, or stop it for hours at a time.",
            source="NFPA 110 asks for 30 % of nameplate when exercised (from memory).",
            value=light_h,
            unit="h",
        ),
    )


def _off_sheet(generator: Generator, watts: Floats, run_h: Floats) -> tuple[Finding, ...]:
    """A set whose burn is read outside its sheet for a tenth of its hours or more.

    With fewer than three points all of its burn is told as a guess already.
    """
    told_kw = sorted({p.at_kw(generator.rated_kw) for p in generator.fuel_points})
    if len(told_kw) < ENOUGH_POINTS:
        return ()
    low_kw, high_kw = told_kw[0], told_kw[-1]
    under_h = float(run_h[watts < low_kw * 1000.0 - 1.0].sum())
    over_h = float(run_h[watts > high_kw * 1000.0 + 1.0].sum())
    all_h = float(run_h.sum())
    where = [f"{under_h:.1f} h under {low_kw:g} kW"] * (under_h > 0.0)
    where += [f"{over_h:.1f} h over {high_kw:g} kW"] * (over_h > 0.0)
    if all_h <= 0.0 or under_h + over_h < OFF_SHEET_SHARE * all_h:
        return ()
    return (
        Finding(
            code="set-off-its-sheet",
            severity="note",
            element_id=generator.id,
            text=(
                f"{generator.name} runs {' and '.join(where)} of its {all_h:.1f} h, where no point "
                "of its sheet is entered: what it burns there is a guess, on the line of the "
                "nearest two points."
            ),
            mend=(
                "Ask its maker what it burns at less load."
                if under_h >= over_h
                else "Ask its maker what it burns at more load."
            ),
            source="The points entered of its sheet and this run.",
            value=under_h + over_h,
            unit="h",
        ),
    )


def _idles(
    ready: Prepared, generator: Generator, watts: Floats, run_h: Floats
) -> tuple[Finding, ...]:
    """A set that starts by itself in an outage and turns with nothing on it, with what it burns.

    Only through hours without a break: between two turns of a freezer nobody stops a set.
    """
    cells, site = ready.supply.cells, ready.site
    out = share_inside(cells, ready.timeline.outages) > 0.0
    idle_h = np.where(_long(out & (watts < _NOTHING_W), run_h), run_h, 0.0)
    hours = float(idle_h.sum())
    if generator.start != "automatic" or hours < IDLE_H:
        return ()
    burnt = fuel_used(
        generator,
        watts=np.zeros_like(watts),
        running=idle_h * 3600.0 / cells.dt_s,
        cell_s=cells.dt_s,
    )
    unit = UNIT_OF_FUEL[generator.fuel]
    much = f"{burnt.value:.1f} gal" if unit == "gal" else f"{burnt.value:,.0f} thousand Btu"
    fed = {f.to_id for f in site.feeders if f.from_id == generator.id}
    by_hand = [d.name for d in site.double_throws if d.id in fed]
    by_hand += [t.name for t in site.transfer_switches if t.id in fed]
    hand = ", ".join(by_hand)
    by_itself = any(t.id in fed and t.automatic for t in site.transfer_switches)
    why, mend = "", "Have it started by hand, only once something is to be on it."
    if by_hand and not by_itself:
        why = f" It starts by itself, but {hand}, which alone takes it, is thrown by hand."
        mend = (
            f"Throw {hand} to it once it runs, and enter that in the scenario; or have the set "
            "started by hand, only once somebody is there to throw."
        )
    return (
        Finding(
            code="set-idles",
            severity="note",
            element_id=generator.id,
            text=(
                f"{generator.name} runs {hours:.1f} h of this run's outages with nothing on it, "
                f"for hours on end, and burns about {much} so.{why}"
            ),
            mend=mend,
            source=f"This run; {burnt.formula}.",
            value=hours,
            limit=IDLE_H,
            unit="h",
        ),
    )


def _long(idle: NDArray[np.bool_], run_h: Floats) -> NDArray[np.bool_]:
    """Of cells in which a set idles, those in which it turns so for ``IDLE_H`` on end. (cells,)"""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], idle, [False])).astype(np.int8)))
    kept = np.zeros_like(idle)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        kept[first:last] = float(run_h[first:last].sum()) >= IDLE_H
    return kept


def _cranks_long(generator: Generator, scenario: Scenario, *, ran: bool) -> tuple[Finding, ...]:
    """An automatic set that catches only after its control has mostly given up."""
    tries = scenario.tries_of(generator.id)
    if not ran or generator.start != "automatic" or tries <= MOST_TRIES:
        return ()
    return (
        Finding(
            code="set-cranks-long",
            severity="note",
            element_id=generator.id,
            text=(
                f"{generator.name} catches at try {tries} in this run. Most "
                f"controls stop cranking after {MOST_TRIES} to 5 tries and wait for a person to "
                "reset them: then it does not start by itself at all."
            ),
            mend="See in its book after how many tries it stops, and how it is started then.",
            source="NFPA 110: three cranks of 15 s; more tries of home sets: from memory.",
            value=float(tries),
            limit=float(MOST_TRIES),
            unit="tries",
        ),
    )
