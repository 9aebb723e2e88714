"""Where a source feeds a bus in a run, by the source’s id: names may be shared."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from server.simulate.results import Run


def fed_by(run: Run, source_ids: Collection[str]) -> NDArray[np.bool_]:
    """Whether one of these sources feeds each bus in each step: (buses, steps)."""
    sources = (*(s.id for s in run.site.services), *(g.id for g in run.site.generators))
    wanted = [i for i, source_id in enumerate(sources) if source_id in source_ids]
    return np.asarray(np.isin(run.bus_source, wanted))
