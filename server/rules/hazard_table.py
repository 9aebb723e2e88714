"""The table of hazards, and the finding made from a row of it."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from server.domain.finding import Finding, Severity
from server.domain.site import CodeEdition

SEVERITIES: tuple[Severity, ...] = ("blocking", "warning", "note")
SECTIONS_OF = "2023"
"""The edition whose section numbers a row of the table holds but for those that it lists."""
_TABLE = Path(__file__).parent / "tables" / "hazards.toml"


@cache
def hazard_table() -> dict[str, dict[str, Any]]:
    """Severity, section and source of every hazard, by its code; sections of other editions."""
    return tomllib.loads(_TABLE.read_text(encoding="utf-8"))


def hazard(
    code: str, element_id: str, text: str, mend: str, sections: tuple[str, ...] = ()
) -> Finding:
    """A finding of this code, with the severity, section and source of its row.

    ``sections`` are those of the row's ``places`` that it is of, where not all are.

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
        ", ".join(row["places"][s] for s in sections) or row["section"],
        row["source"],
        edition=SECTIONS_OF if row["section"] else "",
    )


def as_cited(finding: Finding, edition: CodeEdition) -> Finding:
    """A hazard with the section of an edition.

    >>> as_cited(hazard("two-neutral-bonds", "main", "", ""), "2020").rule
    'NEC 2020, 250.24(A)(5), 250.30'
    """
    if not finding.section:
        return finding
    row = hazard_table()[finding.code]
    own = row.get("edition", {}).get(edition, {})
    section = finding.section
    for place, there in own.get("places", {}).items():
        section = section.replace(row["places"][place], there)
    if finding.section == row["section"]:
        section = own.get("section", section)
    return replace(finding, edition=edition, section=section)
