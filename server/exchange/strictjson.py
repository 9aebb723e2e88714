"""JSON read with suspicion: size, nesting, encoding, repeated names and odd numbers are checked.

Size and nesting are checked before anything is parsed, so that no file can exhaust the parser.
"""

from __future__ import annotations

import codecs
import json
import re
from itertools import islice
from typing import Any, NoReturn

from server.domain.errors import Problem, SiteFileError
from server.domain.size import MAX_FILE_BYTES

MAX_BYTES = MAX_FILE_BYTES
MAX_DEPTH = 32
MAX_VALUES = 250_000

_LONGEST_WHOLE_NUMBER = 20
_SHOWN = 60
_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)

# A string, closed or not; possessive, so that time stays linear.
_STRINGS = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?', re.DOTALL)
_BRACKETS = re.compile(rb"[\[\]{}]")


def refuse(message: str, field: str = "") -> NoReturn:
    """Raise SiteFileError with this one problem."""
    raise SiteFileError((Problem(field, message),))


def shortened(text: str, length: int = _SHOWN) -> str:
    """Text fit to be quoted in a message: no control or broken characters, not too long.

    >>> shortened("a" * 100, 5)
    'aaaaa…'
    """
    plain = "".join(c if c.isprintable() else "�" for c in text[:length])
    return plain + ("…" if len(text) > length else "")


def extent(data: bytes) -> tuple[int, int]:
    """How many values JSON text holds, at most, and how deeply it nests them.

    Nesting is looked into no further than ``MAX_DEPTH`` and ``MAX_VALUES`` allow, or than its
    brackets can belong together.

    >>> extent(b'{"a": [1, "[[[", 2]}')
    (4, 2)
    """
    bare = _STRINGS.sub(b"", data)
    values = bare.count(b",") + bare.count(b"[") + bare.count(b"{")
    depth = deepest = 0
    for match in islice(_BRACKETS.finditer(bare), 2 * MAX_VALUES):
        depth += 1 if match[0] in b"[{" else -1
        deepest = max(deepest, depth)
        if not 0 <= depth <= MAX_DEPTH:
            break
    return values, deepest


def parse(data: bytes) -> Any:
    """The value written in UTF-8 JSON text; a byte order mark is allowed.

    Raises
    ------
    SiteFileError   When it is too large, nested too deeply, not UTF-8 or not strict JSON.
    """
    if len(data) > MAX_BYTES:
        refuse(f"This file is larger than {MAX_BYTES / 1e6:g} MB, so it is not read.")
    if not data.strip():
        refuse("This file is empty.")
    if data.startswith(_UTF16_MARKS):
        refuse("This file is written in UTF-16. Save it as UTF-8 and open it again.")
    text = _decoded(data.removeprefix(codecs.BOM_UTF8))
    values, depth = extent(data)
    if depth > MAX_DEPTH:
        refuse(f"This file nests its groups deeper than {MAX_DEPTH} levels, so it is not read.")
    if values > MAX_VALUES:
        refuse(f"This file holds more than {MAX_VALUES:,} values, so it is not read.")
    try:
        return json.loads(
            text,
            object_pairs_hook=_group,
            parse_constant=_odd_number,
            parse_int=_whole_number,
        )
    except json.JSONDecodeError as error:
        refuse(
            f"This is not readable JSON: line {error.lineno}, column {error.colno}: "
            f"{error.msg[:1].lower()}{error.msg[1:]}."
        )
    except RecursionError:
        refuse(f"This file nests its groups deeper than {MAX_DEPTH} levels, so it is not read.")


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        refuse(
            f"Line {line} holds bytes that are not UTF-8 text. Save the file as UTF-8 and open it "
            "again."
        )


def _group(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    group = dict(pairs)
    if len(group) < len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                refuse(f"“{shortened(name)}” stands twice in one group. Keep one of them.")
            seen.add(name)
    for name in group:
        if not name.isascii():
            refuse(f"The field “{shortened(name)}” is not known here. Remove it.")
    return group


def _odd_number(name: str) -> NoReturn:
    refuse(f"{name} is not a number that can be computed with. Write an ordinary number.")


def _whole_number(digits: str) -> int:
    if len(digits) > _LONGEST_WHOLE_NUMBER:
        refuse(f"The number {shortened(digits, 12)} is too long to be a figure of a house.")
    return int(digits)
