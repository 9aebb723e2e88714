"""What every worksheet and every working of a report is: added up, in known units, with sources."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass

import pytest

from server.domain.working import Term, Working
from server.rules.check import CheckReport
from server.rules.demand.amp_lines import of_wye
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Cite
from server.rules.leg import LEG_V

HALF_DONE = re.compile(r"\bNone\b(?! may)|\bnan\b|XX|\{|\}|  ")
OF_WORKINGS = {"", "A", "V", "cmil"}
OF_TERMS = {"", "A", "V", "VA", "kVA", "cmil", "in²", "Ω/kft"}
OF_LINES = {"VA", "ft²", "circuits", "ways"}
CLOSE_VA, CLOSE_A = 0.51, 0.06


def sheets_sound(report: CheckReport) -> None:
    """Hold the worksheets and wirings of a report to what all of them promise."""
    for element in report.demand:
        for sheet in element.sheets:
            _adds_up(sheet)
    for part in _parts([*report.demand, *report.wiring]):
        if isinstance(part, Working):
            assert part.unit in OF_WORKINGS, part
            assert not HALF_DONE.search(f"{part.title} {part.formula} {part.source}"), part
        elif isinstance(part, Term):
            assert part.unit in OF_TERMS, part
            assert part.name, part
            assert not HALF_DONE.search(f"{part.name} {part.source}"), part
        elif isinstance(part, Cite):
            assert part.section, part
            assert not HALF_DONE.search(part.words), part


def _adds_up(sheet: Worksheet) -> None:
    for line in sheet.lines:
        assert line.unit in OF_LINES, line
        assert line.label, line
        assert not HALF_DONE.search(f"{line.label} {line.note}"), line
        assert line.quantity * line.each == pytest.approx(line.connected_va, abs=CLOSE_VA), line
        if line.factor is not None:
            counted_va = line.connected_va * line.factor
            assert counted_va == pytest.approx(line.demand_va, abs=CLOSE_VA), line
    total_va = sum(line.demand_va for line in sheet.lines)
    assert total_va == pytest.approx(sheet.total_va, abs=CLOSE_VA), sheet.title
    two_legs_v = 2 * LEG_V if of_wye(sheet.volts) else sheet.volts
    least_a, most_a = sheet.total_va / two_legs_v, sheet.total_va / sheet.volts
    assert least_a - CLOSE_A <= sheet.amps <= most_a + CLOSE_A, sheet.title
    assert max(sheet.leg_needed_a) == pytest.approx(sheet.needed_a, abs=CLOSE_A), sheet.title
    assert sheet.needed_a >= sheet.leg_a - CLOSE_A, sheet.title
    for words in (*sheet.notes, *sheet.missing, sheet.title):
        assert words, sheet.title
        assert not HALF_DONE.search(words), words
    if sheet.legs is not None:
        rows = sheet.legs.rows
        for name in ("l1_a", "l2_a", "neutral_a"):
            added_a = sum(getattr(row, name) for row in rows)
            assert added_a == pytest.approx(getattr(sheet.legs, name), abs=CLOSE_A), (sheet, name)


def _parts(whole: object) -> Iterator[object]:
    """Everything in a report, each shared part once."""
    seen: set[int] = set()
    left = [whole]
    while left:
        part = left.pop()
        if id(part) in seen:
            continue
        seen.add(id(part))
        if is_dataclass(part):
            yield part
            left += [getattr(part, field.name) for field in fields(part)]
        elif isinstance(part, list | tuple | set | frozenset):
            left += part
        elif isinstance(part, dict):
            left += part.values()
