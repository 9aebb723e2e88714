"""A small one-line of any site, without figures: who can feed whom, laid out from the feeders.

Sources stand above, bus bars share one level, switches stand between. The same function draws the
ways to feed a house that a newcomer picks from and the supply of a saved site, so a picture cannot
say anything else than its document. Coordinates are in px of the drawing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from server.domain.current_path import fed_by
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import DoubleThrow, Feeder, TransferSwitch
from server.domain.topology import BUS_KINDS, BUS_WORDS, BusKind, bus_of_panel
from server.web.drawing.trace import spread

SOURCE_Y, SOURCE_FOOT = 20.0, 38.0
TRACK, HALF, SWITCH_H, SUB_H = 13.0, 15.0, 34.0, 44.0


@dataclass(frozen=True)
class Scale:
    """How wide a column is drawn, and whether parts carry their names or only their kind."""

    column: float
    gap: float
    apart: float
    names: bool


CARD = Scale(96.0, 22.0, 92.0, names=False)
_PAGE_W, _LEAST_W, _MOST_W = 1216.0, 200.0, 330.0


def _page_scale(columns: int) -> Scale:
    """Columns as wide as a sheet at desk size gives them, never too narrow for names."""
    gap = 40.0
    shared = (_PAGE_W - gap * columns) / max(columns, 1)
    return Scale(min(max(shared, _LEAST_W), _MOST_W), gap, 200.0, names=True)


@dataclass(frozen=True)
class Mark:
    """A source, a switch or a bus bar. ``look`` is its kind; ``words`` stand beside it."""

    id: str
    look: str
    x: float
    y: float
    words: str
    note: str = ""
    width: float = 0.0
    indent: float = 0.0
    room: float = 0.0

    @property
    def chars(self) -> int:
        """How many characters of its words fit."""
        return max(int(self.room / 6.9), 8)


@dataclass(frozen=True)
class Sketch:
    """The drawing: wires first, then what they join. ``title`` says the same in words."""

    width: float
    height: float
    wires: tuple[str, ...]
    dashes: tuple[str, ...]
    sources: tuple[Mark, ...]
    switches: tuple[Mark, ...]
    bars: tuple[Mark, ...]
    title: str


@dataclass
class _Plan:
    site: Site
    scale: Scale
    left: dict[str, float] = field(default_factory=dict)
    drop: dict[str, float] = field(default_factory=dict)
    tap: dict[str, float] = field(default_factory=dict)
    source: dict[str, float] = field(default_factory=dict)
    home: dict[str, str] = field(default_factory=dict)


def sketch(site: Site, scale: Scale | None = None) -> Sketch:
    """Lay out the supply of a site; without a scale, for a page of its own."""
    plan = _placed(site, scale)
    scale = plan.scale
    tracks = _tracks(plan)
    track_y = SOURCE_FOOT + 16
    used = max(tracks.values(), default=-1) + 1
    switches = _switches(site)
    switch_y = track_y + used * TRACK + 4
    bar_y = switch_y + (SWITCH_H + 30 if switches else 22)
    at = {s.id: (switch_y, bar_y) for s in switches}
    bars, depth = _bars(plan, bar_y)
    return Sketch(
        width=_width(plan),
        height=bar_y + (46 if scale.names else 28) + depth * SUB_H,
        wires=(*_wires(plan, tracks, track_y, at, bar_y), *_risers(bars, bar_y)),
        dashes=tuple(_handled(plan, switch_y, bar_y)),
        sources=tuple(_source_marks(plan)),
        switches=tuple(
            Mark(
                s.id,
                "throw" if isinstance(s, DoubleThrow) else s.kind,
                plan.drop[s.id],
                switch_y,
                s.name if scale.names else "",
                room=_room_beside(plan, s.id),
            )
            for s in switches
        ),
        bars=tuple(bars),
        title=said_in_words(site),
    )


def _room_beside(plan: _Plan, switch_id: str) -> float:
    """Px beside a switch up to the first wire that rises from its bar, or the column's end."""
    left = plan.left[plan.home[switch_id]]
    right = left + plan.scale.column
    taps = [x for x in plan.tap.values() if left <= x <= right]
    return min(taps, default=right) - plan.drop[switch_id] - 40


def _width(plan: _Plan) -> float:
    """To the end of the last bar, and of the name beside the last source."""
    bars = max(plan.left.values(), default=0.0) + plan.scale.column
    names = max(plan.source.values(), default=0.0) + (180 if plan.scale.names else 88)
    return max(bars, names)


def said_in_words(site: Site) -> str:
    """Who feeds whom, as a sentence for those who do not see the drawing."""
    name = site.name_of
    fed = [
        f"{name[f.from_id]} feeds {name[f.to_id]}"
        + (f" on its {f.to_input.replace('_', '-')} side" if f.to_input else "")
        for f in site.feeders
    ]
    fed += [f"{a.name} ties into {name[a.panel_id]}" for a in site.solar]
    buses = [
        f"{name[panel_id]} is {BUS_WORDS[bus.kind].lower()}"
        for panel_id, bus in bus_of_panel(site).items()
    ]
    return "; ".join([*fed, *buses]) + "."


