"""Hot tubs that are without power in frost: their water stays warm for days, their pipes do not."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from server.domain.appliance import Appliance
from server.domain.behaviour import Tub
from server.domain.finding import Finding
from server.domain.lengths import span_words
from server.simulate.harm import Seen
from server.simulate.verdict import moment
from server.simulate.weather import outdoor_f

TUB_DARK = "tub-dark-in-frost"

FREEZES_F = 32.0
LEAST_FROST_H = 12.0
"""So long a pump and its pipes outside the water bear air below freezing: hours to a day or two by
how cold it is and how the cabinet is insulated. Common practice, no source. [h]"""


def tub_findings(seen: Seen) -> tuple[Finding, ...]:
    """A note for each hot tub that is dark in frost for longer than its pipes surely bear.

    Hours before a run that begins inside an outage count, with their own weather.
    """
    rows = {one.appliance_id: row for row, one in enumerate(seen.watched)}
    found: list[Finding] = []
    for row, circuit in enumerate(seen.site.circuits):
        for one in circuit.appliances:
            if isinstance(one.behaviour, Tub):
                longest = max(
                    (_frost_s(seen, begin, end) for begin, end in seen.served.dark(row)),
                    default=(0.0, 0.0, 0.0),
                )
                if longest[0] > LEAST_FROST_H * 3600.0:
                    coolest_f = float(seen.level[rows[one.id]].min())
                    found.append(_note(seen, one, longest, coolest_f))
    return tuple(found)


def _frost_s(seen: Seen, begin_s: float, end_s: float) -> tuple[float, float, float]:
    """The longest frost in a stretch without power, when it begins, and its coldest. [s, s, F]"""
    at_s = np.arange(begin_s, min(end_s, seen.steps * float(seen.scenario.step_s)), 60.0)
    air_f = outdoor_f(seen.scenario.weather, seen.scenario.start, at_s)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], air_f < FREEZES_F, [False]))))
    return max(
        (
            (60.0 * float(b - a), float(at_s[a]), float(air_f[a:b].min()))
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        ),
        default=(0.0, 0.0, 0.0),
    )


def _note(
    seen: Seen, tub: Appliance, frost: tuple[float, float, float], coolest_f: float
) -> Finding:
    length_s, from_s, air_f = frost
    since = moment(seen.scenario.start + timedelta(seconds=round(from_s)))
    freezes = coolest_f <= FREEZES_F
    water = (
        "Its water cools to 32 °F and begins to freeze, as do its pump, heater and pipes: what "
        "freezes may burst. The heat that ice gives off is not counted."
        if freezes
        else f"Its water is still {coolest_f:.0f} °F at the least, but its pump, heater and pipes "
        "stand outside of it, and what stands still in them may freeze within hours of hard frost."
    )
    return Finding(
        code=TUB_DARK,
        severity="warning" if freezes else "note",
        element_id=tub.id,
        text=(
            f"{tub.name} is without power for {span_words(length_s / 60.0)} of frost down to "
            f"{air_f:.0f} °F, from {since} on. {water}"
        ),
        mend="Have it drained by its maker’s book before such an outage, or give its circuit power."
        if freezes
        else (
            "Keep its cover on, and ask its maker what is drained before such an outage, or give "
            "its circuit power for an hour in turns."
        ),
        source=(
            f"Outdoors below {FREEZES_F:.0f} °F for more than {LEAST_FROST_H:.0f} h with no power: "
            "common practice, no source."
        ),
        value=length_s / 3600.0,
        limit=LEAST_FROST_H,
        unit="h",
    )
