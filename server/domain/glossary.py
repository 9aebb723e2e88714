"""Words of the trade with their meaning, read once from ``glossary.toml``."""

from __future__ import annotations

import tomllib
from pathlib import Path

from server.domain.base import Id, Name, Note, Part


class Word(Part):
    """A word, what it means, and the words to read beside it."""

    id: Id
    name: Name
    text: Note
    see: tuple[Id, ...] = ()


class WordGroup(Part):
    """Words of one subject."""

    name: Name
    word: tuple[Word, ...]


class _Glossary(Part):
    group: tuple[WordGroup, ...]


WORD_GROUPS = _Glossary.model_validate(
    tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
).group

WORDS = {word.id: word for group in WORD_GROUPS for word in group.word}
