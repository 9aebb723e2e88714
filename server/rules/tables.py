"""The tables of the code, read once from ``tables/*.toml`` and checked as they are read."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

from server.domain.errors import InputError
from server.physics.conductor import circle_area_in2

Metal = Literal["copper", "aluminum"]
METALS: tuple[Metal, ...] = get_args(Metal)
Column = Literal[60, 75, 90]
COLUMNS: tuple[Column, ...] = get_args(Column)
_FOLDER = Path(__file__).parent / "tables"


@cache
def read_toml(name: str) -> dict[str, Any]:
    """One table file as it is written."""
    return tomllib.loads((_FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def row_of_table(name: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """A row with what it does not say itself taken from its table's head."""
    return {**read_toml(name)["table"], **row}


@dataclass(frozen=True)
class Conductor:
    """One size: area, resistance, ampacity columns, and areas over insulation.

    ``ohm_per_kft`` is dc at 75 °C, uncoated, stranded. ``ampacity`` holds 60/75/90 °C.
    """

    size: str
    cmil: int
    ohm_per_kft: Mapping[Metal, float]
    bare_in2: float
    ampacity: Mapping[Metal, tuple[float, float, float]]
    area_in2: Mapping[str, float]

    def ohm(self, metal: Metal) -> float:
        """Resistance of this metal. [ohm per 1000 ft]"""
        return self.ohm_per_kft[metal]

    def ampere(self, metal: Metal, column: Column) -> float:
        """Allowable ampacity in a temperature column. [A]

        Raises
        ------
        InputError   Where the table has no such conductor, such as 14 aluminum.
        """
        if metal not in self.ampacity:
            smallest = next(c.size for c in conductors() if metal in c.ampacity)
            raise InputError(
                f"The ampacity table has no {self.size} {metal}; {metal} starts at {smallest}.",
                field="size",
            )
        return self.ampacity[metal][COLUMNS.index(column)]


def _three(amps: list[float]) -> tuple[float, float, float]:
    low, middle, high = amps
    return float(low), float(middle), float(high)


@cache
def conductors() -> tuple[Conductor, ...]:
    """Every size, smallest first.

    >>> [c.size for c in conductors()][:3], conductors()[-1].size
    (['14', '12', '10'], '750')
    """
    ampacity = {r["size"]: r for r in read_toml("ampacity")["rows"]}
    area = {r["size"]: r for r in read_toml("conductor_area")["rows"]}
    found = []
    for row in read_toml("conductors")["rows"]:
        size = row["size"]
        found.append(
            Conductor(
                size=size,
                cmil=int(row["cmil"]),
                ohm_per_kft={m: float(row[f"{m}_ohm"]) for m in METALS},
                bare_in2=circle_area_in2(float(row["bare_diameter_in"])),
                ampacity={
                    m: _three(ampacity[size][f"{m}_a"])
                    for m in METALS
                    if f"{m}_a" in ampacity[size]
                },
                area_in2={f: float(area[size][f"{f}_in2"]) for f in ("thhn", "xhhw", "rhw", "thw")},
            )
        )
    return tuple(found)


@cache
def _by_size() -> dict[str, Conductor]:
    return {c.size: c for c in conductors()}


def conductor(size: str) -> Conductor:
    """The conductor of a size.

    >>> conductor("4/0").cmil
    211600

    Raises
    ------
    InputError   For a size that is not in the tables.
    """
    try:
        return _by_size()[size]
    except KeyError:
        sizes = conductors()
        raise InputError(
            f"There is no conductor size {size!r} here; the sizes are "
            f"{', '.join(c.size for c in sizes)} (AWG, from 250 on kcmil).",
            field="size",
        ) from None


@dataclass(frozen=True)
class Insulation:
    """A type of insulation: rating, rating where wet, the column that caps it, its area family.

    ``wet_c`` 0 is not for wet places, by ``wet_section`` beside the table; ``instead`` is for them.
    What is not ``underground`` may not lie in the ground, with or without a raceway.
    ``family`` is empty where no area of single conductors applies (cables); ``covering`` says what
    its area is of, where the letters do not. ``sizes`` are by metal the first and last that a cable
    is permitted in.
    """

    id: str
    rating_c: Column
    wet_c: int
    final_c: Column
    family: str
    sizes: Mapping[str, tuple[str, str]]
    sizes_section: str
    wet_section: str
    instead: str
    underground: bool
    covering: str

    def made_in(self, size: str, metal: Metal) -> bool:
        """Whether a cable comes in this size; any size does where none are told."""
        if metal not in self.sizes:
            return True
        first, last = (conductor(one).cmil for one in self.sizes[metal])
        return first <= conductor(size).cmil <= last


