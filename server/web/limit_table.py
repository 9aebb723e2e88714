"""Every limit at its own worst minute, grouped by bus, ready to print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from server.domain.topology import Bus, BusKind
from server.domain.working import Working
from server.simulate.alike import folded
from server.simulate.odds import Odds
from server.simulate.results import Contributor, LimitPoint, LimitResult, Run, Status
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.format import amps, amps_or_dash, minutes_or_dash, percent, short_when


@dataclass(frozen=True)
class LimitRow:
    """One limit point. ``neutral`` is empty where no neutral figure is given.

    ``along`` says where the same limit comes again along the way, and why a set gives less here.
    """

    id: str
    name: str
    limit: str
    l1: str
    l2: str
    neutral: str
    bar: LegBar
    percent: str
    when: str
    over_80: str
    over_100: str
    status: Status
    neutral_only: bool
    along: str = ""


@dataclass(frozen=True)
class LimitGroup:
    """The limits of one bus: the tightest of each thing, and those that are looser and hold."""

    name: str
    kind: BusKind | None
    rows: tuple[LimitRow, ...]
    looser: tuple[LimitRow, ...] = ()


@dataclass(frozen=True)
class WhoRow:
    """An appliance that was on, with its share of each leg."""

    circuit: str
    appliance: str
    l1: str
    l2: str


@dataclass(frozen=True)
class Who:
    """Who was on at one limit point in one step; the rows sum to the totals."""

    rows: tuple[WhoRow, ...]
    l1: str
    l2: str


def limit_row(result: LimitResult, odds: Odds | None = None) -> LimitRow:
    """One row of the table; ``odds`` of the same scenario add their band to the bar."""
    first, second = result.legs
    band = None
    if odds is not None:
        spreads = odds.limit(result.point.id).legs
        band = ((spreads[0].median, spreads[0].p95), (spreads[1].median, spreads[1].p95))
    return LimitRow(
        id=result.point.id,
        name=result.point.name,
        limit=amps(result.point.leg_rating_a),
        l1=amps(first.peak_a),
        l2=amps(second.peak_a),
        neutral="" if result.neutral_peak_a is None else amps(result.neutral_peak_a),
        bar=leg_bar(
            l1_a=first.peak_a,
            l2_a=second.peak_a,
            limit_a=result.point.leg_rating_a,
            band_a=band,
        ),
        percent=percent(result.worst.percent),
        when=short_when(result.worst.at) if result.worst.peak_a > 0 else "",
        over_80=minutes_or_dash(max(leg.minutes_over_80 for leg in result.legs)),
        over_100=minutes_or_dash(max(leg.minutes_over_100 for leg in result.legs)),
        status=result.status,
        neutral_only=result.point.kind == "feeder_neutral",
    )


def shared_limits(run: Run) -> tuple[LimitResult, ...]:
    """Limits that circuits share: everything but their own breakers."""
    return tuple(r for r in run.limits if r.point.kind != "circuit_breaker")


def weather_words(point: LimitPoint) -> str:
    """Why a set gives less than on its plate in this scenario; empty where it does not.

    A limit of a set differs from one scenario to the next by this.
    """
    if point.kind != "generator":
        return ""
    term = {t.name: t.value for t in point.working.terms}
    plate = min(t.value for t in point.working.terms if t.name == "rated")
    if term["derated"] >= plate - 1e-9:
        return ""
    high_f, up_ft = term["warmest hour"], term["altitude"]
    return f"less than on its plate: up to {high_f:.0f} °F in this scenario, {up_ft:,.0f} ft up"


def breaker_limits(run: Run) -> tuple[LimitResult, ...]:
    """The circuits' own breakers."""
    return tuple(r for r in run.limits if r.point.kind == "circuit_breaker")