def _switches(site: Site) -> tuple[TransferSwitch | DoubleThrow, ...]:
    return (*site.transfer_switches, *site.double_throws)


def _parent(site: Site, panel: Panel) -> str | None:
    above = (f.from_id for f in site.feeders_into.get(panel.id, ()))
    return next((i for i in above if i in site.panel_by_id), None)


def _root_panel(site: Site, panel_id: str) -> str:
    while parent := _parent(site, site.panel(panel_id)):
        panel_id = parent
    return panel_id


def _placed(site: Site, wanted: Scale | None) -> _Plan:
    plan = _Plan(site, CARD)
    kinds = bus_of_panel(site)
    roots = [p for p in site.panels if _parent(site, p) is None]
    roots.sort(key=lambda p: BUS_KINDS.index(kinds[p.id].kind))
    root_ids = {p.id for p in roots}
    switches = _switches(site)
    for switch in switches:
        fed = [f.to_id for f in fed_by(site, switch.id) if f.to_id in root_ids]
        free = [i for i in fed if i not in plan.home.values()]
        plan.home[switch.id] = free[0] if free else switch.id
    lone = [s.id for s in switches if plan.home[s.id] == s.id]
    scale = plan.scale = wanted or _page_scale(len(roots) + len(lone))
    for k, column_id in enumerate([*(p.id for p in roots), *lone]):
        x = k * (scale.column + scale.gap)
        plan.left[column_id] = x
        switched = column_id in plan.home.values()
        plan.drop[column_id] = x + (34.0 if switched else 18.0)
    for switch in switches:
        plan.drop[switch.id] = plan.drop[plan.home[switch.id]]
    _place_taps(plan, root_ids)
    _place_sources(plan)
    return plan


def _place_taps(plan: _Plan, root_ids: set[str]) -> None:
    site = plan.site
    for panel_id in root_ids:
        out = [f for f in _leaving(site, panel_id) if f.to_id not in site.panel_by_id]
        out.sort(key=lambda f: plan.drop.get(f.to_id, 0.0))
        right = plan.left[panel_id] + plan.scale.column - 8
        for k, feeder in enumerate(out):
            plan.tap[feeder.id] = right - 13.0 * k


def _leaving(site: Site, root_id: str) -> Iterator[Feeder]:
    """Feeders that leave a root panel or a subpanel of it for a switch."""
    for feeder in site.feeders:
        start = site.panel_by_id.get(feeder.from_id)
        if start is not None and _root_panel(site, start.id) == root_id:
            yield feeder


def _place_sources(plan: _Plan) -> None:
    site = plan.site
    wanted: dict[str, float] = {}
    for source_id in [s.id for s in site.services] + [g.id for g in site.generators]:
        first = next(iter(fed_by(site, source_id)), None)
        wanted[source_id] = _terminal(plan, first) if first else plan.scale.column / 2
    for array in site.solar:
        root = _root_panel(site, array.panel_id)
        wanted[array.id] = plan.left[root] + plan.scale.column * 0.62
    places = spread(list(wanted.values()), plan.scale.apart)
    plan.source = dict(zip(wanted, places, strict=True))


def _terminal(plan: _Plan, feeder: Feeder) -> float:
    panel = plan.site.panel_by_id.get(feeder.to_id)
    to_id = _root_panel(plan.site, panel.id) if panel else feeder.to_id
    middle = plan.drop[to_id]
    return middle + {"utility": -HALF, "backed_up": -HALF, "generator": HALF, "normal": HALF}.get(
        feeder.to_input or "", 0.0
    )


def _ends(plan: _Plan) -> Iterator[tuple[str, float, float, str]]:
    """Id, start and end of every wire that runs above the bars, and where it starts."""
    site = plan.site
    for feeder in site.feeders:
        end = _terminal(plan, feeder)
        if feeder.from_id in plan.source:
            yield feeder.id, plan.source[feeder.from_id], end, "source"
        elif feeder.id in plan.tap:
            yield feeder.id, plan.tap[feeder.id], end, "bar"
        elif feeder.from_id in plan.home and plan.home[feeder.from_id] != feeder.to_id:
            yield feeder.id, plan.drop[feeder.from_id] + 26, end, "switch"
    for array in site.solar:
        root = _root_panel(site, array.panel_id)
        end = plan.left[root] + plan.scale.column * 0.62
        yield array.id, plan.source[array.id], end, "source"


