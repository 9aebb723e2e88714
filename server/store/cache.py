"""Sites already read and checked, so that a page need not read them again."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from threading import Lock

from server.domain.site import Site
from server.store.rows import Parts


@dataclass(frozen=True)
class Read:
    """A site at one revision, with the parts it was made from (never changed in place)."""

    site: Site
    parts: Parts


Key = tuple[str, int, datetime]
"""Site id, revision and when that revision was saved.

The moment tells a revision that was never committed from the one that took its number, so a site
may be put here before its commit, and no reader has to read it from the tables right after.
"""


class SiteCache:
    """The most recently used sites; safe among threads."""

    def __init__(self, size: int = 48) -> None:
        self._size = size
        self._held: OrderedDict[Key, Read] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Key) -> Read | None:
        """The site at this revision, when it is held."""
        with self._lock:
            read = self._held.get(key)
            if read is not None:
                self._held.move_to_end(key)
            return read

    def put(self, key: Key, read: Read) -> None:
        """Hold a site, letting go of the one used longest ago."""
        with self._lock:
            self._held[key] = read
            self._held.move_to_end(key)
            while len(self._held) > self._size:
                self._held.popitem(last=False)
