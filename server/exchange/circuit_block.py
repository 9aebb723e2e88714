"""A block of circuits as a spreadsheet copies or saves it: cells, and which column holds what."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

MOST_ROWS = 600
MOST_COLUMNS = 40
MOST_CHARS = 400_000

HEADS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "panel_id": ("panel", "panelboard"),
        "space": ("space", "spaces", "slot", "no", "number", "circuit no", "circuit number", "ckt"),
        "name": ("circuit", "name", "description", "circuit name", "purpose", "label", "serves"),
        "feeds": ("feeds", "what it feeds", "kind", "appliance", "appliances", "load type"),
        "load_w": ("watts", "w", "va", "load", "load w", "load va", "connected w"),
        "breaker_a": (
            "breaker",
            "breaker a",
            "amps",
            "a",
            "trip",
            "rating",
            "size",
            "breaker amps",
        ),
        "poles": ("poles", "pole", "p"),
        "wire_size": ("wire", "wire size", "awg", "conductor"),
        "load_class": ("class", "priority"),
        "outage_role": ("in an outage", "outage", "outage role", "role"),
        "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    }
)
"""Words a column's head is known by, in small letters without signs."""
ORDER = ("space", "name", "feeds", "load_w", "breaker_a", "poles", "wire_size")
"""What columns without a head are taken for, from the first on; without ``space`` where the first
column holds words."""

_SIGNS = re.compile(r"[^a-z0-9]+")
_PLACE = re.compile(r"#?\d{1,3}(\s*[,/&+ -]\s*\d{1,3}|\s*[ab])?", re.IGNORECASE)


@dataclass(frozen=True)
class Block:
    """The cells of a block. ``head`` is its row of heads, empty where it has none.

    ``columns`` names the field each column is read as, empty for one that is not read.
    ``left_out`` counts rows past the most that are read.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    columns: tuple[str, ...]
    left_out: int = 0


def decoded(data: bytes) -> str:
    r"""A file's text, in the ways spreadsheets save it: UTF-8 or UTF-16 with a mark, else Latin-1.

    >>> decoded("é".encode()), decoded("é".encode("utf-16")), decoded(b"\xe9")
    ('é', 'é', 'é')
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def read_block(text: str, columns: Sequence[str] = ()) -> Block:
    """The cells of a text with tabs, semicolons or commas between them.

    Parameters
    ----------
    columns : sequence of str, optional   What the columns are to be read as, where it was chosen.
    """
    text = text[:MOST_CHARS]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text))
    found = [
        tuple(" ".join(cell.split())[:500] for cell in row[:MOST_COLUMNS])
        for row in _readable(reader)
    ]
    found = [row for row in found if any(row)]
    if max(map(len, found), default=0) > 1:
        found = [_split(row) for row in found]
    width = max((len(row) for row in found), default=0)
    rows = [row + ("",) * (width - len(row)) for row in found]
    head = rows.pop(0) if rows and _is_head(rows[0]) else ()
    read = tuple(columns[:width]) if columns else _guessed(head, rows, width)
    read += ("",) * (width - len(read))
    return Block(head, tuple(rows[:MOST_ROWS]), read, max(len(rows) - MOST_ROWS, 0))


def written(rows: Sequence[Sequence[str]]) -> str:
    """Rows as text with tabs between their cells, as a spreadsheet copies them."""
    return "\n".join("\t".join(row) for row in rows)


def _readable(reader: Iterable[list[str]]) -> list[list[str]]:
    rows: list[list[str]] = []
    try:
        for row in reader:
            rows.append(row)
            if len(rows) > 4 * MOST_ROWS:
                break
    except csv.Error:
        rows.append(["this line and those after it could not be read"])
    return rows


def _delimiter(text: str) -> str:
    if "\t" in text:
        return "\t"
    first = next((line for line in text.splitlines() if line.strip()), "")
    return ";" if first.count(";") > first.count(",") else ","


def _split(row: tuple[str, ...]) -> tuple[str, ...]:
    """A row that came whole into its first cell, among rows that did not, cut at its semicolons."""
    if any(row[1:]) or ";" not in row[0]:
        return row
    return tuple(cell.strip() for cell in row[0].split(";")[:MOST_COLUMNS])


def _known(cell: str) -> str:
    plain = _SIGNS.sub(" ", cell.casefold()).strip()
    if cell.strip() == "#":
        return "space"
    return next((field for field, heads in HEADS.items() if plain in heads), "")


def _is_head(row: Sequence[str]) -> bool:
    known = [_known(cell) for cell in row if cell]
    return bool(known) and sum(map(bool, known)) * 2 > len(known)


def _guessed(head: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> tuple[str, ...]:
    if head:
        taken: list[str] = []
        for cell in head:
            field = _known(cell)
            taken.append("" if field in taken else field)
        return tuple(taken)
    firsts = [row[0] for row in rows if row[0]]
    places = sum(bool(_PLACE.fullmatch(cell)) for cell in firsts)
    order = ORDER if firsts and 2 * places > len(firsts) else ORDER[1:]
    return order[:width]
