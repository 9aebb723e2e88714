"""The one-line as a drawn sheet: sources above, switches between, bus bars on one level.

A layout that holds for any site. Every root panel and every handle set is a column; wires that
leave a panel for a switch go up from its bar, run along a track above the switches and come down
on the switch. Coordinates are in px of the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from server.domain.supply import Feeder
from server.domain.topology import BusKind
from server.web.drawing.columns import Column, Row, columns
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.drawing.moment import NONE, Moment
from server.web.drawing.trace import spread
from server.web.format import amps, rating

SHEET_W = 1216.0
GAP = 48.0
COLUMN_W = 368.0
SOURCE_Y = 40.0
SOURCE_FOOT = 112.0
TRACK = 30.0
SWITCH_H = 86.0
HALF = 32.0
"""From the middle of a switch to each of its inputs."""
ROW = 24.0


@dataclass(frozen=True)
class Wire:
    """A conductor. ``text`` stands on its track at (``text_x``, ``text_y``)."""

    path: str
    live: bool
    weight: float
    text: str = ""
    text_x: float = 0.0
    text_y: float = 0.0
    over: bool = False
    breaker: tuple[float, float] | None = None


@dataclass(frozen=True)
class SourceMark:
    """A service, generator or solar array on top of the sheet."""

    x: float
    kind: str
    name: str
    note: str
    live: bool
    bar: LegBar | None
    anchor: str


@dataclass(frozen=True)
class SwitchMark:
    """A switch: two inputs above, the common below, the blade between."""

    x: float
    y: float
    name: str
    live: bool
    left_chosen: bool
    left_live: bool
    right_live: bool
    left_name: str
    right_name: str
    one_input: bool
    bar: LegBar | None
    anchor: str


@dataclass(frozen=True)
class RowMark:
    """A row under a bar with its place."""

    y: float
    row: Row


@dataclass(frozen=True)
class ColumnMark:
    """A bus bar and the rows under it."""

    x: float
    width: float
    drop: float
    kind: BusKind
    column: Column
    rows: tuple[RowMark, ...]
    rail: str
    anchor: str

    @property
    def name_chars(self) -> int:
        """How many characters of a name fit before the breaker column."""
        return max(int((self.width - 190) / 7.3), 12)


@dataclass(frozen=True)
class OneLine:
    """The whole drawing."""

    width: float
    height: float
    bar_y: float
    wires: tuple[Wire, ...]
    sources: tuple[SourceMark, ...]
    switches: tuple[SwitchMark, ...]
    columns: tuple[ColumnMark, ...]
    title: str
    minute: str

    @property
    def shown_px(self) -> int:
        """Width on screen: its own for a small site, never so small that it cannot be read."""
        return round(self.width if self.width < SHEET_W else max(SHEET_W, self.width * 0.82))


@dataclass
class _Plan:
    """Places found so far, by element id."""

    drop: dict[str, float] = field(default_factory=dict)
    left: dict[str, float] = field(default_factory=dict)
    width: dict[str, float] = field(default_factory=dict)
    column_of: dict[str, str] = field(default_factory=dict)
    tap: dict[str, float] = field(default_factory=dict)
    source: dict[str, float] = field(default_factory=dict)


def one_line(moment: Moment) -> OneLine:
    """Lay out a site at one moment of a run."""
    made = columns(moment)
    plan = _placed(moment, made)
    runs = _runs(moment, plan)
    tracks = _tracks(runs)
    used = max(tracks.values(), default=-1) + 1
    switch_y = SOURCE_FOOT + 14 + used * TRACK + (16 if moment.site.transfer_switches else 0)
    has_switch = bool(moment.site.transfer_switches or moment.site.double_throws)
    bar_y = switch_y + (SWITCH_H if has_switch else 0) + 74
    wires = [_wire(moment, run, tracks.get(run.feeder.id), switch_y, bar_y) for run in runs]
    wires += _solar_wires(moment, plan, bar_y)
    marks = [_column_mark(moment, plan, column, bar_y) for column in made]
    depth = max((len(mark.rows) for mark in marks), default=0)
    return OneLine(
        width=max((mark.x + mark.width for mark in marks), default=SHEET_W),
        height=bar_y + 60 + depth * ROW + 30,
        bar_y=bar_y,
        wires=tuple(sorted(wires, key=lambda w: w.live)),
        sources=_source_marks(moment, plan),
        switches=_switch_marks(moment, plan, switch_y),
        columns=tuple(marks),
        title=_title(moment, made),
        minute=moment.at.isoformat(),
    )


def _title(moment: Moment, made: tuple[Column, ...]) -> str:
    states = "; ".join(f"{c.title} {c.state}" for c in made)
    return f"One-line diagram. {states}. The table of limits below holds the same figures."


# Columns and what stands in them ---------------------------------------------------------------


def _placed(moment: Moment, made: tuple[Column, ...]) -> _Plan:
    site, plan = moment.site, _Plan()
    order = {column.id: i for i, column in enumerate(made)}
    for column in made:
        plan.column_of[column.id] = column.id
    switches = [*site.transfer_switches, *site.double_throws]
    for switch in switches:
        below = [f.to_id for f in site.feeders if f.from_id == switch.id]
        home = next((b for b in below if b in order), None)
        plan.column_of.setdefault(switch.id, home or made[-1].id if made else "")
    outs = {
        c.id: [f for f in site.feeders if f.from_id == c.id and _switched(moment, f)] for c in made
    }
    solar = {c.id: [a for a in site.solar if _root_panel(moment, a.panel_id) == c.id] for c in made}
    widths = [
        max(
            COLUMN_W,
            336.0 + 24 * len(outs[c.id]),
            310.0 + 240 * len(solar[c.id]) if solar[c.id] else 0.0,
        )
        for c in made
    ]
    spare = SHEET_W - sum(widths) - GAP * max(len(made) - 1, 0)
    if spare > 0 and made:
        widths = [w + min(spare / len(made), 190.0) for w in widths]
    x = 0.0
    for column, width in zip(made, widths, strict=True):
        plan.left[column.id], plan.width[column.id] = x, width
        has_switch = any(
            plan.column_of.get(s.id) == column.id and s.id not in order for s in switches
        )
        plan.drop[column.id] = x + (HALF + 44 if has_switch else 20)
        _place_taps(plan, column.id, outs[column.id], order)
        for k, array in enumerate(solar[column.id]):
            plan.source[array.id] = plan.drop[column.id] + 262 + 240 * k
        x += width + GAP
    for switch in switches:
        if switch.id not in order and plan.column_of[switch.id] in plan.drop:
            plan.drop[switch.id] = plan.drop[plan.column_of[switch.id]]
    _place_sources(moment, plan)
    return plan


def _switched(moment: Moment, feeder: Feeder) -> bool:
    return feeder.to_id not in moment.site.panel_by_id


def _root_panel(moment: Moment, panel_id: str) -> str:
    while True:
        feeders = moment.site.feeders_into.get(panel_id, ())
        above = next((f.from_id for f in feeders if f.from_id in moment.site.panel_by_id), None)
        if above is None:
            return panel_id
        panel_id = above


def _place_taps(plan: _Plan, column_id: str, outs: list[Feeder], order: dict[str, int]) -> None:
    """Taps at the right end of a bar; the nearest target takes the outermost tap."""

    def distance(feeder: Feeder) -> int:
        return order.get(plan.column_of.get(feeder.to_id, column_id), 0)

    right = plan.left[column_id] + plan.width[column_id] - 12
    for k, feeder in enumerate(sorted(outs, key=distance)):
        plan.tap[feeder.id] = right - 24 * k


def _terminal(moment: Moment, plan: _Plan, feeder: Feeder) -> float:
    """Where a feeder lands."""
    middle = plan.drop.get(feeder.to_id, 0.0)
    if feeder.to_input in ("utility", "backed_up"):
        return middle - HALF
    if feeder.to_input in ("generator", "normal") and feeder.to_id not in plan.left:
        return middle + HALF
    return middle


def _place_sources(moment: Moment, plan: _Plan) -> None:
    wanted: dict[str, float] = {}
    for source in (*moment.site.services, *moment.site.generators):
        feeders = [f for f in moment.site.feeders if f.from_id == source.id]
        wanted[source.id] = _terminal(moment, plan, feeders[0]) if feeders else 0.0
    everything = wanted | plan.source
    ids = list(everything)
    places = spread([everything[i] for i in ids], 262.0)
    plan.source = dict(zip(ids, places, strict=True))


# Wires -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Run:
    feeder: Feeder
    start: float
    end: float
    rises: bool
    lands: str

    @property
    def straight(self) -> bool:
        return abs(self.start - self.end) < 1 and not self.rises


def _runs(moment: Moment, plan: _Plan) -> list[_Run]:
    found = []
    for feeder in moment.site.feeders:
        if feeder.to_id not in plan.drop:
            continue
        lands = "bar" if feeder.to_id in plan.left else "switch"
        end = _terminal(moment, plan, feeder)
        if feeder.from_id in plan.source:
            found.append(_Run(feeder, plan.source[feeder.from_id], end, False, lands))
        elif feeder.id in plan.tap:
            found.append(_Run(feeder, plan.tap[feeder.id], end, True, lands))
        elif feeder.from_id in plan.drop:
            found.append(_Run(feeder, plan.drop[feeder.from_id], end, False, f"below-{lands}"))
    return found


def _tracks(runs: list[_Run]) -> dict[str, int]:
    """The track of every wire that needs one: long runs on top, none over another."""
    busy: list[list[tuple[float, float]]] = []
    found: dict[str, int] = {}
    need = [r for r in runs if not r.straight and not r.lands.startswith("below")]
    for run in sorted(need, key=lambda r: (r.rises, -abs(r.end - r.start))):
        low, high = sorted((run.start, run.end))
        span = (low - 20, max(high + 20, low + 250))
        for number, taken in enumerate(busy):
            if all(span[1] < a or span[0] > b for a, b in taken):
                break
        else:
            number = len(busy)
            busy.append([])
        busy[number].append(span)
        found[run.feeder.id] = number
    return found


def _wire(moment: Moment, run: _Run, track: int | None, switch_y: float, bar_y: float) -> Wire:
    feeder = run.feeder
    pair = moment.feeder_amps(feeder)
    live = moment.live(feeder.from_id)
    point = moment.point_of_feeder(feeder)
    limit_a = moment.limit(point) if point else None
    foot = {"bar": bar_y, "switch": switch_y}.get(run.lands, bar_y)
    look = (live, 1.5 + max(pair) / 24, limit_a is not None and max(pair) > limit_a)
    if run.lands.startswith("below"):
        top = switch_y + SWITCH_H
        if run.lands == "below-switch":
            path = f"M{run.start:.0f} {top:.0f}V{top + 18:.0f}H{run.end:.0f}V{switch_y:.0f}"
        else:
            path = f"M{run.start:.0f} {top:.0f}V{top + 18:.0f}H{run.end:.0f}V{foot:.0f}"
        return Wire(path, look[0], look[1], over=look[2])
    text = _wire_text(moment, feeder, live, pair, limit_a)
    if track is None:
        top = SOURCE_FOOT - 46
        breaker = (run.start, (SOURCE_FOOT + foot) / 2) if feeder.breaker_a else None
        path = f"M{run.start:.0f} {top:.0f}V{foot:.0f}"
        return Wire(path, look[0], look[1], over=look[2], breaker=breaker)
    y = SOURCE_FOOT + 26 + track * TRACK
    top = bar_y if run.rises else SOURCE_FOOT - 46
    return Wire(
        f"M{run.start:.0f} {top:.0f}V{y:.0f}H{run.end:.0f}V{foot:.0f}",
        live,
        look[1],
        text=text,
        text_x=min(run.start, run.end) + 10,
        text_y=y - 7,
        over=look[2],
        breaker=(run.start, bar_y - 36 if run.rises else (y + top) / 2)
        if feeder.breaker_a
        else None,
    )


def _wire_text(
    moment: Moment, feeder: Feeder, live: bool, pair: tuple[float, float], limit_a: float | None
) -> str:
    name = feeder.name
    limit = f", {rating(limit_a)} A" if limit_a else ""
    if not live:
        return f"{name}{limit}: dead"
    if not moment.carries(feeder):
        return f"{name}{limit}: open"
    return f"{name}{limit}: {amps(pair[0])} and {amps(pair[1])} A"


def _solar_wires(moment: Moment, plan: _Plan, bar_y: float) -> list[Wire]:
    found = []
    for array in moment.site.solar:
        if array.id not in plan.source:
            continue
        x = plan.source[array.id]
        pair = moment.amps(f"solar_breaker:{array.id}") or NONE
        live = moment.live(array.panel_id) and max(pair) > 0
        found.append(
            Wire(
                f"M{x:.0f} {SOURCE_FOOT - 44:.0f}V{bar_y:.0f}",
                live,
                1.5 + max(pair) / 24,
                breaker=(x, bar_y - 36),
            )
        )
    return found


# Marks -----------------------------------------------------------------------------------------


def _bar(moment: Moment, point_id: str | None, *, dead: bool) -> LegBar | None:
    pair = moment.amps(point_id) if point_id else None
    limit_a = moment.limit(point_id) if point_id else None
    if pair is None or limit_a is None:
        return None
    return leg_bar(l1_a=pair[0], l2_a=pair[1], limit_a=limit_a, dead=dead)


def _source_marks(moment: Moment, plan: _Plan) -> tuple[SourceMark, ...]:
    found = []
    for service in moment.site.services:
        out = moment.utility_out()
        point = f"service_main:{service.id}"
        bar = _bar(moment, point, dead=out)
        note = "utility out" if out else "utility on"
        found.append(
            SourceMark(plan.source[service.id], "service", service.name, note, not out, bar, point)
        )
    for generator in moment.site.generators:
        live = moment.generator_feeds(generator.id)
        point = f"generator:{generator.id}"
        bar = _bar(moment, point, dead=not live)
        note = "running" if live else "stands by"
        found.append(
            SourceMark(
                plan.source[generator.id], "generator", generator.name, note, live, bar, point
            )
        )
    for array in moment.site.solar:
        point = f"solar_breaker:{array.id}"
        pair = moment.amps(point) or NONE
        live = moment.live(array.panel_id) and max(pair) >= 0.05
        if moment.utility_out():
            note = "off: it follows the grid" if array.grid_following else "grid out"
        else:
            note = f"gives {amps(max(pair))} A a leg" if live else "no sun"
        found.append(
            SourceMark(plan.source[array.id], "solar", array.name, note, live, None, point)
        )
    return tuple(found)


def _switch_marks(moment: Moment, plan: _Plan, y: float) -> tuple[SwitchMark, ...]:
    found = []
    for switch in (*moment.site.transfer_switches, *moment.site.double_throws):
        if switch.id in plan.left or switch.id not in plan.drop:
            continue
        throw = any(d.id == switch.id for d in moment.site.double_throws)
        left, right = ("backed_up", "normal") if throw else ("utility", "generator")
        sides = [moment.site.feeder_into(switch.id, side) for side in (left, right)]
        point = moment.point_of(switch.id)
        live = moment.live(switch.id)
        found.append(
            SwitchMark(
                x=plan.drop[switch.id],
                y=y,
                name=switch.name,
                live=live,
                left_chosen=moment.selected(switch.id) == left,
                left_live=bool(sides[0] and moment.live(sides[0].from_id)),
                right_live=bool(sides[1] and moment.live(sides[1].from_id)),
                left_name="BACKED-UP" if throw else "utility",
                right_name="NORMAL" if throw else "generator",
                one_input=None in sides,
                bar=_bar(moment, point, dead=not live),
                anchor=point or "",
            )
        )
    return tuple(found)


def _column_mark(moment: Moment, plan: _Plan, column: Column, bar_y: float) -> ColumnMark:
    y = bar_y + 72
    rows = [*column.rows, *([column.total] if column.total else [])]
    marks = tuple(RowMark(y + i * ROW, row) for i, row in enumerate(rows))
    x = plan.left[column.id] + 8
    hung = [m for m in marks if m.row.look != "total"]
    ends = "".join(f"M{x:.0f} {m.y - 5:.0f}h{10 + 16 * m.row.depth:.0f}" for m in hung)
    rail = f"M{x:.0f} {bar_y + 40:.0f}V{hung[-1].y - 5:.0f}{ends}" if hung else ""
    return ColumnMark(
        x=plan.left[column.id],
        width=plan.width[column.id],
        drop=plan.drop[column.id],
        kind=column.kind,
        column=column,
        rows=marks,
        rail=rail,
        anchor=column.point_id or "",
    )
