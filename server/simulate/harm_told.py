"""A harm as the verdict takes it: whether it fails the run, or is what its holding costs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class HarmTold:
    """One harm that comes, of one ``kind`` to one element, its first moment ``at``.

    ``over`` is of one that came in an outage that was over when the run began. ``clause`` says it
    inside a sentence, ``why`` what was dead; ``circuit_id`` is empty for a room. ``longest_min`` is
    its longest stretch where that is known, else 0.
    """

    kind: str
    element_id: str
    circuit_id: str
    at: datetime
    clause: str
    why: str
    fails: bool
    over: bool = False
    longest_min: float = 0.0
