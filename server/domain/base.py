"""The base of every noun, and the number types that carry their limits."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
)

from server.domain.text import has_controls, one_line, seen_text


class Part(BaseModel):
    """A frozen piece of a site document. Unknown fields and NaN are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
    # Beside the fields: a copy with changes must not take it along, nor a comparison see it.
    __slots__ = ("_hash",)

    def __hash__(self) -> int:
        """Hash of all fields, worked out once: sums are filed under the parts they come from."""
        try:
            kept: int = self._hash  # type: ignore[attr-defined]
        except AttributeError:
            kept = hash((type(self), *map(self.__dict__.get, type(self).model_fields)))
            object.__setattr__(self, "_hash", kept)
        return kept


Id = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,47}$")]


def _printable(text: str) -> str:
    if has_controls(text):
        raise ValueError("Remove the control characters from this text.")
    return text


def _seen(text: Any) -> Any:
    return seen_text(text) if isinstance(text, str) else text


def _line(text: Any) -> Any:
    return one_line(text) if isinstance(text, str) else text


MAX_NAME = 80
Name = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=MAX_NAME),
    BeforeValidator(_line),
    AfterValidator(_printable),
]
OptionalName = Annotated[
    str,
    StringConstraints(strip_whitespace=True, max_length=MAX_NAME),
    BeforeValidator(_line),
    AfterValidator(_printable),
]
"""A name that may be left empty."""
Note = Annotated[
    str,
    StringConstraints(strip_whitespace=True, max_length=2000),
    BeforeValidator(_seen),
    AfterValidator(_printable),
]
Word = Annotated[
    str,
    StringConstraints(strip_whitespace=True, max_length=30),
    BeforeValidator(_line),
    AfterValidator(_printable),
]
"""What stands on a product: a few letters on one line."""

Watts = Annotated[float, Field(ge=0, le=1_000_000)]
Kilowatts = Annotated[float, Field(ge=0, le=1_000)]
Amps = Annotated[float, Field(ge=0.1, le=4_000)]
Feet = Annotated[float, Field(ge=0, le=20_000)]
Gallons = Annotated[float, Field(ge=0, le=20_000)]
Seconds = Annotated[float, Field(ge=0, le=86_400)]
MINUTES_MOST = 20_160
Minutes = Annotated[float, Field(ge=0, le=MINUTES_MOST)]
Hours = Annotated[float, Field(ge=0, le=24)]
COLDEST_F, HOTTEST_F = -80.0, 220.0
Fahrenheit = Annotated[float, Field(ge=COLDEST_F, le=HOTTEST_F)]
Share = Annotated[float, Field(ge=0, le=1)]
HourlyShares = Annotated[tuple[Share, ...], Field(min_length=24, max_length=24)]
HourlyGallons = Annotated[tuple[Gallons, ...], Field(min_length=24, max_length=24)]
PowerFactor = Annotated[float, Field(ge=0.01, le=1)]

WireSize = Annotated[str, StringConstraints(pattern=r"^(14|12|10|8|6|4|3|2|1|[1-4]/0|[2-7][05]0)$")]
WireMetal = Literal["copper", "aluminum"]

Leg = Literal["L1", "L2"]
LEGS: tuple[Leg, Leg] = ("L1", "L2")

FigureSource = Literal["nameplate", "measured", "guess"]


def other_leg(leg: Leg) -> Leg:
    """The opposite leg.

    >>> other_leg("L1")
    'L2'
    """
    return "L2" if leg == "L1" else "L1"
