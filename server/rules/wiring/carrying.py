"""Whether a size carries a run behind its device, and the device the run asks for."""

from __future__ import annotations

from dataclasses import replace

from server.domain.errors import InputError
from server.domain.working import Working
from server.rules.editions import Rulebook
from server.rules.ocpd import (
    device_for_load,
    largest_device_a,
    next_for_outlets_a,
    next_standard_a,
)
from server.rules.ranges import within
from server.rules.tables import Column, Metal, conductors, insulation
from server.rules.wiring.ampacity import Ampacity, ampacity, as_column, terminal_column
from server.rules.wiring.run import RANGES, Run
from server.rules.wiring.service import figure_for
from server.rules.words import amps, percent


def carries(found: Ampacity, *, run: Run, device_a: float, rules: Rulebook) -> tuple[bool, str]:
    """Whether an ampacity is enough for the load and its device, with the reason if not.

    Terminals: noncontinuous + 125 % continuous. In its place: the load at 100 %. Protection: the
    device is not above what 240.4 permits. ``least_a`` of a run is held to both of the first. For
    a whole dwelling from 100 A to 400 A, 83 % of the device instead of all three.
    """
    if by_dwelling_share(run, device_a, rules):
        share = rules.figure("dwelling_share")
        needed = share.value * device_a
        ok = found.final_a >= needed - 1e-9
        return ok, "" if ok else (
            f"{amps(found.final_a)} is under {percent(share.value)} of {amps(device_a)}, "
            f"{amps(needed)}"
        )
    factor = 1.0 if run.full_rated else rules.value("continuous_factor")
    needed = max(run.noncontinuous_a + factor * run.continuous_a, run.least_a)
    load_a = max(run.load_a, run.least_a)
    held = f"brought down to {run.held}" if run.held and run.load_a > run.least_a else ""
    if found.terminal_a < needed - 1e-9:
        by = f" by a load {held}" if held else ""
        return False, f"terminals carry {amps(found.terminal_a)}, {amps(needed)} needed{by}"
    if found.adjusted_a < load_a - 1e-9:
        of = f", {held}" if held else ""
        return False, f"in its place it carries {amps(found.adjusted_a)}, load {amps(load_a)}{of}"
    limit = _largest_device_a(found, run, rules)
    if device_a > limit:
        up_to = figure_for("next_size_up_to_a", "service" if run.service else "feeder", rules)
        if device_a > up_to.value:
            return False, (
                f"above {amps(up_to.value)} the wire carries all of its device, "
                f"{amps(device_a)} ({up_to.cite.section}); it carries {amps(found.final_a)}"
            )
        return False, f"a device of {amps(limit)} at most protects it, not {amps(device_a)}"
    return True, ""


def protects(found: Ampacity, *, run: Run, device_a: float, rules: Rulebook) -> bool:
    """Whether a device is one that 240.4, or the 83 % rule, permits on this ampacity."""
    if by_dwelling_share(run, device_a, rules):
        return found.final_a >= rules.value("dwelling_share") * device_a - 1e-9
    return device_a <= _largest_device_a(found, run, rules)


def by_dwelling_share(run: Run, device_a: float, rules: Rulebook) -> bool:
    """Whether the 83 % rule holds: a whole dwelling behind a device from 100 A to 400 A (310.12).

    >>> from server.rules.editions import rulebook
    >>> whole = Run(10, 20, whole_dwelling=True)
    >>> [by_dwelling_share(whole, a, rulebook("2023")) for a in (30, 100, 400)]
    [False, True, True]
    """
    least, most = rules.value("dwelling_least_a"), rules.value("dwelling_most_a")
    return run.whole_dwelling and least <= device_a <= most


def _largest_device_a(found: Ampacity, run: Run, rules: Rulebook) -> float:
    return largest_device_a(
        ampacity_a=found.final_a,
        size=found.size,
        metal=found.metal,
        receptacles=run.receptacles,
        rules=rules,
    )


