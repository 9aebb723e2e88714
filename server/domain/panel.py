"""Panels and their spaces."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from server.domain.base import LEGS, Amps, FigureSource, Id, Leg, Name, Note, Part

Space = Annotated[int, Field(ge=1, le=84)]
Half = Literal["a", "b"]


class Panel(Part):
    """A panelboard.

    ``rating_a`` is the bus rating, ``main_a`` its own main breaker (None: main lugs).
    ``tandem_spaces`` are the spaces where the maker permits a tandem breaker. ``floor_area_ft2``
    is the floor area whose lights and general plugs it feeds, as the demand calculation asks.
    ``dwelling`` names the dwelling unit it supplies where several share a service or a feeder;
    panels it feeds belong to the same unit unless they name another.
    """

    id: Id
    name: Name
    rating_a: Amps
    main_a: Amps | None = None
    spaces: Space
    tandem_spaces: Annotated[tuple[Space, ...], Field(max_length=84)] = ()
    neutral_bonded: bool = False
    detached_building: bool = False
    interrupting_a: Annotated[float, Field(ge=1, le=200_000)] | None = None
    floor_area_ft2: Annotated[float, Field(ge=0, le=100_000)] | None = None
    dwelling: Note = ""
    figure_source: FigureSource = "nameplate"
    location: Note = ""
    note: Note = ""


def leg_of_space(space: int) -> Leg:
    """The leg behind a space: odd left, even right, legs alternating by row.

    Common practice, no source: US panelboards number odd spaces down the left side and even down
    the right, and each row taps the other leg.

    >>> [leg_of_space(n) for n in (1, 2, 3, 4, 5)]
    ['L1', 'L1', 'L2', 'L2', 'L1']
    """
    return LEGS[((space - 1) // 2) % 2]


def beside(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Whether two breakers stand one space above or below each other, where one handle ties them.

    >>> beside((1,), (3,)), beside((1,), (2,)), beside((9,), (29,))
    (True, False, False)
    """
    return abs(one[0] - other[0]) == 2
