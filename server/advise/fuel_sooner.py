"""Fuel that is enough and comes too late: by when it must be there, found by runs of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.advise.fuel_words import bring_words, gal_words, storage_caution
from server.domain.cautions import Caution
from server.domain.errors import InputError
from server.domain.scenario import Delivery, Scenario
from server.simulate.fuel_need import FuelNeed
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.verdict import moment

STEPS_H = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0)
"""By which a delivery is tried earlier; the hour is then narrowed down between two of them (our own
figures). [h]"""

MOST_DELIVERIES = 3
NARROWED_H = 0.25


@dataclass(frozen=True)
class Sooner:
    """A delivery that comes at ``at`` and is early enough ``by`` an hour, as its run says."""

    at: datetime
    by: datetime


def bring_for(run: Run, need: FuelNeed) -> str:
    """What to do for fuel: have it come earlier where that alone is enough, else have more."""
    return sooner_words(run, need) or bring_words(run.site, need, cut_off=run.scenario.cut_off)


def to_bring_for(run: Run) -> tuple[tuple[str, Caution], ...]:
    """What to do for each set whose fuel is short or eats into its reserve, and its caution."""
    return tuple(
        (bring_for(run, n), storage_caution(run.site, n))
        for n in run.fuel
        if n.runs_dry or n.eats_reserve
    )


def sooner_words(run: Run, need: FuelNeed) -> str:
    """That only the hour of a delivery is late, and by when it must be there; else empty."""
    found = sooner(run, need)
    if found is None:
        return ""
    low = (
        f"{need.name} runs dry {moment(need.dry_at)}"
        if need.runs_dry
        else f"{need.name} is down to {gal_words(need.least_gal)} gal before it, and "
        f"{gal_words(need.reserve_gal)} gal are its reserve"
    )
    return (
        f"The fuel is enough, only its hour is late: {low}. Have the delivery of "
        f"{moment(found.at)} earlier, by {moment(found.by)}."
    )


def sooner(run: Run, need: FuelNeed) -> Sooner | None:
    """The first delivery that, earlier, keeps a set from running dry and its reserve untouched.

    None where the fuel would not be enough at any hour, or no delivery alone does it. It is kept
    with the run.
    """
    key = f"sooner:{need.generator_id}"
    if key not in run.aside:
        run.aside[key] = _sooner(run, need)
    kept = run.aside[key]
    return kept if isinstance(kept, Sooner) else None


def _sooner(run: Run, need: FuelNeed) -> Sooner | None:
    if not (need.runs_dry or need.eats_reserve):
        return None
    if need.used_gal + need.reserve_gal > need.there_gal + need.left_over_gal:
        return None
    due = [d for d in run.scenario.deliveries_due if d.set_id in {None, need.generator_id}]
    after = [d for d in due if need.dry_at is None or d.at >= need.dry_at]
    for delivery in sorted(after, key=lambda d: d.at)[:MOST_DELIVERIES]:
        by = _latest(run, need, delivery)
        if by is not None:
            return Sooner(delivery.at, by)
    return None


def _latest(run: Run, need: FuelNeed, delivery: Delivery) -> datetime | None:
    """The latest quarter of an hour at which a delivery is early enough, as far as it was tried."""
    late_h = 0.0
    for step_h in _steps_h(run.scenario, delivery):
        if _enough(run, need, delivery, step_h):
            early_h = step_h
            break
        late_h = step_h
    else:
        return None
    while early_h - late_h > NARROWED_H:
        middle_h = (early_h + late_h) / 2.0
        if _enough(run, need, delivery, middle_h):
            early_h = middle_h
        else:
            late_h = middle_h
    at = delivery.at - timedelta(hours=early_h)
    return at - timedelta(minutes=at.minute % 15, seconds=at.second)


def _steps_h(scenario: Scenario, delivery: Delivery) -> Iterator[float]:
    most_h = (delivery.at - scenario.start) / timedelta(hours=1)
    yield from (h for h in STEPS_H if h < most_h)
    yield most_h


def _enough(run: Run, need: FuelNeed, delivery: Delivery, earlier_h: float) -> bool:
    moved = delivery.model_copy(update={"at": delivery.at - timedelta(hours=earlier_h)})
    all_of = (moved if d is delivery else d for d in run.scenario.deliveries)
    day = run.scenario.model_copy(update={"deliveries": tuple(sorted(all_of, key=lambda d: d.at))})
    try:
        after = simulate(run.site, day)
    except InputError:
        return False
    then = next((f for f in after.fuel if f.generator_id == need.generator_id), None)
    return then is not None and not then.runs_dry and not then.eats_reserve
