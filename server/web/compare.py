"""Two runs side by side: what differs in the days, and what that does to every limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.lengths import span_words
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.compare import compare
from server.simulate.harm import Harm
from server.simulate.harms import harms
from server.simulate.results import LimitResult, Run
from server.simulate.run import cached_run
from server.web import format as fmt
from server.web import words
from server.web.deps import StoredSiteDep
from server.web.drawing.gauge import Gauge, gauges
from server.web.drawing.strip import Strip, run_strip
from server.web.fuel_view import burnt_words
from server.web.overview import VerdictWords, verdict_words
from server.web.pages import last_day_of, page_for, render
from server.web.scenario_choice import run_cautions

router = APIRouter(prefix="/sites/{site_id}/compare")

_NOTICED_A = 0.05


@dataclass(frozen=True)
class Side:
    """One of the two runs. ``worst_at`` is a minute of it, for a link to its run."""

    scenario: Scenario
    verdict: VerdictWords
    strips: tuple[Strip, Strip] | None
    worst_at: str


@dataclass(frozen=True)
class Row:
    """One thing on both sides. ``gap`` is second less first, empty where that is no number."""

    name: str
    first: str
    second: str
    gap: str
    first_over: bool = False
    second_over: bool = False
    word: str = ""
    first_at: str = ""
    second_at: str = ""
    point_id: str = ""


@dataclass(frozen=True)
class ComparisonView:
    """Everything the page shows of two runs."""

    first: Side
    second: Side
    bus: str
    buses: tuple[tuple[str, str], ...]
    bus_name: str
    inputs: tuple[Row, ...]
    limits: tuple[Row, ...]
    same: int
    without: tuple[Row, ...]
    harms: tuple[Row, ...]
    sources: tuple[Row, ...]
    begun: str = ""


def two_of(
    site: Site, first: str, second: str, *, worked_on: str = ""
) -> tuple[Scenario, Scenario] | None:
    """The two scenarios asked for; the first and the next of the list where nothing is asked.

    The first is then what was ``worked_on`` last.

    Raises
    ------
    NotFoundError   When one is asked for that is not on this site.
    """
    if not site.scenarios:
        return None
    one = site.scenario(first or worked_on) if first or worked_on else site.scenarios[0]
    if second:
        return one, site.scenario(second)
    return one, next((s for s in site.scenarios if s.id != one.id), one)


def comparison(one: Run, two: Run, bus_id: str) -> ComparisonView:
    """Two runs of one site beside each other."""
    found = (gauges(one), gauges(two))
    bus = _bus(one, two, bus_id, found)
    names = {g.id: g.name for side in found for g in side}
    changes = compare(one, two)
    differ = [c for c in changes if c.change != "same"]
    differ.sort(key=lambda c: -max(_percent(c.before), _percent(c.after)))
    shared = [c for c in differ if c.point.kind != "circuit_breaker"]
    breakers = [c for c in differ if c.point.kind == "circuit_breaker"]
    tight = [c for c in breakers if max(_percent(c.before), _percent(c.after)) > 80.0]
    return ComparisonView(
        first=_side(one, bus, found[0]),
        second=_side(two, bus, found[1]),
        bus=bus,
        buses=tuple(names.items()),
        bus_name=names.get(bus, ""),
        inputs=_inputs(one, two),
        limits=tuple(
            _limit(c.point.id, c.point.name, c.before, c.after, c.change) for c in (*shared, *tight)
        ),
        same=len(changes) - len(shared) - len(tight),
        without=_without(one, two),
        harms=_harms(one, two),
        sources=_sources(one, two),
        begun=begun_words(one.scenario, two.scenario),
    )


def _bus(one: Run, two: Run, wanted: str, found: tuple[tuple[Gauge, ...], ...]) -> str:
    known = [g.id for side in found for g in side]
    if wanted in known:
        return wanted
    for run in (one, two):
        worst = run.verdict.worst
        if worst and worst.point.bus_id in known:
            return worst.point.bus_id or ""
    return known[0] if known else ""


def _percent(result: LimitResult | None) -> float:
    return result.worst.percent if result else 0.0


def _side(run: Run, bus: str, found: tuple[Gauge, ...]) -> Side:
    gauge = next((g for g in found if g.id == bus), None)
    worst = run.verdict.worst
    strips = None
    if gauge is not None:
        strips = (
            run_strip(run, gauge, step=None, width=590.0),
            run_strip(run, gauge, step=None, width=358.0),
        )
    return Side(
        run.scenario,
        verdict_words(run),
        strips,
        fmt.field_time(worst.worst.at) if worst else "",
    )


def _gap(first: float, second: float, unit: str = "") -> str:
    gap = second - first
    if abs(gap) < _NOTICED_A:
        return "same"
    sign = "+" if gap > 0 else ""
    return f"{sign}{fmt.number(gap)}{' ' + unit if unit else ''}"


def _limit(
    point_id: str, name: str, first: LimitResult | None, second: LimitResult | None, word: str
) -> Row:
    amps = [r.worst.peak_a if r else 0.0 for r in (first, second)]
    return Row(
        name=name,
        first=_worst(first),
        second=_worst(second),
        gap=_gap(amps[0], amps[1]),
        first_over=bool(first and first.status == "over"),
        second_over=bool(second and second.status == "over"),
        word=word,
        first_at=fmt.field_time(first.worst.at) if first else "",
        second_at=fmt.field_time(second.worst.at) if second else "",
        point_id=point_id,
    )


def _worst(result: LimitResult | None) -> str:
    if result is None:
        return fmt.NOTHING
    return f"{fmt.amps(result.worst.peak_a)} A, {fmt.percent(result.worst.percent)} %"


_STATES = dict(words.GENERATOR_STATES)


def _share_told(share: float) -> str:
    return f"{fmt.number(100 * share, 0)} %"


def _by_set(run: Run, told: Callable[[str], str]) -> str:
    """What is so of every set, or set by set where they differ."""
    each = [(g.name, told(g.id)) for g in run.site.generators] or [("", told(""))]
    if len({what for _, what in each}) == 1:
        return each[0][1]
    return "; ".join(f"{name}: {what}" for name, what in each)


def _inputs(one: Run, two: Run) -> tuple[Row, ...]:
    """What was asked differently."""

    def told(run: Run) -> list[tuple[str, str]]:
        day = run.scenario
        out_h = sum((w.end - w.start for w in day.outages), timedelta()) / timedelta(hours=1)
        people = "as many as live here" if day.people is None else str(day.people)
        return [
            ("Begins", fmt.when(day.start)),
            ("Lasts", f"{fmt.number(day.span_h, 0)} h"),
            ("Utility", fmt.outage_sentence(day)),
            ("Utility out in all", f"{fmt.number(out_h)} h"),
            ("Weather", fmt.weather_sentence(day)),
            ("Sun, of a clear sky", f"{fmt.number(100 * day.weather.sun_share, 0)} %"),
            ("People", people),
            ("The set", _by_set(run, lambda i: _STATES[day.state_of(i)])),
            ("It catches at try", _by_set(run, lambda i: str(day.tries_of(i)))),
            ("Fuel at the start", _by_set(run, lambda i: _share_told(day.fuel_share_of(i)))),
            ("Stops of the set", str(len(day.generator_stops))),
            ("Moves of switches", str(len(day.switch_moves))),
            ("Started at set times", str(len(day.events))),
            ("Deliveries", str(len(day.deliveries))),
            ("Seed", str(day.seed)),
        ]

    pairs = zip(told(one), told(two), strict=True)
    return tuple(Row(name, a, b, "") for (name, a), (_, b) in pairs if a != b)


def _without(one: Run, two: Run) -> tuple[Row, ...]:
    """Circuits that ask in vain for different times, most different first."""
    second = {s.circuit_id: s for s in two.service}
    found = []
    for a in one.service:
        b = second[a.circuit_id]
        gap = b.unserved_min - a.unserved_min
        if abs(gap) >= 1.0 or a.gap_exceeded != b.gap_exceeded:
            found.append(
                (
                    -abs(gap),
                    Row(
                        a.name,
                        fmt.duration(a.unserved_min),
                        fmt.duration(b.unserved_min),
                        f"{'+' if gap > 0 else '−'}{fmt.duration(abs(gap))}",
                        first_over=a.gap_exceeded,
                        second_over=b.gap_exceeded,
                    ),
                )
            )
    return tuple(row for _, row in sorted(found, key=lambda pair: pair[0]))


def begun_words(one: Scenario, two: Scenario) -> str:
    """That two runs do not begin alike, and what therefore is of different hours; else nothing."""
    if one.start == two.start and one.dark_before_s == two.dark_before_s:
        return ""
    told = [
        f"{day.name} begins {fmt.when(day.start)}"
        + (f", {span_words(day.dark_before_s / 60.0)} into an outage" * bool(day.dark_before_s))
        for day in (one, two)
    ]
    return (
        f"{'; '.join(told)}. Peaks, what goes without, energy and fuel are counted from each begin,"
        " so they are of different hours; harms have their hour in the outage, before the begin "
        "too."
    )


def _harms(one: Run, two: Run) -> tuple[Row, ...]:
    """Every harm that either comes to, by its hours into the outage, the first in front."""
    first, second = (
        {(h.kind, h.element_id, h.what): h for h in harms(run) if h.reached} for run in (one, two)
    )
    found = []
    for key in dict.fromkeys((*first, *second)):
        a, b = first.get(key), second.get(key)
        hours = [None if h is None else h.hours for h in (a, b)]
        gap = ""
        if hours[0] is not None and hours[1] is not None:
            gap = _gap(hours[0], hours[1], "h")
        found.append(Row(key[2], _harm_words(one, a), _harm_words(two, b), gap))
    return tuple(found)


def _harm_words(run: Run, harm: Harm | None) -> str:
    if harm is None or harm.at is None:
        return "not reached"
    before = "before its begin, " if run.scenario.stood_before(harm.at) else ""
    when = fmt.short_when(fmt.to_the_minute(harm.at))
    return f"{before}{fmt.number(harm.hours or 0.0)} h, {when}"


def _sources(one: Run, two: Run) -> tuple[Row, ...]:
    second = {s.source_id: s for s in two.sources}
    found = []
    for a in one.sources:
        b = second[a.source_id]
        found.append(
            Row(
                f"{a.name} gave",
                f"{fmt.number(a.in_kwh)} kWh",
                f"{fmt.number(b.in_kwh)} kWh",
                _gap(a.in_kwh, b.in_kwh, "kWh"),
            )
        )
        if a.kind == "generator":
            found.append(
                Row(
                    f"{a.name} ran",
                    f"{fmt.number(a.run_h)} h",
                    f"{fmt.number(b.run_h)} h",
                    _gap(a.run_h, b.run_h, "h"),
                )
            )
        fuel = a.fuel_used or b.fuel_used
        if fuel is not None:
            used = [s.fuel_used.value if s.fuel_used else 0.0 for s in (a, b)]
            first_used, second_used = (burnt_words(value, fuel.unit) for value in used)
            found.append(
                Row(
                    f"{a.name}, fuel about",
                    first_used,
                    second_used,
                    _gap(used[0], used[1], fuel.unit),
                )
            )
    return tuple(found)


@router.get("")
def show_comparison(
    request: Request, stored: StoredSiteDep, first: str = "", second: str = "", bus: str = ""
) -> Response:
    """Two scenarios of this site run and compared."""
    site = stored.site
    pair = two_of(site, first, second, worked_on=last_day_of(request, stored))
    view = None
    over = False
    if pair is not None and site.panels:
        runs = [cached_run(site, day) for day in pair]
        over = any(run.verdict.over for run in runs)
        view = comparison(runs[0], runs[1], bus)
    page = page_for(
        request,
        "Compare two runs",
        sheet="scenarios",
        stored=stored,
        caution_keys=run_cautions(site, pair[0] if pair else None, over=over),
    )
    return render(page, "scenarios/compare.html", site=site, pair=pair, view=view, fmt=fmt)
