"""The time series of a run as a table to take away."""

from __future__ import annotations

import csv
import io

from server.simulate.results import Run


def series_csv(run: Run) -> str:
    """One row per step: local time, then L1, L2 and N amps of every point that circuits share.

    Text that a spreadsheet would read as a formula is kept as text.
    """
    points = [(i, p) for i, p in enumerate(run.points) if p.kind != "circuit_breaker"]
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    header = ["local time"]
    for _, point in points:
        name = _as_text(point.name)
        header += [f"{name} {leg} A" for leg in ("L1", "L2", "N")]
    writer.writerow(header)
    table = run.amps[[i for i, _ in points]].reshape(len(points) * 3, run.steps).T
    for step, row in enumerate(table):
        writer.writerow([f"{run.time_of(step):%Y-%m-%d %H:%M:%S}", *(f"{a:.2f}" for a in row)])
    return out.getvalue()


def _as_text(name: str) -> str:
    return "'" + name if name[:1] in "=+-@\t\r" else name
