"""Every finding says in plain words why it matters and who mends it."""

from __future__ import annotations

import re
from pathlib import Path

import server
from server.domain.finding import Finding, finding_words
from server.rules.hazard_table import hazard_table

ROOT = Path(server.__file__).parent
MADE = re.compile(r'(?:made\(|code=)\s*"([a-z0-9-]+)"')
QUOTED = re.compile(r'"([a-z0-9]+(?:-[a-z0-9]+)+)"')


def written(pattern: re.Pattern[str]) -> set[str]:
    layers = ("rules", "simulate", "advise")
    files = (path for layer in layers for path in (ROOT / layer).rglob("*.py"))
    return {code for path in files for code in pattern.findall(path.read_text(encoding="utf-8"))}


def test_every_code_has_both_sentences_and_no_sentence_is_left_over():
    known = set(finding_words())
    assert written(MADE) | set(hazard_table()) <= known
    assert known <= written(QUOTED) | set(hazard_table())
    for words in finding_words().values():
        assert set(words) == {"why", "who"}
        assert all(text.endswith(".") for text in words.values())


def test_a_finding_takes_its_words_from_its_code():
    found = Finding("wire-too-small", "warning", "f", "", "")
    assert "overheat" in found.why
    assert found.who == "A licensed electrician."
    assert Finding("no-such-code", "note", "", "", "").why == ""


def test_the_rule_names_edition_and_section():
    assert Finding("x", "note", "", "", "", section="408.30", edition="2020").rule == (
        "NEC 2020, 408.30"
    )
    assert Finding("x", "note", "", "", "").rule == "Common practice, no code section"
