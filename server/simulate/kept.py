"""Runs kept for another look, the oldest dropped first once they fill their room."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future

from server.simulate.results import Run

ROOM_BYTES = 256 * 2**20
_OVERHEAD_BYTES = 100_000


def size_of(run: Run) -> int:
    """Bytes of a run's arrays, those worked out on demand counted as large as its march."""
    arrays = (run.amps, run.bus_live, run.bus_source, run.zone_f, run.own_room_f, run.level)
    return (
        sum(a.nbytes for a in arrays) + 2 * run.flows.nbytes + run.served.nbytes + _OVERHEAD_BYTES
    )


class KeptRuns:
    """Runs by what they were made from. Safe to use from several threads."""

    def __init__(self, room_bytes: int = ROOM_BYTES) -> None:
        self._room = room_bytes
        self._runs: OrderedDict[Hashable, Run] = OrderedDict()
        self._under_way: dict[Hashable, Future[Run]] = {}
        self._used = 0
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], Run]) -> Run:
        """The run under this key, made now if it is not kept. The newest is always kept.

        Who asks for a run that is being made waits for it, and fails with it.
        """
        with self._lock:
            found = self._runs.get(key)
            if found is not None:
                self._runs.move_to_end(key)
                return found
            awaited = self._under_way.get(key)
            if awaited is None:
                mine = self._under_way[key] = Future()
        if awaited is not None:
            return awaited.result()
        try:
            made = make()
        except BaseException as error:
            with self._lock:
                del self._under_way[key]
            mine.set_exception(error)
            raise
        with self._lock:
            del self._under_way[key]
            self._runs[key] = made
            self._used += size_of(made)
            while self._used > self._room and len(self._runs) > 1:
                _, oldest = self._runs.popitem(last=False)
                self._used -= size_of(oldest)
        mine.set_result(made)
        return made

    def peek(self, key: Hashable) -> Run | None:
        """The run under this key if it is kept; looking at it counts as use."""
        with self._lock:
            if key in self._runs:
                self._runs.move_to_end(key)
            return self._runs.get(key)

    def __len__(self) -> int:
        return len(self._runs)
