"""The fields of the wiring bench: what each may hold, and what it means left empty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.rules.ranges import Range
from server.rules.tables import conductors, insulations, raceways
from server.rules.wiring.piece import MOST_PIECES, PIECE_RANGES
from server.rules.wiring.raceway import BARE
from server.rules.wiring.run import RANGES

Options = tuple[tuple[str, str], ...]
MOST_ALSO = 4
MOST_BENDS = 40
_SHARE = RANGES["drop_share"]


def _fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32.0


_AMBIENT = PIECE_RANGES["ambient_c"]


@dataclass(frozen=True)
class Figure:
    """A number: its label, what it may be, its unit, and what an empty field stands for."""

    label: str
    may: Range
    empty: str

    @property
    def hint(self) -> str:
        """The line under the field."""
        return f"{self.may.words}. {self.empty}".rstrip()


LOAD_FIGURES: Mapping[str, Figure] = {
    "noncontinuous_a": Figure("Load", RANGES["noncontinuous_a"], "Under three hours at a time."),
    "continuous_a": Figure("Continuous load", RANGES["continuous_a"], "Three hours or more."),
    "start_a": Figure("Motor start on top", RANGES["start_a"], "Locked rotor. Empty: none."),
    "neutral_a": Figure("Neutral load", RANGES["neutral_a"], "Empty: no neutral."),
    "volts": Figure("Volts", RANGES["volts"], "Empty: 240."),
    "power_factor": Figure("Power factor of the load", RANGES["power_factor"], "Empty: 1."),
    "device_a": Figure("Device", RANGES["device_a"], "Empty: the next standard one."),
    "drop_percent": Figure(
        "Drop at most", Range(_SHARE.low * 100, _SHARE.high * 100, "%"), "Empty: 3, as advised."
    ),
    "ahead_percent": Figure("Drop ahead of it", Range(0, 50, "%"), "Empty: not told."),
}
PIECE_FIGURES: Mapping[str, Figure] = {
    "run_ft": Figure("One-way length", PIECE_RANGES["run_ft"], "A nipple: 2 or less."),
    "sets": Figure("Parallel sets", PIECE_RANGES["sets"], "Empty: 1."),
    "ambient_f": Figure(
        "Air around it",
        Range(_fahrenheit(_AMBIENT.low), _fahrenheit(_AMBIENT.high), "°F"),
        "Empty: 86 °F (30 °C).",
    ),
    "current_carrying": Figure(
        "Current-carrying wires together",
        PIECE_RANGES["current_carrying"],
        "Empty: counted.",
    ),
}
ALSO_COUNT = Figure("How many", Range(1, 200, whole=True), "")
BENDS = PIECE_RANGES["bends_deg"]

METALS: Options = (("copper", "copper"), ("aluminum", "aluminum"))
SIZES: Options = tuple(
    (c.size, f"{c.size} {'AWG' if c.cmil < 250_000 else 'kcmil'}") for c in conductors()
)
KINDS: Options = tuple({r.kind: r.name for r in raceways()}.items())
TRADES: Options = tuple((t, f"{t} in") for t in dict.fromkeys(r.trade_size for r in raceways()))
_LETTERS = ("THWN-2", "XHHW-2", *insulations())
LETTERS: Options = tuple(
    (n, ", ".join(filter(None, (n, insulations()[n].covering)))) for n in dict.fromkeys(_LETTERS)
)

LOAD_CHOICES: Mapping[str, tuple[str, Options]] = {
    "reckoning": (
        "Drop by",
        (
            ("dc", "dc resistance"),
            ("impedance", "impedance at the power factor"),
            ("both", "the larger of both"),
        ),
    ),
    "terminal_c": (
        "Terminals are marked",
        (("", "not read: by 110.14(C)"), ("60", "60 °C"), ("75", "75 °C")),
    ),
    "use": (
        "What it is",
        (
            ("", "a feeder"),
            ("branch", "a branch for one load"),
            ("receptacles", "a branch of several receptacles"),
            ("service", "service conductors"),
        ),
    ),
    "whole_dwelling": (
        "83 % rule",
        (("", "no"), ("on", "yes: all of one dwelling, from 100 A to 400 A")),
    ),
    "full_rated": ("Device rated for 100 %", (("", "no"), ("on", "yes, it is marked so"))),
    "ground_metal": ("Equipment ground of", METALS),
}
PIECE_CHOICES: Mapping[str, tuple[str, Options]] = {
    "size": ("Wire", (("", "find the smallest"), *SIZES)),
    "metal": ("Metal", METALS),
    "letters": ("Insulation", LETTERS),
    "kind": ("Raceway", (KINDS[1], KINDS[0], *KINDS[2:])),
    "trade_size": ("Trade size", (("", "find the smallest"), *TRADES)),
    "place": ("Place", (("", "dry or damp"), ("wet", "wet, or underground"))),
    "nipple": ("Short nipple", (("", "no"), ("on", "yes, 24 in or less between boxes"))),
}
ALSO_CHOICES: Mapping[str, tuple[str, Options]] = {
    "size": ("Wire", (("", "choose"), *SIZES)),
    "letters": (
        "Insulation",
        (*(one for one in LETTERS if insulations()[one[0]].family), (BARE, "bare")),
    ),
    "segment": (
        "In the raceway of",
        (("", "every segment"), *((str(n), f"segment {n}") for n in range(1, MOST_PIECES + 1))),
    ),
}


def piece_name(at: int, field: str) -> str:
    """The form's name of a field of a segment.

    >>> piece_name(0, "run_ft")
    'pieces.0.run_ft'
    """
    return f"pieces.{at}.{field}"


def piece_names(at: int, fields: Iterable[str]) -> list[str]:
    """The form's names of fields of a segment."""
    return [piece_name(at, field) for field in fields]


