"""Where the words of a wire stand: along its track, where no wire and no other words cross them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.web.drawing.oneline_plan import Run

CHAR_PX = 6.4
"""Width of a letter of these words, on the wide side."""
_AIR, _ABOVE, _BELOW = 8.0, 21.0, 3.0


@dataclass(frozen=True)
class Upright:
    """A part of a wire that goes straight up or down at ``x``."""

    x: float
    top: float
    foot: float


@dataclass(frozen=True)
class Label:
    """Words on a track, beginning at ``x``."""

    text: str
    x: float

    @property
    def right(self) -> float:
        """Where they end, about."""
        return self.x + CHAR_PX * len(self.text)


def labels_of(
    runs: list[Run],
    tracks: Mapping[str, int],
    uprights: list[Upright],
    *,
    words: Mapping[str, tuple[str, ...]],
    track_y: Mapping[int, float],
    width: float,
) -> dict[str, Label]:
    """The words of every wire that has a track, by feeder.

    ``words`` are what could be said of each, the longest first. What fits over the wire or beside
    it without a crossing is taken; where nothing does, the shortest over the wire.
    """
    found: dict[str, Label] = {}
    for run in runs:
        track = tracks.get(run.feeder.id)
        if track is None:
            continue
        others = [r for r in runs if r is not run and tracks.get(r.feeder.id) == track]
        taken = [_span(r) for r in others]
        taken += [
            (found[r.feeder.id].x, found[r.feeder.id].right) for r in others if r.feeder.id in found
        ]
        y = track_y[track]
        standing = [u.x for u in uprights if u.top < y - _BELOW and u.foot > y - _ABOVE]
        able = (
            label
            for label in _candidates(run, words[run.feeder.id])
            if label.x >= 0.0
            and label.right <= width
            and not any(label.x - _AIR < x < label.right + _AIR for x in standing)
            and not any(label.x < b + _AIR and label.right > a - _AIR for a, b in taken)
        )
        last = Label(words[run.feeder.id][-1], _span(run)[0] + 10.0)
        found[run.feeder.id] = next(able, last)
    return found


def _span(run: Run) -> tuple[float, float]:
    return min(run.start, run.end), max(run.start, run.end)


def _candidates(run: Run, words: tuple[str, ...]) -> Iterator[Label]:
    low, high = _span(run)
    for text in words:
        long_px = CHAR_PX * len(text)
        yield Label(text, low + 10.0)
        yield Label(text, high - 10.0 - long_px)
        yield Label(text, low - 10.0 - long_px)
        yield Label(text, high + 10.0)
