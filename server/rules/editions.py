"""Editions of the electrical code, and the single figures of each with where they stand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Any, Literal, get_args

from server.domain.errors import InputError, Problem
from server.domain.site import CodeEdition, LocalAmendment, Site
from server.domain.working import Term
from server.rules.tables import read_toml

Status = Literal["verified", "from memory", "secondary", "amended"]
EDITIONS: tuple[CodeEdition, ...] = get_args(CodeEdition)
_FIGURE_FILES = ("demand", "wiring", "checks")


@dataclass(frozen=True)
class Cite:
    """Where a figure stands and how well that is known.

    ``provisional`` marks an edition not yet seen in print; ``local`` says what is known to depend
    on the local authority.
    """

    section: str
    status: Status
    source: str = ""
    provisional: bool = False
    local: str = ""
    edition: str = ""

    @property
    def words(self) -> str:
        """Section and status in a line, such as ``220.52(A), verified``."""
        return f"{self.section}, {self.status}{', provisional' if self.provisional else ''}"


@dataclass(frozen=True)
class Figure:
    """One number of the code in one edition."""

    name: str
    value: float
    unit: str
    cite: Cite

    def term(self, name: str) -> Term:
        """An input of a working, made from this figure."""
        return Term(name, self.value, self.unit, self.cite.words)


@dataclass(frozen=True)
class Tier:
    """A demand step: up to so many volt-amperes in all, at this factor."""

    up_to_va: float
    factor: float


@dataclass(frozen=True)
class Amendment:
    """A local change of one figure, with the reason that prints beside it."""

    figure: str
    value: float
    reason: str


def _merged(row: Mapping[str, Any], edition: CodeEdition) -> dict[str, Any]:
    """The row as it stands in an edition: base fields, then what that edition overrides."""
    own = dict(row.get("edition", {})).get(edition, {})
    merged: dict[str, Any] = {k: v for k, v in row.items() if k != "edition"} | own
    if "section" not in own:
        for old, new in read_toml("editions")[edition].get("moved", {}).items():
            merged["section"] = merged["section"].replace(f"{old}.", f"{new}.")
    return merged


def cite_of(row: Mapping[str, Any], edition: CodeEdition) -> Cite:
    """The citation of a row or table in an edition.

    Raises
    ------
    ValueError   When the row has no section or an unknown status.
    """
    merged = _merged(row, edition)
    status = merged["status"]
    if not merged["section"] or status not in get_args(Status):
        raise ValueError(f"A row needs a section and a status, not {merged!r}.")
    return Cite(
        section=merged["section"],
        status=status,
        source=merged.get("source", ""),
        provisional=bool(read_toml("editions")[edition]["provisional"]),
        local=merged.get("local", ""),
        edition=edition,
    )


@cache
def _rows() -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for file in _FIGURE_FILES:
        for name, row in read_toml(file).items():
            if name in found:
                raise ValueError(f"The figure {name!r} stands in two tables.")
            found[name] = row
    return found


@dataclass(frozen=True)
class Rulebook:
    """Every figure of one edition, with the local amendments of a site."""

    edition: CodeEdition
    amendments: tuple[Amendment, ...] = ()

    def __post_init__(self) -> None:
        for amendment in self.amendments:
            if amendment.figure not in _rows() or not self.is_single(amendment.figure):
                raise InputError(
                    f"There is no single figure {amendment.figure!r} to amend.", field="figure"
                )
            if not (math.isfinite(amendment.value) and amendment.value >= 0):
                raise InputError(
                    f"The local figure for {amendment.figure} needs a value of 0 or more.",
                    field="value",
                )
            if not amendment.reason:
                raise InputError(
                    f"The local figure for {amendment.figure} needs a reason.", field="reason"
                )
            _must_be_permitted(amendment)

    @property
    def title(self) -> str:
        """The edition's full name."""
        return str(read_toml("editions")[self.edition]["title"])

    @property
    def load_article(self) -> str:
        """The article of load calculations in this edition.

        >>> Rulebook("2023").load_article, Rulebook("2026").load_article
        ('220', '120')
        """
        return str(read_toml("editions")[self.edition]["load_article"])

    @property
    def provisional(self) -> bool:
        """Whether this edition was not yet seen in print."""
        return bool(read_toml("editions")[self.edition]["provisional"])

    def figure(self, name: str) -> Figure:
        """A single number, amended where the site says so.

        >>> Rulebook("2026").figure("lighting_va_per_ft2").value
        2.0
        >>> Rulebook("2026").figure("small_appliance_va").cite.section
        '120.52(A)'
        """
        return _figure(self, name)

    def is_single(self, name: str) -> bool:
        """Whether a figure is one number, not a list of steps."""
        return isinstance(_rows()[name].get("value"), (int, float))

    def value(self, name: str) -> float:
        """The number alone."""
        return self.figure(name).value

    def on(self, name: str) -> bool:
        """Whether a yes-or-no rule stands in this edition."""
        return self.value(name) != 0

    def tiers(self, name: str) -> tuple[tuple[Tier, ...], Cite]:
        """Demand steps and where they stand.

        >>> [(t.up_to_va, t.factor) for t in Rulebook("2026").tiers("optional_tiers")[0]]
        [(8000.0, 1.0), (inf, 0.4)]
        """
        row = _merged(_rows()[name], self.edition)
        steps = tuple(Tier(float(up_to), float(factor)) for up_to, factor in row["value"])
        return steps, cite_of(_rows()[name], self.edition)


