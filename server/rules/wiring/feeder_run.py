"""The run of a feeder at the load of a sheet, and the smallest wire that would do for it."""

from __future__ import annotations

from dataclasses import replace

from server.domain.errors import InputError
from server.domain.supply import Feeder
from server.rules.demand.worksheet import Worksheet, round_half_up
from server.rules.editions import Rulebook
from server.rules.wiring.feeder_drop import neutral_drop_a
from server.rules.wiring.run import RANGES, Run, RunAnswer
from server.rules.wiring.segment import TABLE_AMBIENT_C, TABLE_CURRENT_CARRYING, ambient_c
from server.rules.wiring.sizing import size_run

LEAST_A = 0.001
"""What stands for no load at all, so that a wire for it can be worked out."""


def feeder_run(
    feeder: Feeder, sheet: Worksheet, device_a: float | None, *, whole: bool, volts: float
) -> Run:
    """What the wire must carry: the demand, or the device where demand is above it.

    Demand above the device is a finding of its own; it is not the wire that fails, nor the neutral.
    A feeder without a neutral has none to size, and its volts are lost between its hots.
    """
    first = feeder.segments[0] if feeder.segments else None
    share = 1.0 if device_a is None else min(1.0, device_a / max(sheet.needed_a, 1e-9))
    continuous = share * sheet.continuous_a
    rest = max(share * sheet.leg_a - continuous, 0.0)
    neutral_a = neutral_in_line_a = None
    if not feeder.no_neutral:
        neutral_a = min(sheet.legs.neutral_a, share * sheet.leg_a) if sheet.legs else None
        neutral_in_line_a = neutral_drop_a(sheet, share * sheet.leg_a)
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
        device_a=device_a,
        full_rated=feeder.full_rated,
        whole_dwelling=whole,
        held=share < 1.0,
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
