"""What a check says about a site."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["blocking", "warning", "note"]


@dataclass(frozen=True)
class Finding:
    """One thing found. ``blocking`` findings hold back advice and the packet until cleared.

    ``code`` names the rule, such as ``solar-on-generator``; ``element_id`` is what it is about;
    ``mend`` says what would clear it; ``section`` and ``source`` say where the rule stands.
    Where it is a number against a limit, ``value`` and ``limit`` hold both in ``unit``. ``local``
    says what is known to depend on the local authority.
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
