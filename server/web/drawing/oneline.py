"""The one-line as a drawn sheet: sources above, switches between, bus bars on one level.

A layout that holds for any site; coordinates are in px of the drawing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from server.domain.supply import Feeder
from server.web.drawing.columns import Column, columns
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.drawing.moment import NONE, Moment
from server.web.drawing.oneline_labels import Label, Upright, labels_of
from server.web.drawing.oneline_parts import (
    SHEET_W,
    ColumnMark,
    OneLine,
    RowMark,
    SourceMark,
    SwitchMark,
    Wire,
)
from server.web.drawing.oneline_plan import Plan, Run, placed, runs_of, switches_of, tracks_of
from server.web.format import amps, rating

SOURCE_FOOT = 112.0
TRACK = 30.0
SWITCH_H = 86.0
ROW = 24.0


def one_line(moment: Moment) -> OneLine:
    """Lay out a site at one moment of a run."""
    made = columns(moment)
    plan = placed(moment, made)
    runs = runs_of(moment, plan)
    tracks = tracks_of(runs)
    used = max(tracks.values(), default=-1) + 1
    switch_y = SOURCE_FOOT + 14 + used * TRACK + (16 if moment.site.transfer_switches else 0)
    has_switch = bool(moment.site.transfer_switches or moment.site.double_throws)
    bar_y = switch_y + (SWITCH_H if has_switch else 0) + 74
    width = max((plan.left[c.id] + plan.width[c.id] for c in made), default=SHEET_W)
    solar_x = [plan.source[a.id] for a in moment.site.solar if a.id in plan.source]
    labels = labels_of(
        runs,
        tracks,
        _uprights(runs, tracks, solar_x=solar_x, switch_y=switch_y, bar_y=bar_y),
        words={run.feeder.id: _wire_words(moment, run.feeder) for run in runs},
        track_y={track: _track_y(track) for track in tracks.values()},
        width=width,
    )
    wires = [
        _wire(moment, r, tracks.get(r.feeder.id), switch_y, bar_y, label=labels.get(r.feeder.id))
        for r in runs
    ]
    wires += _solar_wires(moment, plan, bar_y)
    marks = [_column_mark(plan, column, bar_y) for column in made]
    depth = max((len(mark.rows) for mark in marks), default=0)
    return OneLine(
        width=max((mark.x + mark.width for mark in marks), default=SHEET_W),
        height=bar_y + 60 + depth * ROW + 30,
        bar_y=bar_y,
        wires=tuple(sorted(wires, key=lambda w: w.live)),
        sources=_source_marks(moment, plan),
        switches=_switch_marks(moment, plan, switch_y),
        columns=tuple(marks),
        title=_title(made),
        minute=moment.at.isoformat(),
    )


def _title(made: tuple[Column, ...]) -> str:
    states = "; ".join(f"{c.title} {c.state}" for c in made)
    return f"One-line diagram. {states}. The table of limits below holds the same figures."


def _track_y(track: int) -> float:
    return SOURCE_FOOT + 26 + track * TRACK


def _uprights(
    runs: list[Run],
    tracks: Mapping[str, int],
    *,
    solar_x: Iterable[float],
    switch_y: float,
    bar_y: float,
) -> list[Upright]:
    """Everything of the wires above the switches that stands upright."""
    found = [Upright(x, SOURCE_FOOT - 46, bar_y) for x in solar_x]
    for run in runs:
        track = tracks.get(run.feeder.id)
        foot = switch_y if run.lands == "switch" else bar_y
        if track is not None:
            y = _track_y(track)
            top, low = (y, bar_y) if run.rises else (SOURCE_FOOT - 46, y)
            found += [Upright(run.start, top, low), Upright(run.end, y, foot)]
        elif not run.lands.startswith("below"):
            found.append(Upright(run.start, SOURCE_FOOT - 46, foot))
    return found


def _wire(
    moment: Moment,
    run: Run,
    track: int | None,
    switch_y: float,
    bar_y: float,
    *,
    label: Label | None,
) -> Wire:
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
    if track is None or label is None:
        top = SOURCE_FOOT - 46
        breaker = (run.start, (SOURCE_FOOT + foot) / 2) if feeder.breaker_a else None
        path = f"M{run.start:.0f} {top:.0f}V{foot:.0f}"
        return Wire(path, look[0], look[1], over=look[2], breaker=breaker)
    y = _track_y(track)
    top = bar_y if run.rises else SOURCE_FOOT - 46
    return Wire(
        f"M{run.start:.0f} {top:.0f}V{y:.0f}H{run.end:.0f}V{foot:.0f}",
        live,
        look[1],
        text=label.text,
        text_x=label.x,
        text_y=y - 7,
        over=look[2],
        breaker=(run.start, bar_y - 36 if run.rises else (y + top) / 2)
        if feeder.breaker_a
        else None,
    )


def _wire_words(moment: Moment, feeder: Feeder) -> tuple[str, ...]:
    """What can be said of a wire: with its name, and without where that finds no place."""
    pair = moment.feeder_amps(feeder)
    point = moment.point_of_feeder(feeder)
    limit_a = moment.limit(point) if point else None
    limit = f"{rating(limit_a)} A" if limit_a else ""
    if not moment.live(feeder.from_id):
        said = "dead"
    elif not moment.carries(feeder):
        said = "open"
    else:
        said = f"{amps(pair[0])} and {amps(pair[1])} A"
    long = f"{feeder.name}, {limit}" if limit else feeder.name
    return f"{long}: {said}", f"{limit}: {said}" if limit else said


def _solar_wires(moment: Moment, plan: Plan, bar_y: float) -> list[Wire]:
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


def _bar(moment: Moment, point_id: str | None, *, dead: bool) -> LegBar | None:
    pair = moment.amps(point_id) if point_id else None
    limit_a = moment.limit(point_id) if point_id else None
    if pair is None or limit_a is None:
        return None
    return leg_bar(l1_a=pair[0], l2_a=pair[1], limit_a=limit_a, dead=dead)


def _source_marks(moment: Moment, plan: Plan) -> tuple[SourceMark, ...]:
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


def _switch_marks(moment: Moment, plan: Plan, y: float) -> tuple[SwitchMark, ...]:
    found = []
    for switch in switches_of(moment.site):
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


def _column_mark(plan: Plan, column: Column, bar_y: float) -> ColumnMark:
    y = bar_y + 72
    rows = [*column.rows, *([column.total] if column.total else [])]
    marks = tuple(RowMark(y + i * ROW, row) for i, row in enumerate(rows))
    x = plan.left[column.id] + 8
    hung = [m for m in marks if m.row.look != "total"]
    ends = "".join(f"M{x:.0f} {m.y - 5:.0f}h{10 + 16 * m.row.depth:.0f}" for m in hung)
    rail = f"M{x:.0f} {bar_y + 12:.0f}V{hung[-1].y - 5:.0f}{ends}" if hung else ""
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