@cache
def insulations() -> dict[str, Insulation]:
    """Types of insulation by their letters."""
    return {
        r["id"]: Insulation(
            id=r["id"],
            rating_c=r["rating_c"],
            wet_c=int(r["wet_c"]),
            final_c=r.get("final_c", r["rating_c"]),
            family=r["family"],
            sizes={metal: (ends[0], ends[1]) for metal, ends in r.get("sizes", {}).items()},
            sizes_section=r.get("sizes_section", ""),
            wet_section=r.get("wet_section", ""),
            instead=r.get("instead", ""),
            underground=r.get("underground", bool(r["wet_c"])),
            covering=r.get("covering", ""),
        )
        for r in read_toml("insulation")["rows"]
    }


def insulation(letters: str) -> Insulation:
    """The insulation with these letters.

    Raises
    ------
    InputError   For letters that are not here.
    """
    try:
        return insulations()[letters.strip().upper()]
    except KeyError:
        raise InputError(
            f"Insulation {letters!r} {_why_not(letters)}choose one of {', '.join(insulations())}.",
            field="insulation",
        ) from None


def _why_not(letters: str) -> str:
    """Why letters that are printed on wire are not taken, and what to take instead."""
    printed = [one.strip().upper() for one in letters.replace(",", "/").split("/")]
    if len(printed) > 1 and any(one in insulations() for one in printed):
        known = " or ".join(one for one in printed if one in insulations())
        return f"is several types on one wire; enter one that holds where it lies, {known}, or "
    for row in read_toml("insulation")["others"]:
        if printed[0] in row["letters"]:
            return f"{row['why']}; or "
    return "is not here; "


@dataclass(frozen=True)
class Raceway:
    """One trade size of one kind of raceway."""

    kind: str
    name: str
    trade_size: str
    inside_in: float
    total_in2: float
    conduit: Literal["pvc", "aluminum", "steel"]


@cache
def raceways() -> tuple[Raceway, ...]:
    """Every raceway, by kind and then smallest first."""
    kinds = {k["id"]: k for k in read_toml("raceways")["kinds"]}
    rows = read_toml("raceways")["rows"]
    return tuple(
        Raceway(
            kind=kind,
            name=kinds[kind]["name"],
            trade_size=r["trade_size"],
            inside_in=float(r["inside_in"]),
            total_in2=float(r["total_in2"]),
            conduit=kinds[kind]["conduit"],
        )
        for kind in kinds
        for r in rows
        if r["kind"] == kind
    )


def raceway(kind: str, trade_size: str) -> Raceway:
    """A raceway by kind and trade size.

    Raises
    ------
    InputError   For one that is not here, naming those that are.
    """
    kinds = dict.fromkeys(r.kind for r in raceways())
    if kind not in kinds:
        raise InputError(
            f"Raceway {kind!r} is not here; choose one of {', '.join(kinds)}.", field="raceway"
        )
    sizes = [r for r in raceways() if r.kind == kind]
    for one in sizes:
        if one.trade_size == trade_size:
            return one
    raise InputError(
        f"{sizes[0].name} has no trade size {trade_size!r} here; sizes are "
        f"{', '.join(r.trade_size for r in sizes)}.",
        field="raceway_trade_size",
    )


def raceway_kind(words: str) -> str | None:
    """The kind of raceway these words name, None where they name none here.

    >>> raceway_kind("PVC"), raceway_kind("Rigid"), raceway_kind("")
    ('pvc40', 'rmc', None)
    """
    wanted = words.strip().lower()
    for kind in read_toml("raceways")["kinds"]:
        if wanted in (kind["id"], kind["name"].lower(), *kind["also"]):
            return str(kind["id"])
    return None


def raceway_names() -> tuple[str, ...]:
    """The kinds of raceway in the tables, by name.

    >>> raceway_names()[0]
    'EMT'
    """
    return tuple(str(kind["name"]) for kind in read_toml("raceways")["kinds"])


def conduit_of(kind: str) -> Literal["pvc", "aluminum", "steel"]:
    """Which of the three conduits of the impedance table a kind of raceway is."""
    return next(r.conduit for r in raceways() if r.kind == kind)
