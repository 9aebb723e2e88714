"""The demand load sheet: the calculation an inspector asks for, line by line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.site import CodeEdition, Site
from server.rules.demand.held import held_a, holds
from server.rules.demand.left_off import LeftOff, left_off
from server.rules.demand.ratings import binding_part, own_rating_a
from server.rules.demand.report import ElementDemand
from server.rules.demand.room import Room, rooms
from server.rules.demand.standing import Standing
from server.rules.demand.worksheet import Worksheet
from server.rules.editions import Figure, figure_names, site_rules
from server.rules.wiring.carried import carried_a
from server.rules.wiring.feeder import governing
from server.rules.words import listed
from server.simulate.results import Run
from server.web import format as fmt
from server.web.code_choice import CODE_CAUTIONS, EDITIONS, chosen_edition, report_of
from server.web.deps import StoredSiteDep
from server.web.pages import page_for, render
from server.web.some_runs import some_runs, without_run

router = APIRouter(prefix="/sites/{site_id}")

_NAMED = 3
"""Parts past their rating that are named before the table."""

KIND_WORDS = {
    "service": "Services",
    "transfer_switch": "Transfer switches",
    "double_throw": "Double-throw switches",
    "feeder": "Feeders",
    "panel": "Panels",
    "generator": "Generators",
}
METHODS = {
    "standard": "standard method",
    "optional": "optional method",
    "existing": "existing dwelling",
    "two_family": "two dwellings as three",
    "multifamily": "three or more dwellings",
    "farm": "whole farm",
    "measured": "measured demand",
}


@dataclass(frozen=True)
class ShownSheet:
    """A worksheet as the page shows it.

    ``anchor`` is its place on the page. ``same_as`` names the element whose sheet of the same lines
    and legs stands before it and ``same_anchor`` is the place of that one, to which the page then
    refers instead of setting every line again: in a house of sixty circuits most sheets are such.
    """

    sheet: Worksheet
    anchor: str
    same_as: str = ""
    same_anchor: str = ""


@dataclass(frozen=True)
class SummaryRow:
    """The governing worksheet of one element beside its rating and the simulated peak.

    ``shown`` are all its sheets, the governing one first.

    ``other_a`` is the same figure by the edition compared with, ``by_method_a`` by the method
    chosen and ``refused`` why that may not be used here; ``simulated_a`` the highest one-minute
    mean over the scenarios that were run, None without one, and ``simulated_in`` the name
    of the scenario it is from. ``held_a`` is what is held against the rating and ``status`` what
    comes of it, empty without one; ``room`` is what may still be added, back to the sources.
    ``ahead`` says whose the rating is where the device ahead is smaller than the element itself.
    ``standing`` is the manager's setting that may stand for a load past the rating, and fits.
    """

    element: ElementDemand
    sheet: Worksheet
    other_a: float | None
    by_method_a: float | None
    refused: str
    simulated_a: float | None
    simulated_in: str
    held_a: float
    status: Literal["within", "over", ""]
    shown: tuple[ShownSheet, ...] = ()
    room: Room | None = None
    ahead: str = ""
    standing: Standing | None = None


@dataclass(frozen=True)
class SummaryGroup:
    """The rows of one kind of element."""

    words: str
    rows: tuple[SummaryRow, ...]


def summary(
    site: Site,
    edition: CodeEdition,
    against: CodeEdition | None,
    runs: Mapping[str, Run],
    method: str = "",
) -> tuple[SummaryGroup, ...]:
    """Every element with its governing worksheet, by kind, and the peak of the runs there are."""
    others = {}
    if against is not None and against != edition:
        others = {d.element_id: governing(d).leg_a for d in report_of(site, against).demand}
    peaks = _simulated(site, runs)
    shown = shown_sheets(report_of(site, edition).demand)
    chosen = {d.element_id: governing(d) for d in report_of(site, edition).demand}
    rules, _ = site_rules(site, edition)
    left = rooms(site, chosen, carried_a(report_of(site, edition).wiring, rules))
    rows: dict[str, list[SummaryRow]] = {}
    for element in report_of(site, edition).demand:
        fits = holds(site, element, chosen[element.element_id])
        own = element.sheet(method) if method else None
        rows.setdefault(element.kind, []).append(
            SummaryRow(
                element,
                chosen[element.element_id],
                others.get(element.element_id),
                None if own is None else own.leg_a,
                next((r.reason for r in element.refusals if r.method == method), ""),
                peaks[element.element_id][0] if element.element_id in peaks else None,
                peaks[element.element_id][1] if element.element_id in peaks else "",
                held_a(site, element, chosen[element.element_id]),
                "" if fits is None else "within" if fits else "over",
                shown[element.element_id],
                left.get(element.element_id),
                _ahead(site, element.element_id, chosen[element.element_id].existing_a),
                None if fits else _standing(element, chosen[element.element_id]),
            )
        )
    return tuple(
        SummaryGroup(words, tuple(rows[kind])) for kind, words in KIND_WORDS.items() if kind in rows
    )


def _standing(element: ElementDemand, sheet: Worksheet) -> Standing | None:
    """The manager's setting that may stand for a load, where it fits the rating."""
    standing = element.standing_in(sheet.position)
    fits = standing is not None and sheet.existing_a and standing.fits(sheet.existing_a)
    return standing if fits else None


def _ahead(site: Site, element_id: str, rating_a: float | None) -> str:
    """Whose a rating is that is less than the element's own; empty where it is the element's."""
    part = binding_part(site, element_id)
    if part is not None:
        return f"of its {part[0]}"
    own_a = own_rating_a(site, element_id)
    if rating_a is None or (own_a is not None and own_a <= rating_a):
        return ""
    own = f"; its own is {fmt.rating(own_a)} A" if own_a is not None else ""
    return f"of the device ahead{own}"