def limit_groups(run: Run, odds: Odds | None = None) -> tuple[LimitGroup, ...]:
    """Shared limits by bus, then circuit breakers that are close or over."""
    once = {f.result.point.id: f.along for f in folded(shared_limits(run))}
    shared = shared_limits(run)
    apart = [r for r in shared if not r.point.bus_id]
    groups = [_group("Shared by several buses", None, apart, odds, once)]
    groups += [
        _group(
            bus_title(bus), bus.kind, [r for r in shared if r.point.bus_id == bus.id], odds, once
        )
        for bus in run.buses
    ]
    tight = [r for r in breaker_limits(run) if r.status != "within"]
    tight.sort(key=lambda r: -r.worst.percent)
    groups.append(
        LimitGroup("Circuit breakers close to or past their rating", None, _rows(tight, odds))
    )
    return tuple(group for group in groups if group.rows)


def _group(
    name: str,
    kind: BusKind | None,
    results: list[LimitResult],
    odds: Odds | None,
    once: Mapping[str, str],
) -> LimitGroup:
    """``once`` names the limits that are not the same as an earlier one, with where they recur."""
    tightest: dict[str, LimitResult] = {}
    for result in results:
        known = tightest.setdefault(result.point.element_id, result)
        if result.worst.percent > known.worst.percent:
            tightest[result.point.element_id] = result
    keep = {r.point.id for r in tightest.values()}
    keep |= {r.point.id for r in results if r.status != "within"}
    keep &= set(once)
    rows = _rows((r for r in results if r.point.id in keep), odds)
    beside = {
        r.point.id: "; ".join(filter(None, (once[r.point.id], weather_words(r.point))))
        for r in results
        if r.point.id in keep
    }
    return LimitGroup(
        name,
        kind,
        tuple(replace(row, along=beside[row.id]) for row in rows),
        _rows((r for r in results if r.point.id not in keep), odds),
    )


def bus_title(bus: Bus) -> str:
    """The name of a bus as a heading."""
    return bus.name if bus.name.startswith("Handle") else f"{bus.name} bus"


def _rows(results: Iterable[LimitResult], odds: Odds | None) -> tuple[LimitRow, ...]:
    return tuple(limit_row(result, odds) for result in results)


def workings(run: Run) -> tuple[Working, ...]:
    """How every shared limit was worked out."""
    return tuple(r.point.working for r in shared_limits(run))


def who_was_on(run: Run, point_id: str, step: int, *, small_a: float = 0.0) -> Who:
    """Appliances on at a limit point in one step, largest first.

    Those under ``small_a`` on both legs are summed in one last row.
    """
    sums: dict[tuple[str, str], list[float]] = {}
    names: dict[tuple[str, str], Contributor] = {}
    for place, leg in enumerate(("L1", "L2")):
        for part in run.who_was_on(point_id, leg, step):  # type: ignore[arg-type]
            key = (part.circuit_id, part.appliance_id)
            sums.setdefault(key, [0.0, 0.0])[place] += part.amps_a
            names[key] = part
    ordered = sorted(sums, key=lambda k: -max(abs(v) for v in sums[k]))
    big = [k for k in ordered if max(abs(v) for v in sums[k]) >= small_a]
    rest = [k for k in ordered if k not in big]
    rows = [_who_row(names[k].circuit_name, names[k].appliance_name, sums[k]) for k in big]
    if rest:
        left = [sum(sums[k][i] for k in rest) for i in (0, 1)]
        rows.append(_who_row("", f"{len(rest)} more under {amps(small_a)} A", left))
    total = [sum(v[i] for v in sums.values()) for i in (0, 1)]
    return Who(tuple(rows), amps(total[0]), amps(total[1]))


def _who_row(circuit: str, appliance: str, pair: list[float]) -> WhoRow:
    cells = [amps_or_dash(v) if abs(v) >= 0.05 else "" for v in pair]
    if not any(cells):
        cells = [amps(max(pair, key=abs)), ""]
    shown = "" if circuit == appliance else circuit
    return WhoRow(shown, appliance, cells[0], cells[1])
