"""A finding made from a figure of the code."""

from __future__ import annotations

from server.domain.finding import Advised, Finding, Severity, Sign
from server.rules.editions import Cite, Figure


def made(
    code: str,
    severity: Severity,
    element_id: str,
    *,
    text: str,
    mend: str,
    figure: Figure | Cite,
    where: str = "",
    value: float | None = None,
    limit: float | None = None,
    unit: str = "",
    sign: Sign | None = None,
    advised: Advised | None = None,
) -> Finding:
    """A finding that cites the figure it rests on, in its edition, or where its rule stands."""
    cite = figure if isinstance(figure, Cite) else figure.cite
    source = f"{cite.status}{', provisional' if cite.provisional else ''}"
    if cite.source:
        source = f"{source}: {cite.source}"
    return Finding(
        code=code,
        severity=severity,
        element_id=element_id,
        text=text,
        mend=mend,
        section=cite.section,
        source=source,
        value=value,
        limit=limit,
        unit=unit,
        local=cite.local,
        edition=cite.edition,
        where=where,
        sign=sign,
        advised=advised,
    )