def _tracks(plan: _Plan) -> dict[str, int]:
    busy: list[list[tuple[float, float]]] = []
    found: dict[str, int] = {}
    need = [(i, s, e) for i, s, e, where in _ends(plan) if where != "source" or abs(s - e) > 1]
    for wire_id, start, end in sorted(need, key=lambda w: -abs(w[1] - w[2])):
        low, high = min(start, end) - 6, max(start, end) + 6
        clear = (k for k, taken in enumerate(busy) if all(high < a or low > b for a, b in taken))
        track = next(clear, len(busy))
        if track == len(busy):
            busy.append([])
        busy[track].append((low, high))
        found[wire_id] = track
    return found


def _wires(
    plan: _Plan,
    tracks: dict[str, int],
    track_y: float,
    at: dict[str, tuple[float, float]],
    bar_y: float,
) -> Iterator[str]:
    by_id = {f.id: f for f in plan.site.feeders}
    for wire_id, start, end, where in _ends(plan):
        feeder = by_id.get(wire_id)
        foot = at[feeder.to_id][0] if feeder and feeder.to_id in at else bar_y
        y = track_y + tracks.get(wire_id, 0) * TRACK
        if where == "source":
            turn = f"V{y:.0f}H{end:.0f}" if wire_id in tracks else ""
            yield f"M{start:.0f} {SOURCE_FOOT:.0f}{turn}V{foot:.0f}"
        elif where == "bar":
            yield f"M{start:.0f} {bar_y:.0f}V{y:.0f}H{end:.0f}V{foot:.0f}"
        else:
            common = at[by_id[wire_id].from_id][0] + SWITCH_H + 8
            x = plan.drop[by_id[wire_id].from_id]
            yield f"M{x:.0f} {common:.0f}H{start:.0f}V{y:.0f}H{end:.0f}V{foot:.0f}"
    for switch_id, (switch_y, foot) in at.items():
        straight = plan.home[switch_id] != switch_id
        end = foot if straight else switch_y + SWITCH_H + 8
        yield f"M{plan.drop[switch_id]:.0f} {switch_y + SWITCH_H:.0f}V{end:.0f}"


def _risers(bars: list[Mark], bar_y: float) -> Iterator[str]:
    """From a bar down to its subpanels."""
    for bar in bars:
        if bar.look.startswith("sub "):
            yield f"M{bar.x - 22:.0f} {bar_y:.0f}V{bar.y:.0f}H{bar.x:.0f}"


def _handled(plan: _Plan, switch_y: float, bar_y: float) -> Iterator[str]:
    """From the panel whose circuits have handles to the set of handles; never a feeder."""
    site = plan.site
    for switch in site.transfer_switches:
        if switch.kind == "handles" and site.panels:
            panels = [site.circuit(h.circuit_id).panel_id for h in switch.handles]
            root = _root_panel(site, panels[0] if panels else site.panels[0].id)
            x, start = plan.drop[switch.id] - HALF, plan.left[root] + plan.scale.column - 8
            yield f"M{start:.0f} {bar_y:.0f}V{switch_y - 12:.0f}H{x:.0f}V{switch_y:.0f}"


def _source_marks(plan: _Plan) -> Iterator[Mark]:
    site, names = plan.site, plan.scale.names
    room = plan.scale.apart - 26
    for service in site.services:
        words = service.name if names else "utility"
        yield Mark(service.id, "service", plan.source[service.id], SOURCE_Y, words, room=room)
    for generator in site.generators:
        kind = "portable" if generator.portable else "generator"
        words = generator.name if names else kind
        yield Mark(generator.id, "generator", plan.source[generator.id], SOURCE_Y, words, room=room)
    for array in site.solar:
        words = array.name if names else "solar"
        yield Mark(array.id, "solar", plan.source[array.id], SOURCE_Y, words, room=room)


def _bars(plan: _Plan, bar_y: float) -> tuple[list[Mark], int]:
    site, kinds = plan.site, bus_of_panel(plan.site)
    found: list[Mark] = []
    rows: dict[str, int] = {}
    parents = {_root_panel(site, p.id) for p in site.panels if _parent(site, p) is not None}
    for panel in site.panels:
        root, kind = _root_panel(site, panel.id), kinds[panel.id].kind
        is_root = root == panel.id
        rows[root] = rows.get(root, 0) + (0 if is_root else 1)
        indent = 0.0 if is_root else 26.0
        found.append(
            Mark(
                panel.id,
                kind if is_root else f"sub {kind}",
                plan.left[root] + indent,
                bar_y if is_root else bar_y + rows[root] * SUB_H + 12,
                _bar_words(plan, panel, kind, is_root=is_root),
                BUS_WORDS[kind] if plan.scale.names else "",
                plan.scale.column - indent,
                16.0 if panel.id in parents else 0.0,
            )
        )
    return found, max(rows.values(), default=0)


def _bar_words(plan: _Plan, panel: Panel, kind: BusKind, *, is_root: bool) -> str:
    if plan.scale.names:
        return panel.name
    return BUS_WORDS[kind] if is_root else "subpanel"
