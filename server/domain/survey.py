"""What was found at the panel: breakers traced one by one, and amps read with a clamp."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from server.domain.base import Id, Note, Part
from server.domain.scenario import LocalTime

TraceState = Literal["not_yet", "traced", "unsure"]
ClampAmps = Annotated[float, Field(ge=0, le=4_000)]


class ClampReading(Part):
    """Amps read on both legs of one place at one minute.

    ``element_id`` names a service, generator, switch, feeder or circuit. It may be gone by now:
    the reading stays, and is only not compared.
    """

    id: Id
    element_id: Id
    at: LocalTime
    l1_a: ClampAmps
    l2_a: ClampAmps
    neutral_a: ClampAmps | None = None
    note: Note = ""
