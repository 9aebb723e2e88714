"""Measured demand of what exists, with new load beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.domain.errors import InputError
from server.domain.supply import DemandRecord
from server.rules.demand.general import continuous_of, vehicle_line
from server.rules.demand.inputs import HEATING, Dwelling, Load, sum_va
from server.rules.demand.new_circuits import (
    NewCircuits,
    new_circuit_lines,
    new_circuit_notes,
    new_circuit_questions,
)
from server.rules.demand.worksheet import Line, Worksheet, finished
from server.rules.editions import Rulebook
from server.rules.ranges import within

RecordKind = Literal["year", "recording"]


@dataclass(frozen=True)
class Record:
    """A measured demand.

    ``year`` is twelve months of demand data; ``recording`` is a continuous recording of the
    highest interval average on the heaviest leg. ``seasonal_included`` says the larger of heating
    and cooling ran, or was added by calculation.
    """

    peak_va: float
    kind: RecordKind
    days: float
    interval_min: float
    net_metered: bool = False
    has_renewables: bool = False
    peak_shaving: bool = False
    seasonal_included: bool = True


def measured(
    record: Record,
    new_loads: Iterable[Load],
    *,
    name: str,
    existing_a: float,
    volts: float = 240.0,
    rules: Rulebook,
    at_service: bool = False,
    new: NewCircuits | None = None,
) -> Worksheet:
    """125 % of the measured peak plus the new load, against the rating.

    The rule says "new load"; whether a new continuous load counts at 125 % is read differently,
    so both are shown: ``amps`` without, ``needed_a`` with. ``new`` are new circuits for plugs and
    lights, which have no nameplate.

    Raises
    ------
    InputError   When the record may not be used; the message says which bar it meets.
    """
    within(record.peak_va, 1, 1_000_000, field="peak_va", unit="VA")
    within(existing_a, 0.1, 6000, field="existing_a", unit="A")
    _bars(record, rules)
    figure = rules.figure("measured_factor")
    words = "Measured peak, a year of demand" if record.kind == "year" else "Measured peak"
    lines = [
        Line(
            words,
            1,
            record.peak_va,
            "VA",
            record.peak_va,
            figure.value,
            record.peak_va * figure.value,
            figure.cite,
            f"{record.days:g} days at {record.interval_min:g} min",
        )
    ]
    loads = tuple(new_loads)
    for load in loads:
        if load.category == "vehicle":
            lines.append(vehicle_line(load, 1.0, rules))
        else:
            total = load.total_va
            lines.append(
                Line(load.name, load.quantity, load.va, "VA", total, 1.0, total, figure.cite)
            )
    new = new or NewCircuits()
    lines += new_circuit_lines(new, rules)
    continuous = continuous_of((d for d in loads if d.continuous), rules)
    return finished(
        method="measured",
        title=f"{name}, measured demand",
        rules=rules,
        lines=tuple(lines),
        volts=volts,
        continuous=continuous,
        existing_a=existing_a,
        is_service=False,
        at_service=at_service,
        missing=new_circuit_questions(new, rules),
        notes=(
            *_of_the_load(record),
            *_of_long_means(record, rules),
            *new_circuit_notes(new),
            "Whether the record is read in kW or kVA is left open; enter kVA where known.",
            f"The neutral stays as the standard method gives it ({rules.load_article}.61).",
        ),
    )


def measured_of(
    record: DemandRecord,
    dwelling: Dwelling,
    *,
    has_renewables: bool,
    rules: Rulebook,
    circuits: NewCircuits | None = None,
) -> Worksheet:
    """The worksheet of a site's own record: what is new on the service is added to it.

    Of new heating and new cooling only the larger counts (220.60).

    Raises
    ------
    InputError   When the record may not be used, or the service has no rating.
    """
    if dwelling.existing_a is None:
        raise InputError("A rating is needed to hold a measured demand against.", field="main_a")
    new = [d for d in dwelling.loads if d.new]
    heat = [d for d in new if d.category in HEATING]
    cool = [d for d in new if d.category == "cooling"]
    smaller = cool if sum_va(heat) >= sum_va(cool) else heat
    return measured(
        Record(
            peak_va=record.peak_kva * 1000,
            kind=record.kind,
            days=record.days,
            interval_min=record.interval_min,
            net_metered=record.net_metered,
            has_renewables=has_renewables,
            peak_shaving=record.peak_shaving,
            seasonal_included=record.seasonal_included,
        ),
        [d for d in new if d not in smaller],
        name=dwelling.name,
        existing_a=dwelling.existing_a,
        volts=dwelling.volts,
        rules=rules,
        at_service=dwelling.at_service,
        new=circuits,
    )


def _of_the_load(record: Record) -> tuple[str, ...]:
    """What is asked of a year of data where solar gives into the same service."""
    if record.kind != "year" or not record.has_renewables:
        return ()
    return (
        "Solar gives into this service. A utility’s year of demand data is then net of it and "
        "hides part of the load; this sheet holds only if the record is of the load itself. Ask "
        "where the meter stands, and enter it as net-metered if it reads the sum.",
    )


def _of_long_means(record: Record, rules: Rulebook) -> tuple[str, ...]:
    """That a year of longer means than a recording may have reads lower than its peak."""
    usual = rules.value("measured_interval_min")
    if record.kind != "year" or record.interval_min <= usual:
        return ()
    return (
        f"Means over {record.interval_min:g} minutes read lower than those over {usual:g}, which "
        "a recording must have: ask the utility for those, or the authority whether these do.",
    )


def _bars(record: Record, rules: Rulebook) -> None:
    if record.net_metered:
        raise InputError(
            "Net-metered data is not load: solar hides part of the demand. Use a meter of the "
            "load itself.",
            field="net_metered",
        )
    if record.kind == "year":
        days = rules.figure("measured_year_days")
        _long_enough(record.days, days.value, days.cite.section)
        most_min = rules.figure("measured_year_interval_min")
        if record.interval_min > most_min.value:
            raise InputError(
                f"A mean over {record.interval_min:g} minutes is no maximum demand "
                f"({most_min.cite.section}): it hides the peak. Ask the utility for data of "
                f"{most_min.value:g} minutes or less.",
                field="interval_min",
            )
        return
    days = rules.figure("measured_record_days")
    if record.has_renewables or record.peak_shaving:
        what = "solar or wind" if record.has_renewables else "peak shaving"
        raise InputError(
            f"The {days.value:g}-day recording is barred where there is {what} "
            f"({days.cite.section}). Use a year of demand data of the load itself.",
            field="has_renewables" if record.has_renewables else "peak_shaving",
        )
    _long_enough(record.days, days.value, days.cite.section)
    interval = rules.figure("measured_interval_min")
    if not 0 < record.interval_min <= interval.value:
        raise InputError(
            f"A recording must average over {interval.value:g} minutes or less "
            f"({interval.cite.section}); {record.interval_min:g} was given. Hourly figures hide "
            "the peak.",
            field="interval_min",
        )
    if not record.seasonal_included:
        raise InputError(
            "The larger of heating and cooling must be in the recording or added by calculation "
            f"({days.cite.section}).",
            field="seasonal_included",
        )


def _long_enough(days: float, least: float, section: str) -> None:
    if not days >= least:
        raise InputError(
            f"This needs {least:g} days or more ({section}); {days:g} were given.", field="days"
        )
