"""Kinds of appliance by a few letters, as a person writes them into a table."""

from __future__ import annotations

import re
from collections.abc import Mapping

from server.domain.catalogue import KINDS, Kind

ALSO: Mapping[str, str] = {
    "air-handler": "blower",
    "bath-plugs": "bathroom receptacles outlets",
    "car-charger-120": "ev",
    "car-charger-32": "ev",
    "car-charger-48": "ev",
    "central-air": "ac",
    "cooktop": "stove",
    "disposer": "disposal garbage",
    "home-office": "pc",
    "hot-tub": "spa",
    "internet-gear": "wifi network",
    "kitchen-plugs": "small receptacles outlets",
    "lighting": "lighting",
    "outdoor-lights": "lighting",
    "plugs": "receptacles outlets bedroom living",
    "range-oven": "stove",
    "refrigerator": "fridge",
    "room-air": "ac window",
    "smoke-alarms": "detectors",
    "television": "tv",
    "washer": "laundry washing",
}
"""Other words for a kind that its name does not have, by its id."""

_BREAKS = re.compile(r"[^a-z0-9/]+")


def words_of(kind: Kind) -> tuple[str, ...]:
    """The words a kind is found by: those of its name first."""
    return _words(f"{kind.name} {ALSO.get(kind.id, '')}")


def _words(text: str) -> tuple[str, ...]:
    return tuple(word for word in _BREAKS.split(text.casefold()) if word)


def kinds_found(text: str) -> tuple[Kind, ...]:
    """Kinds of which every word written begins a word, the likeliest first.

    A whole name comes before the beginning of one, that before a first word, that before any
    other; within these the catalogue's order holds. Nothing written finds nothing.

    >>> [k.id for k in kinds_found("wat hea")][0], kinds_found("no such thing"), kinds_found(" ")
    ('water-heater', (), ())
    """
    wanted = _words(text)
    if not wanted:
        return ()
    ranked = []
    for place, kind in enumerate(KINDS.values()):
        words = words_of(kind)
        if not all(any(word.startswith(part) for word in words) for part in wanted):
            continue
        name = _words(kind.name)
        if name == wanted:
            rank = 0
        elif " ".join(name).startswith(" ".join(wanted)):
            rank = 1
        else:
            rank = 2
        ranked.append((rank, place, kind))
    return tuple(kind for _, _, kind in sorted(ranked, key=lambda r: r[:2]))
