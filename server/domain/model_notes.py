"""What every behaviour model and control does, in plain words, read once from its table."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated

from pydantic import Field

from server.domain.base import Name, Note, Part

Words = Annotated[Note, Field(min_length=1)]


class ModelNote(Part):
    """One behaviour model: what it does, its formulas, its figures and where they come from.

    ``params`` are (field, what it is, usual figure); ``check`` is a case to work by hand.
    """

    id: str
    name: Name
    words: Words
    formula: Annotated[tuple[Words, ...], Field(min_length=1)]
    params: tuple[tuple[str, Words, Note], ...]
    check: Words
    source: Words


class ControlNote(Part):
    """One control of a run, its formulas if it has any, and where its figures come from."""

    name: Name
    words: Words
    formula: tuple[Words, ...] = ()
    source: Words


class _Notes(Part):
    model: tuple[ModelNote, ...]
    control: tuple[ControlNote, ...]


_NOTES = _Notes.model_validate(
    tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
)
MODEL_NOTES, CONTROL_NOTES = _NOTES.model, _NOTES.control
