"""The smallest wire that meets both ampacity and drop, and which of the two decided."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from server.domain.errors import InputError
from server.rules.editions import Rulebook
from server.rules.ranges import within
from server.rules.tables import conductor
from server.rules.wiring.carrying import (
    by_dwelling_share,
    carries,
    device_of,
    run_ampacity,
    sizes_for,
    smallest_that_carries,
)
from server.rules.wiring.drop import (
    Drop,
    Stretch,
    drop_at_start,
    drop_within,
    leg_drop,
    voltage_drop,
)
from server.rules.wiring.ground import electrode_conductor, equipment_ground
from server.rules.wiring.raceway import Fill, Wires, trade_sizes
from server.rules.wiring.read_only import ReadOnly
from server.rules.wiring.run import Candidate, Reckoning, Run, RunAnswer, Winner
from server.rules.words import amps, percent, percent_over

FIRST_KCMIL = 250_000
"""Sizes from here are told in thousands of circular mils."""
MOST_KEPT = 256
"""A change of one circuit leaves most runs of a site as they were."""


def size_run(run: Run, rules: Rulebook) -> RunAnswer:
    """Smallest size that meets ampacity and drop, with everything that goes with it.

    >>> from server.rules.editions import rulebook
    >>> a = size_run(Run(280, noncontinuous_a=150, metal="aluminum", device_a=200),
    ...     rulebook("2023"))
    >>> a.size, a.ampacity_size, a.drop_size, a.won
    ('250', '4/0', '250', 'drop')

    Raises
    ------
    InputError   When no size here is enough, or a figure is out of range.
    """
    return _size_run(run, rules)


@lru_cache(maxsize=MOST_KEPT)
def _size_run(run: Run, rules: Rulebook) -> RunAnswer:
    device, device_a = device_of(run, rules)
    tried = tuple(_try(size, run, device_a, rules) for size in sizes_for(run, rules))
    carrying = next((c for c in tried if c.carries), None)
    dropping = next((c for c in tried if c.drops_ok), None)
    chosen = next((c for c in tried if c.carries and c.drops_ok), None)
    if carrying is None or dropping is None or chosen is None:
        raise InputError(
            f"No single {run.metal} conductor up to {sized(tried[-1].size)} is enough for "
            f"{amps(run.load_a)} over {run.run_ft:g} ft; use parallel sets.",
            field="sets",
        )
    won, reason = _winner(carrying, dropping, run, rules)
    ground_size, ground = equipment_ground(
        device_a=device_a,
        metal=run.ground_metal,
        needed_size=carrying.size,
        installed_size=chosen.size,
        installed_metal=run.metal,
        rules=rules,
    )
    neutral = least_neutral(run, device_a, chosen.size, rules)
    start = (
        drop_at_start(
            running=chosen.drop,
            start_a=run.start_a,
            start_volts=run.volts,
            stretches=[_stretch(run, chosen.size)],
            rules=rules,
        )
        if run.start_a
        else None
    )
    return RunAnswer(
        run=run,
        device=device,
        device_a=device_a,
        size=chosen.size,
        ampacity_size=carrying.size,
        drop_size=dropping.size,
        dwelling_share=by_dwelling_share(run, device_a, rules),
        won=won,
        reason=reason,
        candidates=tried,
        drop=chosen.drop,
        start_drop=start,
        neutral_size=neutral,
        ground_size=ground_size,
        ground=ground,
        raceways=_raceways(run, chosen.size, neutral, ground_size, rules),
    )


def sized(size: str) -> str:
    """A size with its unit.

    >>> sized("2"), sized("4/0"), sized("250")
    ('2 AWG', '4/0 AWG', '250 kcmil')
    """
    return f"{size} {'AWG' if conductor(size).cmil < FIRST_KCMIL else 'kcmil'}"


def _stretch(run: Run, size: str) -> Stretch:
    return Stretch(run.run_ft, size, run.metal, run.sets, run.conduit)


def _try(size: str, run: Run, device_a: float, rules: Rulebook) -> Candidate:
    found = run_ampacity(size, run, device_a, rules)
    enough, why_not = carries(found, run=run, device_a=device_a, rules=rules)
    drop = run_drop(run, [_stretch(run, size)], rules)
    share = drop_share_by(drop, run.reckoning)
    return Candidate(
        size, found, enough, why_not, drop, share, drop_within(share, drop_limit(run, rules))
    )


def drop_share_by(drop: Drop, reckoning: Reckoning) -> float:
    """The share of a drop that is held against its limit."""
    shares = {
        "dc": drop.dc_share,
        "impedance": drop.impedance_share,
        "both": max(drop.dc_share, drop.impedance_share),
    }
    return shares[reckoning]


def run_drop(run: Run, stretches: Sequence[Stretch], rules: Rulebook) -> Drop:
    """Drop of a run over these stretches, as the larger share of its volts.

    Between the hots at the heavier leg's amps, or on that leg through hot and neutral, where the
    legs are not alike.
    """
    leg_a = run.load_a
    if run.two_wire:
        return leg_drop(
            leg_a=leg_a,
            neutral_a=leg_a,
            stretches=stretches,
            volts=run.volts,
            power_factor=run.power_factor,
            rules=rules,
        )
    between = voltage_drop(
        amps=leg_a,
        stretches=stretches,
        volts=run.volts,
        power_factor=run.power_factor,
        rules=rules,
    )
    if not run.neutral_drop_a:
        return between
    on_leg = leg_drop(
        leg_a=leg_a,
        neutral_a=run.neutral_drop_a,
        stretches=stretches,
        power_factor=run.power_factor,
        rules=rules,
    )
    return max(between, on_leg, key=lambda d: d.dc_share)


def drop_limit(run: Run, rules: Rulebook) -> float:
    """The drop not to be passed, as a share of the volts."""
    return run.drop_share if run.drop_share is not None else rules.value("drop_run_advice")


def _winner(
    carrying: Candidate, dropping: Candidate, run: Run, rules: Rulebook
) -> tuple[Winner, str]:
    limit = drop_limit(run, rules)
    if run.run_ft <= 0:
        return "ampacity", f"{carrying.size} is the smallest that carries it; no length is told"
    if conductor(carrying.size).cmil == conductor(dropping.size).cmil:
        return "same", f"{carrying.size} is the smallest for ampacity and for drop alike"
    if conductor(dropping.size).cmil > conductor(carrying.size).cmil:
        return "drop", (
            f"{carrying.size} would carry it, but drops "
            f"{percent_over(carrying.drop_share, limit, 2)}, over {percent(limit, 1)}"
        )
    return "ampacity", (
        f"{dropping.size} would hold the drop, but {dropping.why_not or 'does not carry it'}"
    )


def least_neutral(run: Run, device_a: float, hot_size: str, rules: Rulebook) -> str | None:
    """The least neutral of a run with hots of a size, None where no neutral is asked for.

    On two wires it is the hot's own size, for it carries the same. Elsewhere never above it: the
    unbalance is a part of what the hots carry behind their device.
    """
    if run.two_wire:
        return hot_size
    if run.neutral_a is None:
        return None
    try:
        size = smallest_neutral(run, device_a=device_a, hot_size=hot_size, rules=rules)
    except InputError:
        return hot_size
    return min(size, hot_size, key=lambda one: conductor(one).cmil)


def _carrying(run: Run, device_a: float, rules: Rulebook) -> str | None:
    """The smallest size that carries a run, None where no single one does."""
    try:
        return smallest_that_carries(run, device_a, rules)
    except InputError:
        return None


def smallest_neutral(run: Run, *, device_a: float, hot_size: str, rules: Rulebook) -> str:
    """Smallest neutral of a run: its load at 100 % (215.2, 220.61) where it lies.

    Never under the equipment ground of a feeder, grown with its hots (215.2, 250.122(B)) or, of a
    service, in each raceway the size by the hot that lies there (230.42(C), 250.24).

    Raises
    ------
    InputError   When no single size is enough.
    """
    neutral_a = run.neutral_a or 0.0
    within(neutral_a, 0, 6000, field="neutral_a", unit="A")
    if run.service:
        least = electrode_conductor(
            hot_size=hot_size,
            hot_metal=run.metal,
            sets=1,
            metal=run.metal,
            electrode="water_pipe",
            rules=rules,
        )[0]
        together = 1
    else:
        together = run.sets
        least = equipment_ground(
            device_a=device_a,
            metal=run.metal,
            needed_size=_carrying(run, device_a, rules),
            installed_size=hot_size,
            installed_metal=run.metal,
            rules=rules,
        )[0]
    for size in sizes_for(run, rules):
        if conductor(size).cmil * together < conductor(least).cmil:
            continue
        if run_ampacity(size, run, device_a, rules).final_a >= neutral_a - 1e-9:
            return size
    raise InputError(
        f"No single neutral here carries {amps(neutral_a)}; use parallel sets.", field="neutral_a"
    )


def _raceways(
    run: Run, hot: str, neutral: str | None, ground: str, rules: Rulebook
) -> dict[str, Fill | None]:
    """Trade size of each kind for one set: the hots, the neutral, the ground but of a service."""
    try:
        wires = [Wires(hot, 1 if run.two_wire else 2, run.letters)]
        if neutral is not None:
            wires.append(Wires(neutral, 1, run.letters))
        if not run.service:
            wires.append(Wires(ground, 1, run.letters))
    except InputError:
        return ReadOnly()
    return trade_sizes(wires=wires, rules=rules)
