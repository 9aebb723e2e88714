"""Whether a raceway is of metal, by the words it is entered with."""

from __future__ import annotations

from server.domain.supply import Feeder, Segment
from server.rules.tables import conduit_of, raceway_kind

METAL = ("emt", "imc", "rmc", "grc", "metal", "steel", "mc cable")
NON_METAL = ("pvc", "ent", "rtrc", "hdpe", "lfnc", "nonmetal", "non-metal", "plastic")


def is_metal(segment: Segment) -> bool | None:
    """Whether the raceway of a segment is metal, None where its words do not tell.

    >>> [is_metal(Segment(run_ft=9, size="4", raceway=w)) for w in ("EMT", "Rigid", "PVC 40", "")]
    [True, True, False, None]
    """
    kind = raceway_kind(segment.raceway)
    if kind is not None:
        return conduit_of(kind) != "pvc"
    words = segment.raceway.strip().lower()
    if words.startswith(NON_METAL):
        return False
    return True if words.startswith(METAL) else None


def all_in_metal(feeder: Feeder) -> bool:
    """Whether every length entered of a feeder lies in metal: a path for current by itself."""
    return bool(feeder.segments) and all(is_metal(s) is True for s in feeder.segments)