def also_name(at: int, field: str) -> str:
    """The form's name of a field of wires that lie beside the run."""
    return f"also.{at}.{field}"


def _labels() -> dict[str, str]:
    found = {name: one.label for name, one in LOAD_FIGURES.items()}
    found |= {name: label for name, (label, _) in LOAD_CHOICES.items()}
    for at in range(MOST_PIECES):
        for name, one in PIECE_FIGURES.items():
            found[piece_name(at, name)] = f"Segment {at + 1}, {one.label.lower()}"
        for name, (label, _) in PIECE_CHOICES.items():
            found[piece_name(at, name)] = f"Segment {at + 1}, {label.lower()}"
        found[piece_name(at, "bends")] = f"Segment {at + 1}, bends"
    for at in range(MOST_ALSO):
        found[also_name(at, "count")] = f"Other wires {at + 1}, how many"
        for name, (label, _) in ALSO_CHOICES.items():
            found[also_name(at, name)] = f"Other wires {at + 1}, {label.lower()}"
    return found


LABELS: Mapping[str, str] = _labels()
"""Every field of the bench by its form name, as a list of problems calls it."""

ALSO_NAMES = [also_name(at, name) for at in range(MOST_ALSO) for name in ("count", "size")]
"""The fields that say whether anything lies beside the run."""

EXAMPLE: Mapping[str, str] = {
    "noncontinuous_a": "48",
    "neutral_a": "20",
    "device_a": "60",
    "terminal_c": "75",
    "start_a": "60",
    "power_factor": "0.95",
    "ahead_percent": "0.6",
    "pieces.0.run_ft": "190",
    "pieces.0.metal": "aluminum",
    "pieces.0.kind": "pvc40",
    "pieces.0.place": "wet",
    "pieces.0.bends": "90 90 45 45",
    "pieces.1.run_ft": "35",
    "pieces.1.kind": "emt",
    "pieces.1.ambient_f": "104",
    "pieces.1.bends": "90 90 90 90 90",
    "also.0.count": "4",
    "also.0.size": "12",
    "also.0.segment": "2",
}
"""A feeder to a shed: buried in PVC, then through a hot attic in EMT beside two other circuits."""
