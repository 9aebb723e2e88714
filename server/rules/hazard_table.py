"""The table of hazards, and the finding made from a row of it."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from server.domain.finding import Finding, Severity

SEVERITIES: tuple[Severity, ...] = ("blocking", "warning", "note")
SECTIONS_OF = "2023"
"""The edition whose section numbers the table of hazards holds."""
_TABLE = Path(__file__).parent / "tables" / "hazards.toml"


@cache
def hazard_table() -> dict[str, dict[str, str]]:
    """Severity, section and source of every hazard, by its code."""
    return tomllib.loads(_TABLE.read_text(encoding="utf-8"))


def hazard(code: str, element_id: str, text: str, mend: str) -> Finding:
    """A finding of this code, with the severity, section and source of its row.

    Raises
    ------
    KeyError        When the table has no such code.
    StopIteration   When its severity is not one of the three.
    """
    row = hazard_table()[code]
    severity = next(s for s in SEVERITIES if s == row["severity"])
    return Finding(
        code,
        severity,
        element_id,
        text,
        mend,
        row["section"],
        row["source"],
        edition=SECTIONS_OF if row["section"] else "",
    )
