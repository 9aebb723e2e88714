"""Must-serve circuits whose harm comes before the time that they are entered as able to wait."""

from __future__ import annotations

from server.domain.lengths import span_words
from server.simulate.harms import harms
from server.simulate.results import Run

AT_ONCE_MIN = 1.0
"""A harm that comes sooner is told as coming at once. Common practice, no source. [min]"""


def harm_first(run: Run) -> dict[str, str]:
    """By circuit id: the harm of this run that its wait is longer than, and after how long.

    Counted from where the power of that circuit went. Only what the harm clock reached is told.
    """
    row_of = {a.id: row for row, c in enumerate(run.site.circuits) for a in c.appliances}
    found: dict[str, tuple[float, str]] = {}
    for harm in harms(run):
        row = row_of.get(harm.element_id)
        if harm.at is None or row is None:
            continue
        at_s = (harm.at - run.scenario.start).total_seconds()
        begins = [a for a, _ in run.served.dark(row) if a <= at_s + 1.0]
        circuit = run.site.circuits[row]
        after_min = (at_s - begins[-1]) / 60.0 if begins else circuit.least_gap_min
        if after_min < min(circuit.least_gap_min, found.get(circuit.id, (after_min + 1, ""))[0]):
            found[circuit.id] = (after_min, harm.what)
    return {circuit_id: _words(after_min, what) for circuit_id, (after_min, what) in found.items()}


def _words(after_min: float, what: str) -> str:
    if after_min < AT_ONCE_MIN:
        return f"{what}, at once"
    return f"{what}, after {span_words(after_min)}"
