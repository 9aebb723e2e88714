"""JSON read with suspicion: size, nesting, encoding, repeated names and odd numbers are checked.

Size and nesting are checked before anything is parsed, so that no file can exhaust the parser.
"""

from __future__ import annotations

import codecs
import json
import re
from typing import Any, NoReturn

from server.domain.errors import Problem, SiteFileError

_LONGEST_WHOLE_NUMBER = 20
_SHOWN = 60
_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)

# A string (closed or not; possessive, so that time stays linear) or one bracket.
_STRINGS_AND_BRACKETS = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[\]{}]', re.DOTALL)


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


def deepest_nesting(data: bytes) -> int:
    """How deeply brackets are nested in JSON text, brackets inside strings left out.

    >>> deepest_nesting(b'{"a": [1, "[[["]}')
    2
    """
    depth = deepest = 0
    for match in _STRINGS_AND_BRACKETS.finditer(data):
        token = match[0]
        if token in b"[{":
            depth += 1
            deepest = max(deepest, depth)
        elif token in b"]}":
            depth -= 1
    return deepest


def parse(data: bytes, *, max_bytes: int, max_depth: int) -> Any:
    """The value written in UTF-8 JSON text; a byte order mark is allowed.

    Raises
    ------
    SiteFileError   When it is too large, nested too deeply, not UTF-8 or not strict JSON.
    """
    if len(data) > max_bytes:
        refuse(f"This file is larger than {max_bytes / 1e6:g} MB, so it is not read.")
    if not data.strip():
        refuse("This file is empty.")
    if data.startswith(_UTF16_MARKS):
        refuse("This file is written in UTF-16. Save it as UTF-8 and open it again.")
    text = _decoded(data.removeprefix(codecs.BOM_UTF8))
    if deepest_nesting(data) > max_depth:
        refuse(f"This file nests its groups deeper than {max_depth} levels, so it is not read.")
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
        refuse(f"This file nests its groups deeper than {max_depth} levels, so it is not read.")


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