MOST_FACTOR = 2.0
"""A factor amended above this is a percentage typed for a factor, or a slip of the point."""


def _must_be_permitted(amendment: Amendment) -> None:
    """Refuse what a figure of a few values only cannot be, and a factor out of all reason."""
    row = _rows()[amendment.figure]
    most = _most_factor(row)
    if most is not None and amendment.value > most:
        hundredth = amendment.value / 100
        percent = f"; {amendment.value:g} % is {hundredth:g}" if hundredth <= most else ""
        raise InputError(
            f"The local figure for {amendment.figure} is a factor from 0 to {most:g}; "
            f"{amendment.value:g} was given{percent}.",
            field="value",
        )
    if row.get("above_zero") and not amendment.value:
        raise InputError(
            f"The local figure for {amendment.figure} is above 0; 0 was given.", field="value"
        )
    permitted = row.get("permitted")
    if permitted and amendment.value not in permitted:
        words = f"{', '.join(f'{v:g}' for v in permitted[:-1])} or {permitted[-1]:g}"
        raise InputError(
            f"The local figure for {amendment.figure} is {words}; {amendment.value:g} was given.",
            field="value",
        )


def _most_factor(row: Mapping[str, Any]) -> float | None:
    """The largest a figure can be amended to where it is a factor, which has no unit; else None.

    Twice what the largest edition has, or 2 where that is less (common practice, no source).
    """
    if row["unit"]:
        return None
    values = [row["value"], *(own.get("value") for own in dict(row.get("edition", {})).values())]
    return max(MOST_FACTOR, *(2.0 * v for v in values if isinstance(v, int | float)))


@lru_cache(maxsize=2048)
def _figure(rules: Rulebook, name: str) -> Figure:
    row = _merged(_rows()[name], rules.edition)
    figure = Figure(name, float(row["value"]), row["unit"], cite_of(_rows()[name], rules.edition))
    for amendment in rules.amendments:
        if amendment.figure == name:
            cite = replace(
                figure.cite,
                section=f"{figure.cite.section}, local amendment: {amendment.reason}",
                status="amended",
            )
            figure = replace(figure, value=amendment.value, cite=cite)
    return figure


def figure_names() -> tuple[str, ...]:
    """Every figure's name."""
    return tuple(_rows())


def known_edition(text: str) -> CodeEdition:
    """The edition written so.

    Raises
    ------
    InputError   For an edition that is not here.
    """
    for edition in EDITIONS:
        if edition == text:
            return edition
    raise InputError(
        f"Edition {text!r} is not here; choose one of {', '.join(EDITIONS)}.", field="edition"
    )


@cache
def rulebook(edition: CodeEdition) -> Rulebook:
    """The rulebook of an edition without amendments.

    Raises
    ------
    InputError   For an edition that is not here.
    """
    return Rulebook(known_edition(edition))


def amendment_problem(local: LocalAmendment, edition: CodeEdition) -> Problem | None:
    """Why an amendment cannot stand in an edition, by its own field; None where it can.

    >>> from server.domain.site import LocalAmendment
    >>> bad = LocalAmendment(figure="terminal_low_c", value=0, reason="Ordinance 12")
    >>> print(amendment_problem(bad, "2023"))
    value: The local figure for terminal_low_c is 60, 75 or 90; 0 was given.
    """
    try:
        Rulebook(edition, (Amendment(local.figure, local.value, local.reason),))
    except InputError as error:
        return Problem(error.field, str(error))
    return None


def site_rules(
    site: Site, edition: CodeEdition | None = None
) -> tuple[Rulebook, tuple[tuple[str, str], ...]]:
    """The rulebook of a site with its local amendments.

    Returns
    -------
    The rulebook, and (figure, why) of each amendment that cannot stand and was left out.
    """
    good: list[Amendment] = []
    refused: list[tuple[str, str]] = []
    chosen = edition or site.code_edition
    for local in site.amendments:
        problem = amendment_problem(local, chosen)
        if problem is None:
            good.append(Amendment(local.figure, local.value, local.reason))
        else:
            refused.append((local.figure, problem.message))
    return (Rulebook(chosen, tuple(good)) if good else rulebook(chosen)), tuple(refused)


def table_cite(name: str, edition: CodeEdition, row: Mapping[str, Any] | None = None) -> Cite:
    """The citation of a table, or of one of its rows where the row says more.

    >>> table_cite("ampacity", "2017").section
    'Table 310.15(B)(16)'
    """
    if not row:
        return _head_cite(name, edition)
    return cite_of({**read_toml(name)["table"], **row}, edition)


@cache
def _head_cite(name: str, edition: CodeEdition) -> Cite:
    return cite_of(read_toml(name)["table"], edition)
