"""Where the parts of a one-line stand: columns, drops, taps, sources and tracks.

Every root panel and every handle set is a column. Wires that leave a panel for a switch go up
from its bar, run along a track above the switches and come down on the switch.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from server.domain.site import Site
from server.domain.supply import DoubleThrow, Feeder, TransferSwitch
from server.web.drawing.columns import Column
from server.web.drawing.moment import Moment
from server.web.drawing.oneline_parts import SHEET_W
from server.web.drawing.trace import spread

GAP = 48.0
COLUMN_W = 368.0
HALF = 32.0
"""From the middle of a switch to each of its inputs. [px]"""


@dataclass
class Plan:
    """Places found so far, by element id."""

    drop: dict[str, float] = field(default_factory=dict)
    left: dict[str, float] = field(default_factory=dict)
    width: dict[str, float] = field(default_factory=dict)
    column_of: dict[str, str] = field(default_factory=dict)
    tap: dict[str, float] = field(default_factory=dict)
    source: dict[str, float] = field(default_factory=dict)


def switches_of(site: Site) -> tuple[TransferSwitch | DoubleThrow, ...]:
    """Every switch of a site."""
    return (*site.transfer_switches, *site.double_throws)


def placed(moment: Moment, made: tuple[Column, ...]) -> Plan:
    """Give every column, switch, tap and source its place."""
    site, plan = moment.site, Plan()
    order = {column.id: i for i, column in enumerate(made)}
    for column in made:
        plan.column_of[column.id] = column.id
    switches = switches_of(site)
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


def _place_taps(plan: Plan, column_id: str, outs: list[Feeder], order: dict[str, int]) -> None:
    """Taps at the right end of a bar; the nearest target takes the outermost tap."""

    def distance(feeder: Feeder) -> int:
        return order.get(plan.column_of.get(feeder.to_id, column_id), 0)

    right = plan.left[column_id] + plan.width[column_id] - 12
    for k, feeder in enumerate(sorted(outs, key=distance)):
        plan.tap[feeder.id] = right - 24 * k


def _terminal(plan: Plan, feeder: Feeder) -> float:
    """Where a feeder lands."""
    middle = plan.drop.get(feeder.to_id, 0.0)
    if feeder.to_input in ("utility", "backed_up"):
        return middle - HALF
    if feeder.to_input in ("generator", "normal") and feeder.to_id not in plan.left:
        return middle + HALF
    return middle


def _place_sources(moment: Moment, plan: Plan) -> None:
    wanted: dict[str, float] = {}
    sources = [s.id for s in moment.site.services] + [g.id for g in moment.site.generators]
    for source_id in sources:
        feeders = [f for f in moment.site.feeders if f.from_id == source_id]
        wanted[source_id] = _terminal(plan, feeders[0]) if feeders else 0.0
    everything = wanted | plan.source
    ids = list(everything)
    places = spread([everything[i] for i in ids], 262.0)
    plan.source = dict(zip(ids, places, strict=True))


@dataclass(frozen=True)
class Run:
    """A feeder from where it starts to where it lands.

    ``rises`` is whether it goes up from a bar; ``lands`` is bar, switch or, from a switch straight
    below, below-bar or below-switch.
    """

    feeder: Feeder
    start: float
    end: float
    rises: bool
    lands: str

    @property
    def straight(self) -> bool:
        """Whether it needs no track."""
        return abs(self.start - self.end) < 1 and not self.rises


def runs_of(moment: Moment, plan: Plan) -> list[Run]:
    """Every feeder that is drawn as a wire."""
    found = []
    for feeder in moment.site.feeders:
        if feeder.to_id not in plan.drop:
            continue
        lands = "bar" if feeder.to_id in plan.left else "switch"
        end = _terminal(plan, feeder)
        if feeder.from_id in plan.source:
            found.append(Run(feeder, plan.source[feeder.from_id], end, False, lands))
        elif feeder.id in plan.tap:
            found.append(Run(feeder, plan.tap[feeder.id], end, True, lands))
        elif feeder.from_id in plan.drop:
            found.append(Run(feeder, plan.drop[feeder.from_id], end, False, f"below-{lands}"))
    return found


def tracks_of(runs: list[Run]) -> dict[str, int]:
    """The track of every wire that needs one: long runs on top, none over another."""
    busy: list[list[tuple[float, float]]] = []
    found: dict[str, int] = {}
    need = [r for r in runs if not r.straight and not r.lands.startswith("below")]
    for run in sorted(need, key=lambda r: (r.rises, -abs(r.end - r.start))):
        low, high = sorted((run.start, run.end))
        span = (low - 20, max(high + 20, low + 250))
        clear = (
            number
            for number, taken in enumerate(busy)
            if all(span[1] < a or span[0] > b for a, b in taken)
        )
        number = next(clear, len(busy))
        if number == len(busy):
            busy.append([])
        busy[number].append(span)
        found[run.feeder.id] = number
    return found
