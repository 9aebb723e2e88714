"""Sites already read and checked, so that a page need not read them again."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock

from server.domain.site import Site
from server.store.rows import Parts


@dataclass(frozen=True)
class Read:
    """A site at one revision, with the parts it was made from (never changed in place)."""

    site: Site
    parts: Parts


class SiteCache:
    """The most recently used sites, by id and revision; safe among threads."""

    def __init__(self, size: int = 48) -> None:
        self._size = size
        self._held: OrderedDict[tuple[str, int], Read] = OrderedDict()
        self._lock = Lock()

    def get(self, site_id: str, revision: int) -> Read | None:
        """The site at this revision, when it is held."""
        with self._lock:
            read = self._held.get((site_id, revision))
            if read is not None:
                self._held.move_to_end((site_id, revision))
            return read

    def put(self, site_id: str, revision: int, read: Read) -> None:
        """Hold a site, letting go of the one used longest ago."""
        with self._lock:
            self._held[site_id, revision] = read
            self._held.move_to_end((site_id, revision))
            while len(self._held) > self._size:
                self._held.popitem(last=False)
