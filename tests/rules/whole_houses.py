"""What the rules say of a whole house, as figures and sections without any sentence.

python -m tests.rules.whole_houses            writes the figures of all houses anew
python -m tests.rules.whole_houses farm       those of one

Each module in the folder houses makes one house; the file of its name beside it holds what
:func:`lines_of` makes of its report. A change of a rule that moves a figure shows there line by
line. Of another edition only its sections stand there and the lines that differ from the first's.

What is in a line: of a sentence its numbers, and the ids of the parts that it names; amounts to six
figures; sections without the article's title. What is not: any words, so that they can be bettered
without touching a figure.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator
from importlib import import_module
from pathlib import Path
from types import ModuleType

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.check import CheckReport, check_site
from server.rules.demand.report import ElementDemand
from server.rules.demand.worksheet import Worksheet
from server.rules.wiring.feeder import FeederWiring
from server.rules.wiring.laid import SegmentWiring
from server.rules.wiring.run import RunAnswer

FOLDER = Path(__file__).with_name("houses")
HOUSES = tuple(sorted(p.stem for p in FOLDER.glob("*.py") if not p.stem.startswith("_")))
_OF_LOADS = re.compile(r"\b[12]20\.\d+(\(\w+\))*")
"""A section of load calculations; nearly all of them were moved in 2026."""
_NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?(?:/0)?")


def house(name: str) -> ModuleType:
    """The module of a house: ``site``, ``EDITIONS`` and, where it has them, ``FACTS``.

    ``TRIED`` False leaves out what its mends lead to, which takes the longest.
    """
    return import_module(f"tests.rules.houses.{name}")


def text_of(name: str) -> str:
    """All that is written of a house: its first edition whole, then what others differ in."""
    made = house(name)
    site: Site = made.site()
    first, *others = made.EDITIONS
    facts = getattr(made, "FACTS", None)
    tried = getattr(made, "TRIED", True)
    report = check_site(site, edition=first, facts=facts, recheck=tried)
    base = list(lines_of(site, report))
    cited = _sections(report)
    found = [_title(report), *base]
    for edition in others:
        report = check_site(site, edition=edition, facts=facts)
        found += ["", "", _title(report) + ", where it differs"]
        found += [f"  cites {section}" for section in _sections(report) if section not in cited]
        found += _differences(base, list(lines_of(site, report)))
    return "\n".join(found) + "\n"


def _title(report: CheckReport) -> str:
    return f"edition {report.edition}{', provisional' if report.provisional else ''}"


def _sections(report: CheckReport) -> list[str]:
    """Every section that a report cites for a line, with how well it is known, or a finding."""
    sheets = [s for d in report.demand for s in d.sheets]
    found = {f"{x.cite.section}, {x.cite.status}" for s in sheets for x in s.lines}
    found |= {row.section for s in sheets if s.legs for row in s.legs.rows}
    found |= {s.legs.neutral_cite.section for s in sheets if s.legs}
    found |= {f"{f.code} {f.section}" for f in report.findings}
    return sorted(found)


def _differences(base: list[str], now: list[str]) -> Iterator[str]:
    """Of each block that differs its heading, the lines that are new and how many are gone."""
    was, new = _blocks(base), _blocks(now)
    for heading, lines in new.items():
        before = {_unmoved(line) for line in was.get(heading, ())}
        added = [f"  +{line}" for line in lines if _unmoved(line) not in before]
        gone = len(before - {_unmoved(line) for line in lines})
        if added or gone or heading not in was:
            yield heading
            yield from added
            if gone != len(added) or heading not in was:
                yield f"  {gone} gone"
    yield from (f"gone: {heading}" for heading in was if heading not in new)


def _unmoved(line: str) -> str:
    return _OF_LOADS.sub("§", line)


def _blocks(lines: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in lines:
        if line and not line.startswith(" "):
            block = found.setdefault(line, [])
        elif line:
            block.append(line.strip())
    return found


def lines_of(site: Site, report: CheckReport) -> Iterator[str]:
    """A report as lines without words."""
    said = _Said(site)
    known: dict[tuple[str, ...], str] = {}
    for demand in report.demand:
        yield from _demand(demand, said, known)
    for wiring in report.wiring:
        yield from _wiring(wiring, said)
    for finding in sorted(report.findings, key=lambda f: (f.code, f.element_id, f.where)):
        yield from _finding(finding, said)


class _Said:
    """What is kept of a sentence: its numbers and the parts that it names."""

    def __init__(self, site: Site) -> None:
        things = ((a.kind, a.name) for c in site.circuits for a in c.appliances)
        parts = (*site.name_of.items(), *things)
        names = sorted(parts, key=lambda item: (-len(item[1]), item[0]))
        self.ids: dict[str, str] = {}
        for part_id, name in names:
            self.ids.setdefault(name, part_id)
        self.pattern = re.compile("|".join(re.escape(name) for name in self.ids) or "(?!)")

    def __call__(self, words: str) -> str:
        found: list[str] = []
        at = 0
        for match in self.pattern.finditer(words):
            found += _NUMBER.findall(words[at : match.start()])
            found.append(self.ids[match.group()])
            at = match.end()
        return " ".join((*found, *_NUMBER.findall(words[at:])))

    def all_of(self, mark: str, sentences: Iterable[str]) -> Iterator[str]:
        for words in sentences:
            yield f"  {mark} {self(words)}".rstrip()


def _demand(demand: ElementDemand, said: _Said, known: dict[tuple[str, ...], str]) -> Iterator[str]:
    for sheet in demand.sheets:
        name = f"{demand.element_id} {sheet.method} [{said(sheet.position)}]"
        yield ""
        yield f"demand {name}  {demand.kind}"
        lines = tuple(_sheet(sheet, said))
        alike = known.setdefault(lines, name)
        yield from lines if alike == name else (f"  as {alike}",)
        legs = tuple(_legs(sheet, said))
        alike = known.setdefault(legs, name)
        yield from legs if alike == name else (f"  legs as {alike}",)
        yield from _held(sheet, said)
    for refusal in demand.refusals:
        yield f"demand {demand.element_id} refused {refusal.method}  {said(refusal.reason)}"
    for position, standing in demand.standing:
        words = f"{standing.group.id} {_n(standing.counted_a)} A"
        yield f"demand {demand.element_id} standing [{said(position)}]  {words}"


def _sheet(sheet: Worksheet, said: _Said) -> Iterator[str]:
    """All that does not depend on the rating it is held against."""
    for line in sheet.lines:
        yield (
            f"  {line.cite.section}: {said(line.label)} | {_n(line.quantity)} × "
            f"{_n(line.each)} {line.unit} = {_n(line.connected_va)}, {_n(line.factor)} → "
            f"{_n(line.demand_va)} VA {said(line.note)}"
        ).rstrip()
    yield (
        f"  total {_n(sheet.total_va)} VA / {_n(sheet.volts)} V = {_n(sheet.amps)} A, "
        f"leg {_n(sheet.leg_a)}, continuous {_n(sheet.continuous_va)} VA, "
        f"needed {_n(sheet.needed_a)} ({_each(sheet.leg_needed_a)}), next {_n(sheet.standard_a)}"
    )
    yield from said.all_of("asks", sheet.missing)
    yield from said.all_of("note", sheet.notes)


def _held(sheet: Worksheet, said: _Said) -> Iterator[str]:
    """Against its rating."""
    yield (
        f"  rating {_n(sheet.existing_a)}, least {_n(sheet.least_a)}, "
        f"margin {_n(sheet.margin_a)}, fits {_yes(sheet.fits)} {_yes(sheet.device_fits)}, "
        f"can add {_n(sheet.can_add_va)} {_n(sheet.can_add_continuous_va)} "
        f"{_each((sheet.can_add_on or {}).values())}, plates {_n(sheet.plate_needed_a)}, "
        f"if told {_yes(sheet.if_told)}"
    )
    steps = (f"{said(step.sum)} = {_n(step.value)} {step.unit}" for step in sheet.amp_lines)
    yield f"  steps {'; '.join(steps)}"


def _legs(sheet: Worksheet, said: _Said) -> Iterator[str]:
    legs = sheet.legs
    if legs is None:
        return
    for row in legs.rows:
        amps = _each((row.l1_a, row.l2_a, row.neutral_a))
        yield f"  leg {said(row.label)} | {amps} {row.section} {said(row.note)}".rstrip()
    yield (
        f"  legs {_each((legs.l1_a, legs.l2_a, legs.neutral_a))}, unbalance {_n(legs.unbalance_a)} "
        f"{legs.neutral_cite.section}, to neutral {_n(legs.to_neutral_va)} VA "
        f"{_each(legs.to_neutral_a)}, other season {_each(legs.other_season_a)}"
    )


def _wiring(one: FeederWiring, said: _Said) -> Iterator[str]:
    yield ""
    yield (
        f"wiring {one.feeder_id}  {_n(one.volts)} V, device {_n(one.device_a)}, design "
        f"{_n(one.design_a)} by {one.demand.method}, service {_yes(one.service)}, "
        f"whole {_yes(one.whole_dwelling)}"
    )
    yield (
        f"  neutral {'none' if one.no_neutral else ''} {_n(one.neutral_ampacity_a)} for "
        f"{_n(one.neutral_a)}, start {_n(one.start_a)} A at {_n(one.start_volts)} V, "
        f"path {_n(one.path_drop_share)} {_n(one.path_start_share)} {said(one.path_sides)}"
    ).rstrip()
    for name in ("drop", "one_leg_drop", "start_drop"):
        drop = getattr(one, name)
        if drop is not None:
            yield f"  {name} {_n(drop.dc_v)} V {_n(drop.impedance_v)} V of {_n(drop.volts)}"
    for name in ("set_working", "held_working"):
        working = getattr(one, name)
        if working is not None:
            terms = " ".join(_n(t.value) for t in working.terms)
            yield f"  {name} {terms} = {_n(working.value)} {working.unit} {said(working.source)}"
    if one.standing is not None:
        yield f"  standing {one.standing.group.id} {_n(one.standing.counted_a)} A"
    if one.tap is not None:
        tap = one.tap
        yield f"  tap {_n(tap.run_ft)} ft, {_n(tap.ahead_a)}, {_n(tap.end_a)}, {tap.figure.name}"
    if one.smaller is not None:
        less = one.smaller
        yield f"  smaller {_n(less.device_a)} carries {less.carried_a}, {_yes(less.enough)}"
    for segment in one.segments:
        yield from _segment(segment, said)
    for name in ("advice", "load_advice"):
        answer = getattr(one, name)
        if answer is not None:
            yield from _answer(name, answer, said)
    yield from said.all_of("asks", one.missing)
    yield from said.all_of("unchecked", (f"{part}: {why}" for part, why in one.unchecked))


def _segment(one: SegmentWiring, said: _Said) -> Iterator[str]:
    wire, amps = one.segment, one.ampacity
    yield (
        f"  length {_n(wire.run_ft)} ft {amps.sets} × {amps.size} {amps.metal} {amps.insulation}: "
        f"column {amps.column}, terminals {amps.terminal_c}, {_n(amps.ambient_factor)} × "
        f"{_n(amps.bundle_factor)}, {_n(amps.adjusted_a)} {_n(amps.terminal_a)} → "
        f"{_n(amps.final_a)} A"
    )
    yield (
        f"    carries {_yes(one.carries)} at 75 {_yes(one.carries_at_75)} {_n(one.most_at_75_a)}, "
        f"protected {_yes(one.protected)}, why {said(one.why_not)}, "
        f"all of device {one.size_for_all_of_device}"
    )
    yield (
        f"    ground {one.ground_size} {_yes(one.ground_enough)} in it {one.filled_ground}, "
        f"neutral {one.neutral_size} {_yes(one.neutral_enough)} ungrown {one.neutral_ungrown}"
    )
    if one.ground_working is not None:
        terms = " ".join(_n(t.value) for t in one.ground_working.terms)
        yield f"    ground by {terms} {said(one.ground_working.source)}"
    if one.fill is not None:
        full = one.fill
        yield (
            f"    fill {full.count}: {_n(full.area_in2)} of {_n(full.allowed_in2)} in², "
            f"{_n(full.share)} of {_n(full.allowed_share)}, {_yes(full.fits)}, "
            f"jam {_n(full.jam)} {_yes(full.jams)}"
        )
    if one.unfilled:
        yield f"    unfilled {said(one.unfilled)}"


def _answer(name: str, one: RunAnswer, said: _Said) -> Iterator[str]:
    start = "" if one.start_drop is None else f", start {_n(one.start_drop.dc_v)} V"
    yield (
        f"  {name} device {_n(one.device_a)}: {one.size}, by ampacity {one.ampacity_size}, by drop "
        f"{one.drop_size}, {one.won}, share {_yes(one.dwelling_share)}, {said(one.reason)}"
    )
    fills = (f"{k} {f.raceway.trade_size}" for k, f in one.raceways.items() if f is not None)
    yield (
        f"    neutral {one.neutral_size}, ground {one.ground_size}, drop {_n(one.drop.dc_v)} "
        f"{_n(one.drop.impedance_v)} V{start}, in {', '.join(fills)}"
    )


def _finding(one: Finding, said: _Said) -> Iterator[str]:
    yield ""
    yield f"finding {one.code} {one.element_id} [{said(one.where)}]  {one.severity}"
    yield f"  {one.section}, {said(one.local)}".rstrip(", ")
    if one.value is not None:
        yield f"  {_n(one.value)} against {_n(one.limit)} {one.unit}"
    yield f"  text {said(one.text)}".rstrip()
    yield f"  mend {said(one.mend)}".rstrip()
    if one.advised is not None:
        yield f"  advised {one.advised.of} {one.advised}"
    if one.sign is not None:
        yield f"  sign {len(one.sign.text.splitlines())} lines {said(one.sign.text)}".rstrip()
    if one.recheck is not None:
        tried = one.recheck
        yield f"  tried {said(tried.change)}: {_yes(tried.clears)}, others {tried.others}"
        yield from said.all_of("  brings", tried.brings)
        yield f"    said {said(tried.said)}"


def _n(value: float | None) -> str:
    """A figure to six places that count, the same on every machine."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return _yes(value)
    return f"{value + 0.0:.6g}"


def _each(values: Iterable[float]) -> str:
    return " ".join(_n(v) for v in values)


def _yes(value: bool | None) -> str:
    return "-" if value is None else "yes" if value else "no"


def main(*names: str) -> None:
    """Write the figures of these houses anew, of all without a name."""
    for name in names or HOUSES:
        (FOLDER / f"{name}.txt").write_text(text_of(name), encoding="utf-8")
        print(name)


if __name__ == "__main__":
    main(*sys.argv[1:])
