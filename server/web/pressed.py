"""Forms that were saved a while ago, so that a button pressed twice is known for that.

Kept in this process alone: one that is started anew tells of a second press as of another person.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping

MOST_KEPT = 500
"""Forms known at a time; the oldest give way."""

_Key = tuple[str, int]
_lock = threading.Lock()
_saved: OrderedDict[_Key, None] = OrderedDict()


def remember(site_id: str, values: Mapping[str, str]) -> None:
    """Note that a form as sent was saved; the revision it began from is among its values."""
    with _lock:
        _saved[_key(site_id, values)] = None
        while len(_saved) > MOST_KEPT:
            _saved.popitem(last=False)


def pressed_twice(site_id: str, values: Mapping[str, str], revision: int) -> bool:
    """Whether the very same form was saved before, and nothing else since.

    ``revision`` is the one that is saved now: after an undo or another edit it is further on.

    >>> remember("s", {"name": "Lights", "revision": "3"})
    >>> pressed_twice("s", {"name": "Lights", "revision": "3"}, 4)
    True
    >>> pressed_twice("s", {"name": "Lights", "revision": "3"}, 5)
    False
    >>> pressed_twice("s", {"name": "Dryer", "revision": "3"}, 4)
    False
    """
    with _lock:
        known = _key(site_id, values) in _saved
    return known and values.get("revision") == str(revision - 1)


def _key(site_id: str, values: Mapping[str, str]) -> _Key:
    return site_id, hash(frozenset(values.items()))
