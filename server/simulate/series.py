"""The time series of a run as a table to take away."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

import numpy as np

from server.domain.cautions import PLANNING_AID
from server.simulate.levels import levels
from server.simulate.results import Run

# What a spreadsheet takes for a formula at the head of a cell, full-width forms with it.
_FORMULA = "=+-@\t\r\uff1d\uff0b\uff0d\uff20"

_PIECE = 200_000
"""Characters of the table that are held at once."""


def series_csv(run: Run) -> Iterator[str]:
    """Pieces of a table, one row per step: local time, amps of every shared point, levels.

    The amps are L1, L2 and N of each point that circuits share.
    Amps are a step's means, what is stored is as it stands at the step's end.
    The last column is empty under the caution that stands in every export.
    Text that a spreadsheet would read as a formula is kept as text.
    """
    points = [(i, p) for i, p in enumerate(run.points) if p.kind != "circuit_breaker"]
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    # Quoted, so that no separator of a spreadsheet's own choosing cuts a name in two.
    heads = csv.writer(out, quoting=csv.QUOTE_ALL)
    header = ["local time"]
    for _, point in points:
        name = _as_text(point.name)
        header += [f"{name} {leg} A" for leg in ("L1", "L2", "N")]
    stored = levels(run)
    header += [f"{_as_text(one.name)} {one.what} {one.unit}" for one in stored]
    heads.writerow([*header, str(PLANNING_AID)])
    yield _taken(out)
    kept = np.array([one.values for one in stored]).reshape(len(stored), run.steps).T
    table = run.amps[[i for i, _ in points]].reshape(len(points) * 3, run.steps).T
    for step, row in enumerate(table):
        cells = (f"{value:.2f}" for value in (*row, *kept[step]))
        writer.writerow([f"{run.time_of(step):%Y-%m-%d %H:%M:%S}", *cells, ""])
        if out.tell() > _PIECE:
            yield _taken(out)
    yield _taken(out)


def _taken(out: io.StringIO) -> str:
    text = out.getvalue()
    out.seek(0)
    out.truncate()
    return text


def _as_text(name: str) -> str:
    return "'" + name if name.startswith(tuple(_FORMULA)) else name
