"""What a run that begins inside an outage, or after one, says of the hours before it."""

from __future__ import annotations

from server.domain.lengths import span_words
from server.domain.scenario import Scenario, Window

_DAY_H = 24


def begun_dark(scenario: Scenario) -> tuple[str, ...]:
    """What a run that begins inside an outage, or after one, takes of the hours before."""
    outages = scenario.outages_before
    if not outages:
        return ()
    last = outages[-1]
    whole = scenario.lead_s >= (scenario.start - outages[0].start).total_seconds()
    part = "" if whole else f"the last {span_words(scenario.lead_s / 60.0)} of "
    sets = {"ready": "a set with fuel enough", "fails": "no set", "absent": "no set"}
    entered = f"with {sets[scenario.generator]}, switches and weather as entered"
    if any(own.state is not None for own in scenario.own_sets):
        entered = "with fuel enough, and sets, switches and weather as entered"
    entered += _weather_before(scenario)
    dark_s = scenario.dark_before_s
    earlier = _without(outages[:-1] if dark_s else outages)
    counted = "amps, energy and fuel are counted from the begin of the run."
    if dark_s:
        more = f", and was out {earlier} before" if earlier else ""
        told = f" {_TOLD_ELSEWHERE}; {counted}" if earlier else f" {counted.capitalize()}"
        return (
            f"The utility is out for {span_words(dark_s / 60.0)} when this run begins{more}: "
            f"rooms, pits, tanks, batteries, cars and waits begin as {part}those hours leave them, "
            f"{entered}.{told}",
        )
    ago_min = (scenario.start - last.end).total_seconds() / 60.0
    when = f"{span_words(ago_min)} before" if ago_min > 0.0 else "as"
    return (
        f"The utility came back {when} this run begins, after {earlier} without it: rooms, pits, "
        f"tanks, batteries and cars begin as {part}those hours leave them, {entered}. "
        f"{_TOLD_ELSEWHERE}; {counted}",
    )


def _weather_before(scenario: Scenario) -> str:
    """What is taken of the weather before its first hour, where it is told by the hour."""
    told = scenario.weather.hourly_f
    if not told:
        return ""
    if len(told) >= _DAY_H:
        return ", outdoors as in the same hours of its first day"
    return f", outdoors held at {told[0]:g} °F of the first hour"


_TOLD_ELSEWHERE = (
    "Waits of an outage that is over, and harms that left no mark, are told by a run that holds it"
)


def _without(outages: tuple[Window, ...]) -> str:
    """How long the utility was out in these, and in how many where they are several."""
    if not outages:
        return ""
    out_min = sum((w.end - w.start).total_seconds() for w in outages) / 60.0
    times = f" in {len(outages)} outages" if len(outages) > 1 else ""
    return f"{span_words(out_min)}{times}"
