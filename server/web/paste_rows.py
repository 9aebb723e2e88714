"""Circuits out of a block's cells: how a person writes a breaker, a wire, a class in a sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from server.domain.circuit import Circuit
from server.domain.errors import EditError, Problem, SiteFileError
from server.domain.site import Site
from server.exchange.circuit_block import Block
from server.web import words
from server.web.circuit_form import with_circuit
from server.web.forms import problems_of, with_problems
from server.web.odd_rating import past_wire
from server.web.row_form import ALIASES, FIELDS, circuit_of_row

COLUMN_WORDS: Mapping[str, str] = {
    "panel_id": "Panel",
    "space": "Space",
    "name": "Circuit",
    "feeds": "Feeds",
    "load_w": "Watts",
    "breaker_a": "Breaker",
    "poles": "Poles",
    "wire_size": "Wire",
    "load_class": "Class",
    "outage_role": "In an outage",
    "note": "Note",
}
_BREAKER = re.compile(
    r"(?:(?P<first>[12])\s*p(?:ole)?\s*)?(?P<amps>\d+(?:\.\d+)?)\s*a?(?:mps?)?"
    r"(?:\s*[-/, ]?\s*(?P<last>[12])\s*(?:p(?:oles?)?)?)?",
    re.IGNORECASE,
)
_POLES = re.compile(r"(?P<poles>[12])\s*[- ]?(p|pole|poles)?", re.IGNORECASE)
_WIRE = re.compile(r"#?\s*(?P<size>[1-4]/0|\d{1,2})(?P<rest>\D.*)?", re.IGNORECASE)
_KILO = re.compile(r"(?P<kilo>\d+(?:\.\d+)?)\s*k(w|va)?", re.IGNORECASE)
_POLE_WORDS = {"single": "1", "double": "2"}


@dataclass(frozen=True)
class ReadRow:
    """One row of a block: the circuit it makes, or what is wrong with it.

    ``number`` counts rows of the block from 1, without its head. ``problems`` are by field, the
    field empty when the row as a whole is meant. ``warning`` is of a
    breaker too large for its wire, which is taken in as it is.
    """

    number: int
    cells: tuple[str, ...]
    typed: Mapping[str, str]
    circuit: Circuit | None = None
    problems: Mapping[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    warning: str = ""

    def told(self) -> tuple[str, ...]:
        """What is wrong, each with its column."""
        named = (f"{COLUMN_WORDS.get(n, n)}: {text}" for n, text in self.problems.items())
        return (*named, *self.others)


@dataclass(frozen=True)
class Reading:
    """A block as read into a site; ``site`` has every circuit that could be read."""

    site: Site
    rows: tuple[ReadRow, ...]

    @property
    def good(self) -> tuple[ReadRow, ...]:
        """Rows that make a circuit."""
        return tuple(row for row in self.rows if row.circuit is not None)

    @property
    def wrong(self) -> tuple[ReadRow, ...]:
        """Rows that do not."""
        return tuple(row for row in self.rows if row.circuit is None)


def read_rows(block: Block, site: Site, panel_id: str) -> Reading:
    """Each row as a circuit on the site with those before it; ``panel_id`` where none is told.

    Rows that tell their space are read first, so that none of the others takes it.
    """
    typed = [_typed(block, cells, panel_id) for cells in block.rows]
    order = sorted(range(len(typed)), key=lambda i: not typed[i].get("space"))
    read: dict[int, ReadRow] = {}
    for i in order:
        site, read[i] = _read(i + 1, block.rows[i], typed[i], site)
    return Reading(site, tuple(read[i] for i in range(len(typed))))


def _typed(block: Block, cells: tuple[str, ...], panel_id: str) -> dict[str, str]:
    typed = {name: cell for name, cell in zip(block.columns, cells, strict=True) if name in FIELDS}
    if not typed.get("panel_id"):
        typed["panel_id"] = panel_id
    return typed


def _read(
    number: int, cells: tuple[str, ...], typed: dict[str, str], site: Site
) -> tuple[Site, ReadRow]:
    problems: list[Problem] = []
    values = as_row(typed, site, problems)
    circuit: Circuit | None = None
    try:
        if not any(values.get(name) for name in ("name", "feeds")):
            problems.append(Problem("name", "Write what the circuit is called."))
        circuit = circuit_of_row(values, site, None)
        made = with_circuit(site, circuit)
    except (SiteFileError, EditError) as error:
        problems += problems_of(error)
        made = site
    if not problems:
        return made, ReadRow(number, cells, typed, circuit, warning=past_wire(made, circuit))
    shown = dict.fromkeys(FIELDS, "") | values
    form = with_problems(shown, problems, strip=f"circuits.{len(site.circuits)}.", aliases=ALIASES)
    return site, ReadRow(number, cells, typed, None, form.problems, form.others)


def as_row(typed: Mapping[str, str], site: Site, problems: list[Problem]) -> dict[str, str]:
    """Cells as the row of the table takes them; what cannot be read goes to ``problems``.

    A breaker may carry its poles (2P30, 30/2), a wire its sign and metal (#12 Cu).
    """
    row = dict(typed)
    row["panel_id"] = _panel(row.get("panel_id", ""), site, problems)
    if text := row.get("breaker_a"):
        if found := _BREAKER.fullmatch(text):
            row["breaker_a"] = found["amps"]
            poles = found["first"] or found["last"]
            if poles and not row.get("poles"):
                row["poles"] = poles
        else:
            problems.append(Problem("breaker_a", f"“{text[:30]}” is not amps. Write 20, or 2P30."))
    if text := row.get("poles"):
        plain = text.casefold().split("-")[0].split(" ")[0]
        found = _POLES.fullmatch(_POLE_WORDS.get(plain, text))
        row["poles"] = found["poles"] if found else ""
        if not found:
            problems.append(Problem("poles", f"“{text[:30]}” is not 1 or 2. Write 1 or 2."))
    _pair_has_two_poles(row)
    if text := row.get("load_w"):
        kilo = _KILO.fullmatch(text)
        row["load_w"] = f"{float(kilo['kilo']) * 1e3:.10g}" if kilo else text.lower().rstrip("va ")
    row |= _wire(row.get("wire_size", ""), problems)
    row["space"] = row.get("space", "").lstrip("# ")
    for name, options in (
        ("load_class", words.LOAD_CLASSES),
        ("outage_role", words.OUTAGE_ROLES),
    ):
        row[name] = _choice(name, row.get(name, ""), options, problems)
    return row


def _pair_has_two_poles(row: dict[str, str]) -> None:
    if not row.get("poles") and len(re.findall(r"\d+", row.get("space", ""))) == 2:
        row["poles"] = "2"


def _panel(text: str, site: Site, problems: list[Problem]) -> str:
    plain = text.casefold()
    for panel in site.panels:
        if plain in {panel.id, panel.name.casefold()}:
            return panel.id
    names = ", ".join(panel.name for panel in site.panels[:6])
    problems.append(Problem("panel_id", f"There is no panel “{text[:40]}”. Write one of: {names}."))
    return site.panels[0].id if site.panels else ""


def _wire(text: str, problems: list[Problem]) -> dict[str, str]:
    if not text or text.casefold() == "not read":
        return {"wire_size": ""}
    found = _WIRE.fullmatch(text)
    if found and found["size"] in dict(words.WIRE_SIZES):
        rest = (found["rest"] or "").casefold()
        metal = "aluminum" if re.search(r"\bal(um\w*)?\b", rest) else "copper"
        return {"wire_size": found["size"], "wire_metal": metal}
    problems.append(
        Problem("wire_size", f"“{text[:30]}” is no wire size here. Write 14, 12 … or 4/0.")
    )
    return {"wire_size": ""}


def _choice(name: str, text: str, options: words.Options, problems: list[Problem]) -> str:
    if not text:
        return ""
    plain = text.casefold().replace("_", " ").replace("-", " ")
    for value, said in options:
        if plain in {value.replace("_", " "), said.replace("-", " ")}:
            return value
    allowed = ", ".join(said for _, said in options)
    problems.append(Problem(name, f"“{text[:30]}” is not known. Write one of: {allowed}."))
    return ""
