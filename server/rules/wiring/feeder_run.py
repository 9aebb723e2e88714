"""The run of a feeder at the load of a sheet, and the smallest wire that would do for it."""

from __future__ import annotations

from dataclasses import replace

from server.domain.errors import InputError
from server.domain.supply import Feeder
from server.rules.demand.report import ElementDemand
from server.rules.demand.standing import Standing
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.wiring.feeder_drop import neutral_drop_a
from server.rules.wiring.run import RANGES, Run, RunAnswer
from server.rules.wiring.segment import TABLE_AMBIENT_C, TABLE_CURRENT_CARRYING, ambient_c
from server.rules.wiring.sizing import size_run

LEAST_A = 0.001
"""What stands for no load at all, so that a wire for it can be worked out."""


def feeder_run(
    feeder: Feeder, sheet: Worksheet, most_a: float | None, *, whole: bool, volts: float
) -> Run:
    """What the wire must carry: the demand, or what passes at most where demand is above it.

    ``most_a`` is its device, or less. Demand above the device is a finding of its own; it is not
    the wire that fails, nor the neutral. Where only the 25 % more of what is continuous passes it,
    the load itself still flows, with what is left of that 25 %.
    A feeder without a neutral has none to size, and its volts are lost between its hots.
    """
    first = feeder.segments[0] if feeder.segments else None
    load_a, continuous = sheet.leg_a, sheet.continuous_a
    held = False
    if most_a is not None:
        load_a = min(load_a, most_a)
        continuous = min(continuous, load_a)
        extra = 0.0 if feeder.full_rated else sheet.continuous_factor - 1.0
        if extra > 0.0:
            continuous = min(continuous, (most_a - load_a) / extra)
        held = continuous < sheet.continuous_a or load_a < sheet.leg_a
    rest = max(load_a - continuous, 0.0)
    neutral_a = neutral_in_line_a = None
    if not feeder.no_neutral:
        neutral_a = min(sheet.legs.neutral_a, load_a) if sheet.legs else None
        neutral_in_line_a = neutral_drop_a(sheet, load_a)
    return Run(
        run_ft=sum(s.run_ft for s in feeder.segments),
        noncontinuous_a=rest if continuous > 0.0 else max(rest, LEAST_A),
        continuous_a=continuous,
        metal=first.metal if first else "copper",
        ground_metal=first.ground_metal if first else "copper",
        sets=first.sets if first else 1,
        letters=first.insulation if first else "THWN-2",
        ambient_c=max(map(ambient_c, feeder.segments), default=TABLE_AMBIENT_C),
        current_carrying=max(
            (s.current_carrying or TABLE_CURRENT_CARRYING for s in feeder.segments),
            default=TABLE_CURRENT_CARRYING,
        ),
        wet=any(s.wet for s in feeder.segments),
        terminal_c=min((s.terminal_c for s in feeder.segments if s.terminal_c), default=None),
        volts=volts,
        device_a=most_a,
        full_rated=feeder.full_rated,
        whole_dwelling=whole,
        held="its device" if held else "",
        neutral_a=neutral_a,
        neutral_drop_a=neutral_in_line_a,
    )


def advice_at_device(run: Run, rules: Rulebook) -> RunAnswer | None:
    """The smallest size at the device as it is, in the fewest sets that do, from those laid up.

    None where no wire of the tables may stand behind it: wire for the load alone mends nothing.
    """
    for sets in range(run.sets, int(RANGES["sets"].high) + 1):
        try:
            return size_run(replace(run, sets=sets), rules)
        except InputError:
            continue
    return None


def standing_instead(
    demand: ElementDemand, sheet: Worksheet, feeder: Feeder, device_a: float | None
) -> Standing | None:
    """The manager's setting that may stand for a load above the device and fits that, or None."""
    standing = demand.standing_in(sheet.position)
    needed = sheet.leg_a if feeder.full_rated else sheet.needed_a
    if standing is None or device_a is None or round_half_up(needed) <= device_a:
        return None
    return standing if standing.fits(device_a) else None


def advice_for_load(
    feeder: Feeder, sheet: Worksheet, run: Run, rules: Rulebook
) -> RunAnswer | None:
    """The smallest size for the whole load, where that is above the device.

    Not for what a person selects on a set: it is they who keep it within the device (702.4).
    """
    needed = sheet.leg_a if feeder.full_rated else sheet.needed_a
    if run.device_a is None or sheet.method == "selected":
        return None
    if round_half_up(needed) <= run.device_a:
        return None
    try:
        whole = feeder_run(feeder, sheet, None, whole=run.whole_dwelling, volts=run.volts)
        return size_run(replace(whole, service=run.service), rules)
    except InputError:
        return None
