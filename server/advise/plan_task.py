"""One thing to do in an outage, as the parts of its plan give it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from server.domain.text import listed


@dataclass(frozen=True)
class Task:
    """One thing to do. ``at`` is its time, None where it goes for the whole part."""

    at: datetime | None
    text: str
    caution: str = ""


def joined(names: list[str]) -> str:
    """Names, each once, as a sentence has them.

    >>> joined(["a", "b", "a", "c"])
    'a, b and c'
    """
    return listed(list(dict.fromkeys(names)))
