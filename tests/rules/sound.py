"""What every finding is, whatever its check: whole, about something there, and with its figures."""

from __future__ import annotations

import re
from typing import get_args

from server.domain.finding import Finding, Severity, finding_words
from server.domain.site import Site
from server.rules.check import CheckReport, check_site
from tests.rules.sound_sheets import HALF_DONE, sheets_sound

UNITS = {"", "A", "V", "VA", "%", "Btu/h", "circuits", "cmil", "spaces"}
NAMES_A_BREAKER = re.compile(r"^Use a breaker of \d")


def checked(site: Site, **changes: str) -> CheckReport:
    """The report of a site, each finding and each worksheet of which is sound."""
    report = check_site(site, **changes)  # type: ignore[arg-type]
    for finding in report.findings:
        sound(finding, site)
    sheets_sound(report)
    return report


def sound(finding: Finding, site: Site) -> None:
    """Hold a finding to what all of them promise."""
    assert finding.code in finding_words(), finding.code
    assert finding.severity in get_args(Severity)
    assert not finding.element_id or finding.element_id in site.name_of, finding
    for words in (finding.text, finding.mend, finding.why, finding.who, finding.rule):
        assert words, finding
        assert not HALF_DONE.search(words), words
    assert (finding.value is None) == (finding.limit is None), finding
    assert finding.unit in UNITS, finding.unit
    if finding.value is None:
        assert not finding.unit, finding
    else:
        assert finding.value != finding.limit, finding
    if NAMES_A_BREAKER.match(finding.mend):
        assert finding.advised is not None, finding
    if finding.advised is not None:
        _advised(finding)


def _advised(finding: Finding) -> None:
    advised = finding.advised
    assert advised is not None
    assert advised.of in {"breaker", "wire", "neutral", "ground"}
    assert (advised.amps is not None) or advised.size, finding
    named = f"{advised.amps:g} A" if advised.amps is not None else advised.size
    assert named in finding.mend, finding
