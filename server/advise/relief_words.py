"""The change that relieves a limit in words, and the one that needs no rewiring."""

from __future__ import annotations

from server.advise.levers import ELECTRICIAN
from server.advise.relief import Candidate
from server.domain.lengths import span_words
from server.simulate.results import Run


def said(name: str, peak_a: float, best: Candidate) -> str:
    """What a change does to the limit of this name, which carries ``peak_a`` now."""
    words = f"{best.words}: {name} then carries {best.peak_a:.1f} A instead of {peak_a:.1f} A"
    if best.holds:
        words += f", and in the draw shown {best.holds}"
    elif best.mends:
        words += ", within its limit"
    else:
        words += ", nearer to its limit but still past it"
    if best.dark_min >= 1.0:
        words += f"; it asks for power and gets none for {span_words(best.dark_min)} more in all"
    words += "".join(f"; {clause}" for clause in best.frost)
    return f"{words}. {ELECTRICIAN}" if best.lever.planned else f"{words}."


def free_of(run: Run, candidates: tuple[Candidate, ...]) -> Candidate | None:
    """What mends it without rewiring, at the cost of comfort alone; the least dark first."""
    able = [
        c
        for c in candidates
        if c.lever.kind in {"later", "off"}
        and c.mends
        and not c.harms
        and run.site.circuit(c.lever.circuit_id).load_class in {"comfort", "deferrable"}
    ]
    return min(able, key=lambda c: (not c.holds, c.dark_min), default=None)
