"""The list of problems at the top of a form, naming each field by its own label.

A field's words stand once, in its template. The list comes before the fields, so its names are
filled in when the page is written: a list of its own would drift from the labels.
"""

from __future__ import annotations

import re
from html import escape
from html.parser import HTMLParser

_LINK = re.compile(r'(<li[^>]*><a href="#f-([^"]+)">)(.*?)(</a>)', re.S)
_VOID = frozenset(
    ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr")
)


class _Labels(HTMLParser):
    """Notes the label of every field by its name, and the named row that it stands in."""

    def __init__(self) -> None:
        super().__init__()
        self.label: dict[str, str] = {}
        self.row: dict[str, str] = {}
        self._open: list[tuple[str, str]] = []
        self._of = ""
        self._said = ""
        self._in = ""
        self._legend = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        of = told.get("id", "")
        if tag not in _VOID:
            named = told.get("aria-label", "") if told.get("role") == "group" else ""
            self._open.append((tag, named))
        if of.startswith("f-"):
            rows = [name for _, name in self._open if name]
            self.row[of[2:]] = rows[-1] if rows else ""
            if "aria-label" in told:
                self.label[of[2:]] = told["aria-label"]
            elif self._in == "label" and not self._of:
                self._of = of[2:]
            elif tag == "fieldset":
                self._of, self._legend = of[2:], True
        if (tag == "label" and not self._in) or (tag == "legend" and self._legend):
            self._in, self._said = tag, ""
            if tag == "label":
                self._of = told.get("for", "")[2:]

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass
        if tag == self._in:
            words = " ".join(self._said.split())
            if self._of and words:
                self.label.setdefault(self._of, words)
            self._in, self._of, self._legend = "", "", False

    def handle_data(self, data: str) -> None:
        if self._in:
            self._said += data


def name_as_labelled(page: str) -> str:
    """The page with each link of its list of problems in the words of the field's label.

    Where a label stands in several rows, the row's name is put before it. A field without a
    label on the page keeps the words that it had.

    >>> name_as_labelled(
    ...     '<li><a href="#f-h">H</a>: no</li><label for="f-h">Lasts</label><input id="f-h">'
    ... )
    '<li><a href="#f-h">Lasts</a>: no</li><label for="f-h">Lasts</label><input id="f-h">'
    """
    if _LINK.search(page) is None:
        return page
    read = _Labels()
    read.feed(page)

    def words(link: re.Match[str]) -> str:
        label = read.label.get(link[2])
        if label is None:
            return link[0]
        row = read.row.get(link[2], "")
        return f"{link[1]}{escape(f'{row}: {label}' if row else label, quote=False)}{link[4]}"

    return _LINK.sub(words, page)
