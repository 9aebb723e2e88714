"""Many draws of one scenario: a pure function of (site, scenario, seed, range of draws).

A draw is told by its number alone, so draws can be made in any order, on any number of threads or
machines, and what came of two ranges joins into what comes of both.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from server.domain.errors import InputError
from server.domain.namesakes import sets_told_apart
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.dry import Played, play
from server.simulate.harm_grade import harm_keys, harms_told
from server.simulate.held import Stretches, with_held
from server.simulate.hours_before import hours_before
from server.simulate.in_use import quiet_spans
from server.simulate.leg_stats import minute_peaks
from server.simulate.outcome import longest_waits_s
from server.simulate.pit_over import spilt_by_circuit
from server.simulate.prepared import Prepared, Room, prepare
from server.simulate.seen import flows_of, seen_of

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]

MOST_THREADS = 8


@dataclass(frozen=True)
class Draws:
    """What is kept of each draw, one row for each, in order of their numbers.

    number      (draws,)            Which draw.
    peaks_a     (draws, points, 3)  Worst one-minute mean of L1, L2 and N. [A]
    unserved_s  (draws, circuits)   How long each circuit asked for power and got none. [s]
    gap_s       (draws, circuits)   Longest stretch of each circuit without supply, or the most
                                    taken out of its own battery. [s]
    dry_s       (draws, sets)       When the fuel of each set ends, from the start; never is
                                    infinite. [s]
    spilt_gal   (draws, circuits)   Water that the pits of each circuit ran over by. [gal]
    harm_s      (draws, harms)      When each harm of ``harm_keys`` that fails a run comes, from the
                                    start, below 0 before it; never is infinite. [s]
    starts      (draws, loads)      Times that the motor of each load that counts them started.
    """

    number: Ints
    peaks_a: Singles
    unserved_s: Singles
    gap_s: Singles
    dry_s: Floats
    spilt_gal: Singles
    harm_s: Floats
    starts: Singles

    def __len__(self) -> int:
        return len(self.number)

    def merge(self, other: Draws) -> Draws:
        """Both, whatever the order in which they were made.

        Raises
        ------
        InputError   When a draw is in both.
        """
        number = np.concatenate((self.number, other.number))
        order = np.argsort(number, kind="stable")
        if np.any(np.diff(number[order]) == 0):
            raise InputError("A draw cannot be counted twice.", field="draws")
        joined = {
            f.name: np.concatenate((getattr(self, f.name), getattr(other, f.name)))[order]
            for f in fields(Draws)
        }
        return Draws(**joined)


def run_draws(
    site: Site,
    scenario: Scenario,
    *,
    draws: range,
    seed: int | None = None,
    threads: int | None = None,
) -> Draws:
    """Run these draws and keep their peaks, wants, and ends of fuel.

    Parameters
    ----------
    draws : range         Numbers of the draws; draw 0 is the one that a run shows.
    seed : int or None    None takes the scenario's own.
    threads : int or None How many at once; None takes one for each processor. It changes nothing
                          but the time it takes.

    Raises
    ------
    InputError   When there is no draw in the range, or a run would not fit in memory.
    """
    if not draws or min(draws) < 0:
        raise InputError("At least one draw is needed, and none below zero.", field="draws")
    site = sets_told_apart(site)
    ready = prepare(site, scenario)
    numbers = np.sort(np.array(draws, dtype=np.int64))
    count, points = len(numbers), len(ready.points)
    kept = Draws(
        number=numbers,
        peaks_a=np.empty((count, points, 3), dtype=np.float32),
        unserved_s=np.empty((count, len(site.circuits)), dtype=np.float32),
        gap_s=np.empty((count, len(site.circuits)), dtype=np.float32),
        dry_s=np.full((count, len(site.generators)), np.inf),
        spilt_gal=np.zeros((count, len(site.circuits)), dtype=np.float32),
        harm_s=np.full((count, len(harm_keys(site))), np.inf),
        starts=np.empty((count, len(ready.packed.model)), dtype=np.float32),
    )
    work = _Work(ready, scenario.seed if seed is None else seed, kept)
    workers = max(1, min(threads or os.cpu_count() or 1, count, MOST_THREADS))
    others = [threading.Thread(target=work.run, daemon=True) for _ in range(workers - 1)]
    for thread in others:
        thread.start()
    work.run()
    for thread in others:
        thread.join()
    if work.failed is not None:
        raise work.failed
    return kept


class _Work:
    """Rows to be filled, handed out one by one to however many threads ask."""

    def __init__(self, ready: Prepared, seed: int, kept: Draws) -> None:
        self._ready, self._seed, self._kept = ready, seed, kept
        self._rows: Iterator[int] = iter(range(len(kept)))
        self._lock = threading.Lock()
        self.failed: Exception | None = None
        self._neutral_only = np.array(
            [p.kind == "feeder_neutral" for p in ready.points], dtype=np.bool_
        )
        self._per_block = max(1, 60 // ready.scenario.step_s)
        self._quiet = quiet_spans(ready.site, ready.scenario)
        self._stretches = with_held(ready.site, ready.supply, None)
        self._gap_s = longest_waits_s(ready.site, self._stretches, self._quiet)
        outages = bool(ready.timeline.outages)
        self._harms = {k: i for i, k in enumerate(harm_keys(ready.site))} if outages else {}

    def _next(self) -> int | None:
        with self._lock:
            return None if self.failed is not None else next(self._rows, None)

    def run(self) -> None:
        """Fill rows until none is left."""
        try:
            room = Room(self._ready)
            while (row := self._next()) is not None:
                self._fill(row, room)
        except Exception as error:
            self.failed = error

    def _fill(self, row: int, room: Room) -> None:
        kept, ready = self._kept, self._ready
        played = play(ready, self._seed, int(kept.number[row]), room)
        marched = played.marched
        minute_peaks(marched.amps, self._neutral_only, self._per_block, kept.peaks_a[row])
        kept.unserved_s[row] = marched.unserved
        stretches = self._stretches
        if played.ready is ready and marched.held_s is None:
            kept.gap_s[row] = self._gap_s
        else:
            stretches = played.ready.stretches(marched)
            waits = played.ready.waits(stretches)
            kept.gap_s[row] = longest_waits_s(ready.site, waits, self._quiet)
        if self._harms:
            self._harm(row, played, stretches)
        kept.spilt_gal[row] = spilt_by_circuit(ready.site, marched.ledger)
        kept.starts[row] = marched.ledger[:, 3]
        kept.dry_s[row] = played.dry_s

    def _harm(self, row: int, played: Played, stretches: Stretches) -> None:
        flows = flows_of(played.ready, played.marched)
        before = hours_before(played.ready, items=False)
        seen = seen_of(
            played.ready, played.marched, stretches, quiet=self._quiet, flows=flows, before=before
        )
        for one in harms_told(seen):
            if one.fails:
                at_s = (one.at - self._ready.scenario.start).total_seconds()
                self._kept.harm_s[row, self._harms[one.kind, one.element_id]] = at_s
