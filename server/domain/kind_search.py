"""Kinds of appliance by a few letters, as a person writes them into a table."""

from __future__ import annotations

import re

from server.domain.catalogue import KINDS, Kind

_BREAKS = re.compile(r"[^a-z0-9/]+")


def words_of(kind: Kind) -> tuple[str, ...]:
    """The words a kind is found by: those of its name first."""
    return _words(f"{kind.name} {kind.also}")


def _words(text: str) -> tuple[str, ...]:
    return tuple(word for word in _BREAKS.split(text.casefold()) if word)


def kinds_found(text: str) -> tuple[Kind, ...]:
    """Kinds of which every word written begins a word, the likeliest first.

    A whole name comes first; then what has more of the words written as whole words; then names
    that begin so; then those with fewest other words before their comma; then those with the
    fewest letters left to write; then the catalogue's order. Nothing written finds nothing.

    >>> [k.id for k in kinds_found("wat hea")][0], kinds_found("no such thing"), kinds_found(" ")
    ('water-heater', (), ())
    """
    wanted = _words(text)
    if not wanted:
        return ()
    found = [k for k in KINDS.values() if all(_begun(part, words_of(k)) for part in wanted)]
    return tuple(sorted(found, key=lambda kind: _distance(wanted, kind)))


def _begun(part: str, words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for word in words if word.startswith(part))


def _distance(wanted: tuple[str, ...], kind: Kind) -> tuple[int, int, int, int, int]:
    """How far a kind is from the words written, as its places in the order of search."""
    name, words = _words(kind.name), words_of(kind)
    head = _words(kind.name.partition(",")[0])
    return (
        int(name != wanted),
        -sum(part in words for part in wanted),
        int(not " ".join(name).startswith(" ".join(wanted))),
        sum(not any(word.startswith(part) for part in wanted) for word in head),
        sum(min(map(len, _begun(part, words))) - len(part) for part in wanted),
    )
