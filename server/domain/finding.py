"""What a check says about a site."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

Severity = Literal["blocking", "warning", "note"]
_WORDS = Path(__file__).with_name("finding_words.toml")


@cache
def finding_words() -> dict[str, dict[str, str]]:
    """Why a finding matters and who mends it, by its code."""
    return tomllib.loads(_WORDS.read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Advised:
    """The figure that a mend names. Its re-check works this one into the site and no other.

    ``amps`` of a breaker or of what a neutral carries, or ``size`` and ``metal`` of a wire; beside
    a breaker they are the wire it asks for, where less was read.
    ``ground`` is the one that a larger wire asks for where less lies, empty where none does;
    ``sets`` are wires in parallel, each with its ground.

    >>> str(Advised("breaker", amps=20.0)), str(Advised("wire", size="8", metal="copper"))
    ('20 A', '8 copper')
    >>> str(Advised("wire", size="1/0", metal="aluminum", ground="4 aluminum"))
    '1/0 aluminum with a ground of 4 aluminum'
    >>> str(Advised("wire", size="250", metal="copper", sets=2))
    '2 sets of 250 copper'
    """

    of: Literal["breaker", "wire", "neutral", "ground"]
    amps: float | None = None
    size: str = ""
    metal: str = ""
    ground: str = ""
    sets: int = 1

    def __str__(self) -> str:
        if self.amps is not None:
            return f"{self.amps:g} A"
        each = " in each" if self.sets > 1 else ""
        ground = f" with a ground of {self.ground}{each}" if self.ground else ""
        sets = f"{self.sets} sets of " if self.sets > 1 else ""
        return f"{sets}{self.size} {self.metal}{ground}"


@dataclass(frozen=True)
class Recheck:
    """A mend worked into the site, and what the same check says then.

    ``change`` is what was done; ``clears`` whether its finding is gone and ``others`` how many
    more, notes left out, went with it; ``brings`` is the text of all that is new or worse. ``said``
    is the whole in a sentence.
    """

    change: str
    clears: bool
    others: int
    brings: tuple[str, ...]
    said: str


@dataclass(frozen=True)
class Sign:
    """The text of a required sign, line by line, and what is known of its words and look."""

    text: str
    note: str


@dataclass(frozen=True)
class Finding:
    """One thing found. ``blocking`` findings hold back advice and the packet until cleared.

    ``code`` names the rule, such as ``solar-on-generator``; ``element_id`` is what it is about and
    ``where`` in which position of the switches, empty where that makes no difference. ``why`` and
    ``who`` say why it matters and who mends it, by its code; ``mend`` says what would clear it;
    ``section``, ``edition`` and ``source`` say where the rule stands and how well that is known.
    Where it is a number against a limit, ``value`` and ``limit`` hold both in ``unit``. ``local``
    says what is known to depend on the local authority. ``recheck`` is its mend tried, None where
    only a person can look. ``sign`` is what a sign that is asked for says. ``advised`` is the
    figure its mend names first, None where it names none.
    """

    code: str
    severity: Severity
    element_id: str
    text: str
    mend: str
    section: str = ""
    source: str = ""
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    local: str = ""
    edition: str = ""
    where: str = ""
    why: str = ""
    who: str = ""
    recheck: Recheck | None = None
    sign: Sign | None = None
    advised: Advised | None = None

    def __post_init__(self) -> None:
        for name, words in finding_words().get(self.code, {}).items():
            if not getattr(self, name):
                object.__setattr__(self, name, words)

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells it from every other finding of a site."""
        return (self.code, self.element_id, self.where)

    @property
    def rule(self) -> str:
        """Edition and section in a line.

        >>> Finding("x", "note", "", "", "", section="210.20(A)", edition="2023").rule
        'NEC 2023, 210.20(A)'
        """
        if not self.section or self.section.startswith("common practice"):
            return "Common practice, no code section"
        return f"NEC {self.edition}, {self.section}" if self.edition else f"NEC {self.section}"
