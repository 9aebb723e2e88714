"""What the run page says of many draws of its scenario."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.odds_gas import with_gas
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.domain.working import Working
from server.simulate.background import State, background
from server.simulate.odds import LimitOdds, Odds, Settling
from server.simulate.odds_words import odds_notes, odds_sentence
from server.simulate.placing import placing_words
from server.simulate.results import LimitResult, Status
from server.simulate.run import cached_run, kept_run
from server.web.drawing.legbar import LegBar, leg_bar
from server.web.format import amps, percent

COUNTS = (100, 200, 500, 1000)
USUAL = 200
_SHOWN = 6


@dataclass(frozen=True)
class OddsRow:
    """One limit over all draws. ``leg`` is empty where it has none."""

    name: str
    limit: str
    leg: str
    bar: LegBar | None
    median: str
    p95: str
    worst: str
    percent: str
    passed: str
    status: Status


@dataclass(frozen=True)
class SettlingView:
    """The 95th after so many draws, and how much it still moved over the last half of them."""

    name: str
    leg: str
    rows: tuple[tuple[int, str], ...]
    moved: str


@dataclass(frozen=True)
class OddsView:
    """Everything the panel shows. ``rows`` lead, ``looser`` are limits far from being passed."""

    state: State | None
    made: int
    asked: int
    going_on: bool
    counts: tuple[int, ...]
    usual: int
    status: Status
    sentence: str
    rows: tuple[OddsRow, ...]
    looser: tuple[OddsRow, ...]
    notes: tuple[str, ...]
    settling: SettlingView | None
    placing: str
    working: Working | None

    @property
    def may_start(self) -> bool:
        """Whether a run page that is opened starts them by itself; a person's stop is heeded."""
        return self.state in (None, "left")


def odds_view(site: Site, scenario: Scenario) -> OddsView:
    """What is known of many draws of this scenario, and how far the work is."""
    progress = background.look(site, scenario)
    kept = progress.odds if progress else None
    odds = with_gas(kept, cached_run(site, scenario)) if kept else None
    made = progress.made if progress else 0
    counts = tuple(n for n in COUNTS if n > made) or (COUNTS[-1],)
    rows = _ranked(site, scenario, odds) if odds else ()
    nearest = nearest_limit(odds) if odds else None
    main = [i for i, row in enumerate(rows) if row.status != "within" or i < _SHOWN]
    return OddsView(
        state=progress.state if progress else None,
        made=made,
        asked=progress.asked if progress else 0,
        going_on=bool(progress and progress.going_on),
        counts=counts,
        usual=USUAL if made < USUAL else counts[0],
        status="over" if odds and odds.fails else "within",
        sentence=odds_sentence(odds) if odds else "",
        rows=tuple(rows[i] for i in main),
        looser=tuple(row for i, row in enumerate(rows) if i not in main),
        notes=odds_notes(scenario, odds) if odds else (),
        settling=_settling(odds, odds.settling) if odds and odds.settling else None,
        placing=placing_words(nearest.placing, nearest.point.name)
        if nearest and nearest.placing
        else "",
        working=nearest.working if nearest else None,
    )


def _shared(odds: Odds) -> list[LimitOdds]:
    """Limits that circuits share and breakers that some draw passes, nearest first."""
    found = [r for r in odds.limits if r.point.kind != "circuit_breaker" or r.crossed.hits]
    return sorted(found, key=lambda r: (-r.crossed.hits, -r.percent))


def nearest_limit(odds: Odds) -> LimitOdds | None:
    """The limit that most draws pass, or that their 95th comes nearest to."""
    return next(iter(_shared(odds) or odds.limits), None)


def _ranked(site: Site, scenario: Scenario, odds: Odds) -> tuple[OddsRow, ...]:
    run = kept_run(site, scenario)
    shown = {r.point.id: r for r in run.limits} if run else {}
    return tuple(_row(one, shown.get(one.point.id)) for one in _shared(odds))


def _row(one: LimitOdds, shown: LimitResult | None) -> OddsRow:
    neutral = one.point.kind == "feeder_neutral"
    hits = one.crossed.hits
    bands = [(leg.median, leg.p95) for leg in one.legs]
    bar = None
    if shown is not None and not neutral:
        bar = leg_bar(
            l1_a=shown.legs[0].peak_a,
            l2_a=shown.legs[1].peak_a,
            limit_a=one.point.leg_rating_a,
            band_a=(bands[0], bands[1]),
        )
    return OddsRow(
        name=one.point.name,
        limit=amps(one.point.leg_rating_a),
        leg="N" if neutral else one.worst_leg,
        bar=bar,
        median=amps(one.worst.median),
        p95=amps(one.worst.p95),
        worst=amps(max(leg.worst for leg in one.legs)),
        percent=percent(one.percent),
        passed=f"{hits} of {one.crossed.draws}" if hits else "none",
        status="over" if hits else "close" if one.percent > 80.0 else "within",
    )


def _settling(odds: Odds, found: Settling) -> SettlingView:
    half = [a for n, a in zip(found.draws, found.p95_a, strict=True) if 2 * n >= odds.draws]
    return SettlingView(
        name=odds.limit(found.point_id).point.name,
        leg=found.leg,
        rows=tuple((n, amps(a)) for n, a in zip(found.draws, found.p95_a, strict=True)),
        moved=amps(max(half) - min(half)),
    )
