"""Text as it is kept: nothing in it that cannot be seen, or that turns what is seen around."""

from __future__ import annotations

import re
import unicodedata

_JOINERS = "\u200c\u200d"
_BREAKS = re.compile("[\t\n\r\u2028\u2029]+")
# Blank although they count as letters, marks or symbols.
_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
MOST_MARKS = 6
"""Combining marks kept on one letter: more than any script writes; a taller pile would cover the
lines above and below it, the cautions of a sheet among them. From memory."""


def seen_text(text: str) -> str:
    r"""Text without invisible and direction-changing characters; line ends are plain.

    Joiners stay between letters of scripts that are written with them, and so many combining
    marks on a letter that they do not run over other lines.

    >>> seen_text("Pump\u202e 1\u200b\uffff"), seen_text("a\u2028b\r\nc"), seen_text("می\u200cشود")
    ('Pump 1', 'a\nb\nc', 'می\u200cشود')
    """
    if text.isascii():
        return text.replace("\r\n", "\n")
    text = text.replace("\r\n", "\n").replace("\u2028", "\n").replace("\u2029", "\n")
    text = _without_piles(text)
    return "".join(c for i, c in enumerate(text) if _is_seen(text, i, c))


def one_line(text: str) -> str:
    r"""The same on one line.

    >>> one_line("Well\tpump\nnorth")
    'Well pump north'
    """
    return _BREAKS.sub(" ", seen_text(text))


def has_controls(text: str) -> bool:
    """Whether text holds control characters other than tabs and line ends."""
    if text.isprintable():
        return False
    return any(unicodedata.category(c) == "Cc" and c not in "\t\n\r" for c in text)


def label_text(text: str) -> str:
    r"""Text of any origin as it can stand in a list of changes.

    >>> label_text("Opened from a\x00b\u202e.json\ud800")
    'Opened from ab.json?'
    """
    sendable = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(c for c in one_line(sendable) if unicodedata.category(c) != "Cc")


def _without_piles(text: str) -> str:
    kept: list[str] = []
    marks = 0
    for character in text:
        category = unicodedata.category(character)
        mark = category in ("Mn", "Me")
        if mark:
            marks += 1
        elif category != "Cf" and character not in _BLANK:
            marks = 0
        if not mark or marks <= MOST_MARKS:
            kept.append(character)
    return "".join(kept)


def _is_seen(text: str, index: int, character: str) -> bool:
    if character in _JOINERS:
        beside = text[max(index - 1, 0) : index + 2]
        return len(beside) == 3 and not beside[0].isascii() and not beside[2].isascii()
    if character in _BLANK or unicodedata.category(character) == "Cf":
        return False
    code = ord(character)  # Unicode 23.7, noncharacters: XML has no place for some of them.
    return code & 0xFFFE != 0xFFFE and not 0xFDD0 <= code <= 0xFDEF


def listed(names: list[str]) -> str:
    """Names as a sentence lists them; three or more by semicolons where one of them has a comma.

    >>> listed(["a", "b", "c"]), listed(["a"]), listed([])
    ('a, b and c', 'a', '')
    >>> listed(["Well pump, 1 hp", "Lights", "2 more"])
    'Well pump, 1 hp; Lights; and 2 more'
    """
    *first, last = names or [""]
    if not first:
        return last
    if len(first) > 1 and any("," in name for name in names):
        return f"{'; '.join(first)}; and {last}"
    return f"{', '.join(first)} and {last}"