NO_PERMIT = "A run that holds is no permit."
_OF_A_SET = frozenset({"selected", "managed", "full"})
"""Methods of what a set feeds."""


@dataclass(frozen=True)
class Answer:
    """What the sheets come to in a sentence or two, and its mark."""

    status: Literal["within", "over"]
    head: str
    rest: str


def answer_of(groups: Iterable[SummaryGroup], sets: Iterable[LeftOff] = ()) -> Answer | None:
    """Whether every rating carries what the code counts of its loads; None where none is told.

    ``sets`` says of sets that a hand loads past their rating what is left off them.
    """
    judged = [row for group in groups for row in group.rows if row.status]
    if not judged:
        return None
    over = [row for row in judged if row.status == "over"]
    open_sheets = sum(bool(row.sheet.missing) for row in judged)
    rest = f" {fmt.count(open_sheets, 'sheet')} not complete yet." if open_sheets else ""
    if over:
        told = "; ".join(f"{row.element.name}, {_against(row)}" for row in over[:_NAMED])
        more = f"; {len(over) - _NAMED} more" if len(over) > _NAMED else ""
        are = "is" if len(over) == 1 else "are"
        head = f"{len(over)} of {fmt.count(len(judged), 'part')} {are} loaded past the rating."
        return Answer("over", head, f"{told}{more}.{rest} {_may(over, sets)}")
    fullest = max(judged, key=lambda row: row.held_a / (row.sheet.existing_a or row.held_a or 1.0))
    return Answer(
        "within",
        "Every part carries what the code counts of its loads.",
        f"The fullest is {fullest.element.name}, {_against(fullest)}.{rest}",
    )


def _may(over: list[SummaryRow], sets: Iterable[LeftOff]) -> str:
    """What a part that is loaded past its rating lets a person do until that is changed."""
    off = {one.set_id: one.words for one in sets}
    words = [off[row.element.element_id] for row in over if row.element.element_id in off]
    others = [row for row in over if row.element.element_id not in off]
    held = dict.fromkeys(row.standing.group.name for row in others if row.standing)
    if held:
        words.append(
            f"Where the authority accepts the setting of {listed(list(held))} for the load, it "
            "fits: ask before anything more is connected."
        )
    others = [row for row in others if not row.standing]
    if any(row.sheet.method not in _OF_A_SET for row in others):
        words.append(
            "By the code nothing more may be connected so: have it changed first, by an "
            "electrician."
        )
    if any(row.sheet.method in ("managed", "full") for row in others):
        words.append(
            "What transfers by itself counts without a hand: have it put under listed load "
            "management, taken off the set or a larger set put in, by an electrician."
        )
    return " ".join((*words, NO_PERMIT))


def _against(row: SummaryRow) -> str:
    return f"{fmt.amps(row.held_a)} A of {fmt.rating(row.sheet.existing_a or 0.0)} A"


def shown_sheets(demand: Iterable[ElementDemand]) -> dict[str, tuple[ShownSheet, ...]]:
    """The sheets of each element in the order of the page: by kind, the governing one first."""
    kinds = list(KIND_WORDS)
    first: dict[object, tuple[ElementDemand, str]] = {}
    found: dict[str, tuple[ShownSheet, ...]] = {}
    for element in sorted(demand, key=lambda d: kinds.index(d.kind)):
        chosen = governing(element)
        mine = []
        for place, sheet in enumerate(sorted(element.sheets, key=lambda s: s is not chosen)):
            anchor = f"sheet-{element.element_id}-{place}"
            same = (sheet.lines, sheet.legs, sheet.volts)
            before, its_anchor = first.setdefault(same, (element, anchor))
            known = before is not element
            mine.append(
                ShownSheet(sheet, anchor, before.name if known else "", its_anchor if known else "")
            )
        found[element.element_id] = tuple(mine)
    return found


def _simulated(site: Site, runs: Mapping[str, Run]) -> dict[str, tuple[float, str]]:
    """Highest amps of every element over the runs, and the scenario they are from."""
    found: dict[str, tuple[float, str]] = {}
    for scenario in (s for s in site.scenarios if s.id in runs):
        for result in runs[scenario.id].limits:
            key = result.point.element_id
            peak = max(leg.peak_a for leg in result.legs)
            if key not in found or peak > found[key][0]:
                found[key] = (peak, scenario.name)
    return found


def _figures(site: Site, edition: CodeEdition) -> tuple[Figure, ...]:
    """Every single figure of the edition, as amended here."""
    rules, _ = site_rules(site, edition)
    return tuple(rules.figure(name) for name in sorted(figure_names()) if rules.is_single(name))


@router.get("/demand")
def demand(
    request: Request,
    stored: StoredSiteDep,
    edition: str = "",
    against: str = "",
    method: str = "",
) -> Response:
    """Demand worksheets of every source, switch, feeder and panel."""
    site = stored.site
    chosen = chosen_edition(site, edition)
    compared = next((e for e in EDITIONS if e == against), None)
    by = next((m for m in METHODS if m == method), "")
    runs = some_runs(site)
    page = page_for(
        request, "Demand load", sheet="demand", stored=stored, caution_keys=CODE_CAUTIONS
    )
    groups = summary(site, chosen, compared, runs, by)
    return render(
        page,
        "demand/demand.html",
        report=report_of(site, chosen),
        groups=groups,
        answer=answer_of(groups, left_off(site, chosen)),
        not_run=without_run(site, runs),
        methods=METHODS,
        method=by,
        opened=request.query_params.get("open") == "all",
        editions=EDITIONS,
        chosen=chosen,
        against=compared if compared != chosen else None,
        figures=_figures(site, chosen),
        fmt=fmt,
    )
