"""What was found at the panel: breakers traced one by one, photos, amps read with a clamp."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from server.domain.base import Id, Note, Part
from server.domain.scenario import LocalTime

TraceState = Literal["not_yet", "traced", "unsure"]
PhotoType = Literal["image/jpeg", "image/png", "image/webp"]
PhotoId = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
"""SHA-256 of a photo's bytes. The site names the photo; the bytes are kept beside the site."""
ClampAmps = Annotated[float, Field(ge=0, le=4_000)]


@dataclass(frozen=True)
class Photo:
    """A photo as it is kept: its bytes as sent, what they are, and its size. [px]"""

    media_type: PhotoType
    width_px: int
    height_px: int
    data: bytes


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
