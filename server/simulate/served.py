"""When each circuit of a run had power, and what each set gave: what the harm clock counts by."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from server.simulate.in_use import WantedGap, dark_spans, wanted_gaps

Span = tuple[float, float]


@dataclass(frozen=True)
class Served:
    """Seconds are from the scenario's start.

    edge_s      (segments + 1,)         Where the supply changes, and the end; with hours before
                                        the run from their begin, before 0. [s]
    live, fed   (segments, circuits)    Has power to use; has power at its breaker.
    powered     (segments, circuits)    Has power as delays count it: before they are over too, and
                                        whatever a manager holds off.
    outages     spans                   The utility is out; the first may begin before the start.
    running     by set                  Spans in which its engine turns.
    cell_end_s  (cells,)                End of each cell. [s]
    set_w       (sets, cells)           Mean watts out of each set. [W]
    held        by circuit              Spans in which a manager holds it off.
    quiet       by circuit              Spans in which what must be served on it is not in use.
    since_s                             When the outage began in which a run begins, before 0; else
                                        0. [s]
    """

    edge_s: NDArray[np.float64]
    live: NDArray[np.bool_]
    fed: NDArray[np.bool_]
    powered: NDArray[np.bool_]
    outages: tuple[Span, ...]
    running: dict[str, tuple[Span, ...]]
    cell_end_s: NDArray[np.float64]
    set_w: NDArray[np.float32]
    held: dict[int, tuple[Span, ...]] = field(default_factory=dict)
    quiet: dict[int, tuple[Span, ...]] = field(default_factory=dict)
    since_s: float = 0.0

    @property
    def nbytes(self) -> int:
        """Bytes of its arrays."""
        arrays = (self.edge_s, self.live, self.fed, self.powered, self.cell_end_s, self.set_w)
        return sum(a.nbytes for a in arrays)

    def dark(self, circuit: int) -> tuple[Span, ...]:
        """Spans in which a circuit has no power to use, in order and never touching.

        The hours before a run that begins inside an outage count, below 0 s; not those of an
        outage that was over by then.
        """
        spans = self.dark_ever(circuit)
        return tuple((max(a, self.since_s), b) for a, b in spans if b > self.since_s + 1e-6)

    def dark_ever(self, circuit: int) -> tuple[Span, ...]:
        """The same with those of every outage whose marks the run begins with."""
        return dark_spans(self.edge_s, self.live[:, circuit])

    def dark_in_run(self, circuit: int) -> tuple[Span, ...]:
        """Those spans from the start of the run on."""
        return tuple((max(a, 0.0), b) for a, b in self.dark(circuit) if b > 0.0)

    def gaps(self, circuit: int) -> tuple[WantedGap, ...]:
        """Those spans with what of them counts; of what is not in use then, nothing does."""
        return wanted_gaps(self.dark(circuit), self.quiet.get(circuit, ()))

    def held_off(self, circuit: int, at_s: float) -> bool:
        """Whether a circuit without power at this instant has it at its breaker."""
        segment = int(np.searchsorted(self.edge_s, at_s, side="right")) - 1
        return bool(self.fed[min(max(segment, 0), len(self.fed) - 1), circuit])

    def outage_at(self, at_s: float) -> Span | None:
        """The last outage that began by then, over or not."""
        begun = [span for span in self.outages if span[0] <= at_s]
        return begun[-1] if begun else None


def past(
    dark: tuple[Span, ...], *, limit_h: float, regain: float, end_s: float
) -> tuple[float | None, float]:
    """When a count of hours without power first passes its limit, and the most it came to.

    The count rises by the clock while dark and falls ``regain`` hours for each hour with power,
    never below zero.

    Returns
    -------
    (float or None, float)   Seconds from the start, None where never; most hours counted, no
                             further than the limit once passed. [s, h]

    >>> past(((3600.0, 36000.0),), limit_h=4.0, regain=1.0, end_s=36000.0)
    (18000.0, 4.0)
    """
    count, most, last_s = 0.0, 0.0, min((a for a, _ in dark), default=0.0)
    for begin, end in dark:
        count = max(0.0, count - regain * (begin - last_s) / 3600.0)
        length_h = (min(end, end_s) - begin) / 3600.0
        if count + length_h > limit_h:
            return begin + max(0.0, limit_h - count) * 3600.0, limit_h
        count += length_h
        most, last_s = max(most, count), end
    return None, most


def counted(dark: tuple[Span, ...], *, regain: float, at_s: float) -> tuple[Span, ...]:
    """Spans without power that such a count is made of at an instant, cut there. [s]

    Those since it last was at nothing.

    >>> counted(((0.0, 60.0), (90.0, 200.0), (800.0, 900.0)), regain=1.0, at_s=150.0)
    ((0.0, 60.0), (90.0, 150.0))
    """
    count_s, last_s = 0.0, 0.0
    found: list[Span] = []
    for begin, end in dark:
        if begin >= at_s:
            break
        count_s = max(0.0, count_s - regain * (begin - last_s))
        if count_s <= 0.0:
            found.clear()
        found.append((begin, min(end, at_s)))
        count_s, last_s = count_s + end - begin, end
    return tuple(found)