def device_of(run: Run, rules: Rulebook) -> tuple[Working, float]:
    """The device the load asks for, and the amps of the one that is taken. [A]

    Raises
    ------
    InputError   When the one given is under the load, or none here is large enough.
    """
    device = device_for_load(
        noncontinuous_a=run.noncontinuous_a,
        continuous_a=run.continuous_a,
        full_rated=run.full_rated,
        service=run.service,
        receptacles=run.receptacles,
        rules=rules,
    )
    device_a = run.device_a
    if device_a is None:
        next_a = next_for_outlets_a if run.receptacles else next_standard_a
        device_a = max(device.value, next_a(round(run.least_a, 6)))
    permitted = RANGES["device_a"]
    if run.device_a is None and device_a > permitted.high:
        raise InputError(
            f"This load needs a device of {device_a:,g} A; the tables here end at "
            f"{permitted.high:,g} A.",
            field="noncontinuous_a",
        )
    within(device_a, permitted.low, permitted.high, field="device_a", unit=permitted.unit)
    if device_a < device.terms[-1].value - 1e-9 and not by_dwelling_share(run, device_a, rules):
        raise InputError(
            f"The load asks for {amps(device.terms[-1].value)} of device; "
            f"{amps(device_a)} is less.",
            field="device_a",
        )
    return device, device_a


def smallest_that_carries(run: Run, device_a: float, rules: Rulebook) -> str:
    """The smallest size that carries a run behind its device, whatever it drops.

    Raises
    ------
    InputError   When no single conductor is enough.
    """
    sizes = sizes_for(run, rules)
    for size in sizes:
        found = run_ampacity(size, run, device_a, rules)
        if carries(found, run=run, device_a=device_a, rules=rules)[0]:
            return size
    largest = run_ampacity(sizes[-1], run, device_a, rules)
    why_not = carries(largest, run=run, device_a=device_a, rules=rules)[1]
    together = f"{run.sets} × " if run.sets > 1 else ""
    raise InputError(
        f"Not even {together}{sizes[-1]} {run.metal} will do: {why_not}."
        f"{_sets_that_carry(run, device_a, rules)}",
        field="sets",
    )


def _sets_that_carry(run: Run, device_a: float, rules: Rulebook) -> str:
    """The fewest parallel sets of any size that do, in words; nothing where none here do."""
    for sets in range(run.sets + 1, int(RANGES["sets"].high) + 1):
        more = replace(run, sets=sets)
        try:
            largest = run_ampacity(sizes_for(more, rules)[-1], more, device_a, rules)
        except InputError:
            return ""
        if carries(largest, run=more, device_a=device_a, rules=rules)[0]:
            return f" {sets} sets would."
    return ""


def sizes_for(run: Run, rules: Rulebook) -> list[str]:
    """Every size of a run's metal and cable that may be used in so many sets, smallest first.

    Raises
    ------
    InputError   For sets of a cable that is not made large enough to lie in parallel.
    """
    least = rules.value("parallel_least_cmil") if run.sets > 1 else 0.0
    if run.service:
        least = max(least, service_least_cmil(run.metal, rules))
    kind = insulation(run.letters)
    found = [
        c.size
        for c in conductors()
        if run.metal in c.ampacity and c.cmil >= least and kind.made_in(c.size, run.metal)
    ]
    if not found:
        raise InputError(
            f"{kind.id} is not made in a size that may lie in parallel ({kind.sizes_section}).",
            field="sets",
        )
    return found


def service_least_cmil(metal: Metal, rules: Rulebook) -> float:
    """The least service conductor of a metal (230.23, 230.31). [cmil]"""
    return rules.value(f"service_least_{metal}_cmil")


def run_ampacity(size: str, run: Run, device_a: float, rules: Rulebook) -> Ampacity:
    """What a size carries where a run lies, at the terminals of its device."""
    return ampacity(
        size=size,
        metal=run.metal,
        letters=run.letters,
        sets=run.sets,
        ambient_c=run.ambient_c,
        current_carrying=run.current_carrying,
        wet=run.wet,
        terminal_c=run_column(run, device_a, rules),
        rules=rules,
    )


def run_column(run: Run, device_a: float, rules: Rulebook) -> Column:
    """The terminals' column of a run; the 83 % rule stands on 75 °C terminals."""
    if by_dwelling_share(run, device_a, rules) and run.terminal_c is None:
        return as_column(rules.value("terminal_high_c"))
    return terminal_column(circuit_a=device_a, marked_c=run.terminal_c, rules=rules)
