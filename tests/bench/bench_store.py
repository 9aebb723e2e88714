"""Readers and writers at once on one database: ``python -m tests.bench.bench_store [SECONDS]``.

Prints errors, lost edits and the p50 and p95 of reads and saves; exits 1 when anything failed.
Every writer keeps a count in a circuit of its own on one shared site, beginning again whenever
another one saved first, so a lost edit shows as a count that is too low.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import quantiles

from server.domain.edits import put_circuit
from server.domain.errors import StaleEditError
from server.store.database import migrate, open_engine
from server.store.sites import SiteStore
from tests.store.houses import full_site


@dataclass
class Tally:
    """What the threads saw; times in ms."""

    reads_ms: list[float] = field(default_factory=list)
    saves_ms: list[float] = field(default_factory=list)
    stale: int = 0
    errors: list[str] = field(default_factory=list)
    saved: dict[str, int] = field(default_factory=dict)


def read(store: SiteStore, site_id: str, tally: Tally, newest: list[int]) -> None:
    begun = time.perf_counter()
    stored = store.get(site_id)
    tally.reads_ms.append((time.perf_counter() - begun) * 1e3)
    if stored.revision < newest[0]:
        tally.errors.append(f"revision {stored.revision} read after {newest[0]}")
    newest[0] = stored.revision


def save(store: SiteStore, site_id: str, tally: Tally, circuit_id: str) -> None:
    count = tally.saved[circuit_id] + 1
    begun = time.perf_counter()
    while True:
        now = store.get(site_id)
        counted = now.site.circuit(circuit_id).model_copy(update={"area": str(count)})
        edited = put_circuit(now.site, counted)
        try:
            store.save(site_id, edited, base_revision=now.revision, label="Count")
        except StaleEditError:
            tally.stale += 1
            continue
        tally.saved[circuit_id] = count
        tally.saves_ms.append((time.perf_counter() - begun) * 1e3)
        return


def repeat(step: Callable[[], None], tally: Tally, *, until: float, pause_s: float) -> None:
    while time.perf_counter() < until:
        try:
            step()
        except Exception as error:
            tally.errors.append(repr(error))
        time.sleep(pause_s)


def run(url: str, *, seconds: float, readers: int, writers: int, pause_s: float) -> Tally:
    engine = open_engine(url)
    migrate(engine)
    store = SiteStore(engine)
    site_id = store.create(full_site(circuits=60)).id
    tally = Tally(saved={f"n{i}": 0 for i in range(writers)})
    until = time.perf_counter() + seconds

    def reader() -> None:
        newest = [0]
        repeat(lambda: read(store, site_id, tally, newest), tally, until=until, pause_s=pause_s)

    def writer(circuit_id: str) -> None:
        repeat(lambda: save(store, site_id, tally, circuit_id), tally, until=until, pause_s=pause_s)

    threads = [threading.Thread(target=reader) for _ in range(readers)]
    threads += [threading.Thread(target=writer, args=(c,)) for c in tally.saved]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = SiteStore(engine).get(site_id)
    for circuit_id, count in tally.saved.items():
        kept = int(found.site.circuit(circuit_id).area or 0)
        if kept != count:
            tally.errors.append(f"{circuit_id}: {count} saved, {kept} kept")
    missing = 1 + sum(tally.saved.values()) - found.revision
    if missing:
        tally.errors.append(f"{missing} revisions missing")
    engine.dispose()
    return tally


def shown(name: str, times_ms: list[float]) -> str:
    cuts = quantiles(times_ms, n=20) if len(times_ms) > 1 else [float("nan")] * 19
    return f"{name:6} {len(times_ms):8d}   p50 {cuts[9]:7.2f} ms   p95 {cuts[18]:7.2f} ms"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("seconds", nargs="?", type=float, default=60)
    parser.add_argument("--readers", type=int, default=50)
    parser.add_argument("--writers", type=int, default=5)
    parser.add_argument("--pause-ms", type=float, default=100, help="rest of each thread")
    parser.add_argument("--url", help="another database than a temporary SQLite file")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        url = given.url or f"sqlite:///{Path(folder) / 'bench.db'}"
        tally = run(
            url,
            seconds=given.seconds,
            readers=given.readers,
            writers=given.writers,
            pause_s=given.pause_ms / 1e3,
        )
    print(shown("reads", tally.reads_ms))
    print(shown("saves", tally.saves_ms), f"  begun again {tally.stale}")
    print(f"errors {len(tally.errors)}", *tally.errors[:10], sep="\n  ")
    return 1 if tally.errors or not tally.saves_ms else 0


if __name__ == "__main__":
    sys.exit(main())
