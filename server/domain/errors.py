"""Every error Threebus raises on purpose.

ThreebusError
├── InputError            a figure or a name that cannot be computed with
│   ├── SiteFileError     a site document that cannot be read; carries problems
│   └── EditError         an edit that the site cannot take (panel full, unknown circuit)
├── NotFoundError         no such site, circuit, scenario
├── StaleEditError        somebody saved first
└── StorageError          the database cannot be used: locked, full, read-only, gone
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what was entered, in the user's words.

    ``field`` is the dotted path in the site document, such as ``circuits.3.spaces``
    (empty when the whole document is meant); ``message`` names the mend. ``other_field`` is one
    that it could be mended at as well: of two breakers in one space, the other one's.
    """

    field: str
    message: str
    other_field: str = ""

    def __str__(self) -> str:
        return f"{self.field}: {self.message}" if self.field else self.message


class ThreebusError(Exception):
    """Base of every error that is meant to be shown to a person."""


class InputError(ThreebusError):
    """A figure or a name that cannot be computed with."""

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field


class SiteFileError(InputError):
    """A site document that cannot be read; ``problems`` says where and what to mend."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(str(p) for p in problems))
        self.problems = problems


class EditError(InputError):
    """An edit that the site cannot take, such as a move to a panel with no free space."""


class NotFoundError(ThreebusError):
    """No such site, circuit or scenario."""


class StaleEditError(ThreebusError):
    """Somebody saved first; nothing was written."""

    def __init__(self, message: str, *, revision: int) -> None:
        super().__init__(message)
        self.revision = revision


class StorageError(ThreebusError):
    """The database cannot be used just now; nothing was written."""
