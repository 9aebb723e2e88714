"""One segment of a feeder as it is laid: its ampacity, ground, neutral and fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from server.domain.errors import InputError
from server.domain.supply import Segment
from server.domain.working import Working
from server.rules.editions import Rulebook
from server.rules.tables import conductor, raceway_kind, raceway_names
from server.rules.wiring.ampacity import Ampacity
from server.rules.wiring.carrying import (
    carries,
    protects,
    run_ampacity,
    run_column,
    sizes_for,
    smallest_that_carries,
)
from server.rules.wiring.ground import equipment_ground
from server.rules.wiring.raceway import Fill, Wires, fill, wires_of
from server.rules.wiring.run import Run
from server.rules.wiring.segment import TABLE_CURRENT_CARRYING, ambient_c, segment_ampacity
from server.rules.wiring.sizing import least_neutral

MOST_KEPT = 256
"""A change of one circuit leaves most feeders of a site as they were."""


@dataclass(frozen=True)
class SegmentWiring:
    """One segment: its ampacity, ground and fill, and whether it carries its feeder.

    ``carries`` is by its terminals as marked, else by 110.14(C); ``carries_at_75`` if those that
    were not read are all marked 75 °C, where it carries ``most_at_75_a``. ``protected`` is whether
    the device is one that 240.4 permits then.
    ``ground_size`` is in the metal of its ground, empty for service conductors, which have none.
    ``neutral_size`` is the smallest neutral for the feeder's neutral load, and ``neutral_ungrown``
    the one that would be if its hots were no larger than they need be; a neutral that is not
    entered is as large as the legs. ``size_for_all_of_device`` is the smallest size that carries
    the amps of its device, without the next size up of 240.4(B) or the share of a whole dwelling;
    None where it is not known. ``unchecked`` names what could not be held against the code and
    says why, ``unfilled`` why the fill of its raceway is not known. ``filled_ground`` is the ground
    that lies in it, empty where none does.
    """

    segment: Segment
    ampacity: Ampacity
    carries: bool
    carries_at_75: bool
    most_at_75_a: float
    why_not: str
    protected: bool
    ground_size: str
    ground_working: Working | None
    ground_enough: bool | None
    neutral_size: str
    neutral_enough: bool | None
    neutral_ungrown: str
    fill: Fill | None
    size_for_all_of_device: str | None = None
    unchecked: tuple[tuple[str, str], ...] = ()
    unfilled: str = ""
    filled_ground: str = ""


@lru_cache(maxsize=MOST_KEPT)
def segment_wiring(
    segment: Segment,
    run: Run,
    device_a: float,
    rules: Rulebook,
    *,
    neutral_laid: bool = True,
    ground_laid: bool = True,
) -> SegmentWiring:
    """A segment of a run behind a device, with a neutral and a ground in it or without.

    What cannot be known of its ground, neutral or raceway is said, and leaves the rest standing.

    Raises
    ------
    InputError   For wire, insulation or a place outside the tables.
    """
    found: list[tuple[Ampacity, bool, str]] = []
    for marked in (segment.terminal_c, segment.terminal_c or 75):
        column = run_column(replace(run, terminal_c=marked), device_a, rules)
        one = segment_ampacity(segment, terminal_c=column, rules=rules)
        ok, why = carries(one, run=run, device_a=device_a, rules=rules)
        found.append((one, ok, why))
    unchecked: list[tuple[str, str]] = []
    ground = ""
    grown: Working | None = None
    ground_enough = neutral_enough = None
    if not run.service:
        try:
            ground, grown = _ground(segment, run, device_a, rules)
            if segment.ground_size:
                ground_enough = conductor(segment.ground_size).cmil >= conductor(ground).cmil
        except InputError as error:
            unchecked.append(("ground wire", str(error)))
    neutral = ungrown = ""
    try:
        own = _own_run(segment, run)
        grows = not (run.service or run.two_wire)
        needed = (_least_size(segment, run, device_a, rules) if grows else None) or segment.size
        neutral = least_neutral(own, device_a, segment.size, rules) or ""
        ungrown = least_neutral(own, device_a, needed, rules) or ""
        if neutral:
            laid = conductor(segment.neutral_size or segment.size)
            neutral_enough = laid.cmil >= conductor(neutral).cmil
    except InputError as error:
        unchecked.append(("neutral", str(error)))
    filled, unfilled = None, ""
    grounded = ground_laid and not run.service
    laid_ground = (ground or segment.ground_size or "") if grounded else ""
    if segment.raceway.strip():
        try:
            wires = wires_of(segment, laid_ground, two_wire=run.two_wire, neutral=neutral_laid)
            filled = _fill(segment, wires, rules)
        except InputError as error:
            unfilled = str(error)
    return SegmentWiring(
        segment=segment,
        ampacity=found[0][0],
        carries=found[0][1],
        carries_at_75=found[1][1],
        most_at_75_a=found[1][0].final_a,
        why_not=found[0][2],
        protected=protects(found[1][0], run=run, device_a=device_a, rules=rules),
        ground_size=ground,
        ground_working=grown,
        ground_enough=ground_enough,
        neutral_size=neutral,
        neutral_enough=neutral_enough,
        neutral_ungrown=ungrown,
        fill=filled,
        size_for_all_of_device=_size_for_all(segment, run, device_a, rules),
        unchecked=tuple(unchecked),
        unfilled=unfilled,
        filled_ground=laid_ground,
    )


def _ground(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> tuple[str, Working]:
    """Equipment ground of a segment in its metal, grown where its wire is larger than needed."""
    return equipment_ground(
        device_a=device_a,
        metal=segment.ground_metal,
        needed_size=_least_size(segment, run, device_a, rules),
        installed_size=segment.size,
        installed_metal=segment.metal,
        rules=rules,
    )


def _own_run(segment: Segment, run: Run) -> Run:
    """The run with a segment's own wire and place."""
    return replace(
        run,
        metal=segment.metal,
        sets=segment.sets,
        letters=segment.insulation,
        ambient_c=ambient_c(segment),
        current_carrying=segment.current_carrying or TABLE_CURRENT_CARRYING,
        wet=segment.wet,
        terminal_c=segment.terminal_c,
    )


def _least_size(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> str | None:
    """The smallest size of a segment's own metal and sets that carries, whatever it drops."""
    try:
        return smallest_that_carries(_own_run(segment, run), device_a, rules)
    except InputError:
        return None


def _size_for_all(segment: Segment, run: Run, device_a: float, rules: Rulebook) -> str | None:
    """The smallest size that carries its device in full, where such a wire is one it may have."""
    own = replace(_own_run(segment, run), whole_dwelling=False)
    try:
        sizes = sizes_for(own, rules)
        found = ((size, run_ampacity(size, own, device_a, rules)) for size in sizes)
        return next((size for size, one in found if one.final_a >= device_a - 1e-9), None)
    except InputError:
        return None


def _fill(segment: Segment, wires: Sequence[Wires], rules: Rulebook) -> Fill | None:
    """Fill of a stated raceway with the wires of one set.

    Raises
    ------
    InputError   For a raceway or wire outside the tables.
    """
    kind = raceway_kind(segment.raceway)
    if kind is None:
        raise InputError(
            f"{segment.raceway!r} is no raceway here; its fill is worked out for "
            f"{', '.join(raceway_names())}. Empty it where the run lies in none.",
            field="raceway",
        )
    if not segment.raceway_trade_size:
        return None
    return fill(kind=kind, trade_size=segment.raceway_trade_size, wires=wires, rules=rules)
