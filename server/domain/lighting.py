"""Lamps that follow the sun and the people."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from server.domain.base import Hours, Part, Share


class Lighting(Part):
    """Lamps, by darkness and presence; see ``server.simulate.lights``.

    While the people are up, ``day_share`` is lit by day and ``dark_share`` once it is dark, with
    twilight between; while they sleep or are away, ``night_share`` in the dark and none by day.
    They are up from ``up_hour`` to ``bed_hour``, each within ``spread_min``. A scenario with fewer
    people than the house usually has lights that much less; one with nobody there is away.

    Typical: rooms 0.6 after dark, 0.1 by day, 0.05 by night; up from 6:30 to 22:30, within 30 min:
    common practice, no source.
    """

    model: Literal["lighting"] = "lighting"
    dark_share: Share = 0.6
    day_share: Share = 0.1
    night_share: Share = 0.05
    up_hour: Hours = 6.5
    bed_hour: Hours = 22.5
    spread_min: Annotated[float, Field(ge=0, le=120)] = 30.0

    @property
    def up_h(self) -> float:
        """Hours that the people are up; 24 where both hours are the same. [h]

        >>> Lighting(up_hour=7, bed_hour=1).up_h
        18.0
        """
        return (self.bed_hour - self.up_hour) % 24.0 or 24.0
