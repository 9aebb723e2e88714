"""Why a limit is at its worst, and what would relieve it most: every candidate is run again.

The figures beside a candidate come from its own run, never from taking amps off a sum: what is
moved, delayed or turned off changes when everything else comes on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache

from server.advise.advice import all_holds
from server.advise.levers import Lever, apply_lever, lever_words, levers_for
from server.advise.longer import longer
from server.advise.needed import new_harms, takes_needed
from server.domain.errors import InputError, NotFoundError
from server.domain.lengths import span_words
from server.domain.pairs import pair_of
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.compare import compare
from server.simulate.results import Contributor, LegPeak, LimitResult, Run
from server.simulate.run import cached_run, simulate
from server.simulate.summary import who_at_peak
from server.simulate.verdict import moment

MOST_CIRCUITS = 6
"""The heaviest circuits at the worst minute whose levers are tried."""

_SAME_A = 0.05
_SAME_PERCENT = 0.1
_NAMED = 3
_ANOTHER_TIME = timedelta(minutes=60)


@dataclass(frozen=True)
class Culprit:
    """An appliance that was on in the worst minute, its amps there, and since when."""

    appliance_id: str
    name: str
    circuit_id: str
    circuit_name: str
    amps_a: float
    since: datetime


@dataclass(frozen=True)
class Candidate:
    """A change that was tried, and the limit after its own run.

    ``peak_a`` is the new worst of the limit, whenever that is; ``mends`` says that it is within
    the rating; ``broken`` names the limits that this change newly passes, ``gaps`` the must-serve
    circuits that it newly leaves too long, ``harmed`` says the harms that it brings or makes much
    longer, ``dark_min`` the minutes more in which the circuit asks and gets nothing; ``holds`` that
    then everything does, empty where not. ``takes_needed`` is of one that takes more than comfort,
    ``takes_important`` of one that takes what matters to somebody; ``frost`` names hot tubs that
    stand without power in frost for longer.
    """

    lever: Lever
    words: str
    doing: str
    peak_a: float
    percent: float
    at: datetime
    gain_a: float
    mends: bool
    holds: str
    broken: tuple[str, ...]
    gaps: tuple[str, ...]
    dark_min: float
    harmed: tuple[str, ...] = ()
    takes_needed: bool = False
    takes_important: bool = False
    frost: tuple[str, ...] = ()

    @property
    def harm_rank(self) -> int:
        """Whom it costs: nobody or comfort (0), what matters (1), what is needed (2)."""
        return 2 * self.takes_needed or int(self.takes_important or bool(self.frost))

    @property
    def fits(self) -> bool:
        """Whether everything holds then."""
        return bool(self.holds)

    @property
    def harms(self) -> bool:
        """Whether it breaks something that held."""
        return bool(self.broken or self.gaps or self.harmed)


@dataclass(frozen=True)
class Relief:
    """One limit at its worst minute: who was on, and what relieves it, best first."""

    point_id: str
    name: str
    leg: str
    rating_a: float
    peak_a: float
    percent: float
    at: datetime
    minutes_over: float
    culprits: tuple[Culprit, ...]
    candidates: tuple[Candidate, ...]
    refused: tuple[str, ...]
    sentence: str

    @property
    def best(self) -> Candidate | None:
        """What relieves it most without breaking anything else."""
        return next((c for c in self.candidates if not c.harms and c.gain_a > _SAME_A), None)

    @property
    def gentlest(self) -> Candidate | None:
        """Of what brings it within its rating and breaks nothing, the one that costs least."""
        return _gentlest(self.candidates)

    @property
    def strongest(self) -> Candidate | None:
        """Of what breaks nothing and can be saved, what relieves most of those that cost least."""
        able = (c for c in self.candidates if not c.harms and c.lever.is_kept)
        worth = (c for c in able if c.gain_a > _SAME_A)
        return min(worth, key=lambda c: c.harm_rank, default=None)


def _gentlest(candidates: Iterable[Candidate]) -> Candidate | None:
    able = (c for c in candidates if c.mends and not c.harms and c.lever.is_kept)
    return min(able, key=_cost, default=None)


def _no_longer_than_needed(ranked: list[Candidate]) -> list[Candidate]:
    """Without the delays that gain nothing over a shorter one of the same circuit."""
    shortest: dict[str, list[Candidate]] = {}
    for one in sorted(ranked, key=lambda c: c.lever.hours):
        if one.lever.kind == "later":
            kept = shortest.setdefault(one.lever.circuit_id, [])
            if all(one.percent < k.percent - _SAME_PERCENT or k.harms for k in kept):
                kept.append(one)
    return [c for c in ranked if c.lever.kind != "later" or c in shortest[c.lever.circuit_id]]


def _rank(candidate: Candidate) -> tuple[bool, float, float, int, float]:
    """Most relief first; of those alike, what leaves least wanting, then the smaller change."""
    lever = candidate.lever
    return (
        candidate.harms,
        round(candidate.percent, 1),
        round(candidate.dark_min),
        _ORDER[lever.kind],
        lever.hours,
    )


_ORDER = {"on": 0, "ready": 0, "later": 0, "move": 1, "off": 2, "idle": 3}


def _cost(candidate: Candidate) -> tuple[int, float, int, float]:
    return (
        candidate.harm_rank,
        round(candidate.dark_min),
        _ORDER[candidate.lever.kind],
        candidate.percent,
    )


@lru_cache(maxsize=128)
def relief_of(
    site: Site, scenario: Scenario, point_id: str = "", seed: int | None = None
) -> Relief | None:
    """What would relieve a limit point of this run.

    Parameters
    ----------
    point_id : str   The limit; empty takes the one that decides the verdict.

    Returns
    -------
    Relief or None   None where the run has no limit that carries anything.

    Raises
    ------
    NotFoundError   When the run has no such limit point.
    """
    run = cached_run(site, scenario, seed=seed)
    result = _result(run, point_id)
    if result is None or result.worst.peak_a <= 0.0:
        return None
    peak = result.worst
    on = who_at_peak(run, result.point, peak)
    culprits = tuple(_culprit(run, one, peak.at) for one in on if one.circuit_id)
    tried: list[Candidate] = []
    refused: list[str] = []
    for circuit_id in list(dict.fromkeys(c.circuit_id for c in culprits))[:MOST_CIRCUITS]:
        for lever in levers_for(run, circuit_id, peak.at):
            try:
                changed = apply_lever(site, scenario, lever)
                after = simulate(*changed, seed=seed)
            except InputError as error:
                refused.append(f"{lever_words(site, lever)}: {error}")
                continue
            tried.append(_candidate(run, after, result, lever))
    tried = _no_longer_than_needed(sorted(tried, key=_rank))
    return Relief(
        point_id=result.point.id,
        name=result.point.name,
        leg=peak.leg,
        rating_a=result.point.leg_rating_a,
        peak_a=peak.peak_a,
        percent=peak.percent,
        at=peak.at,
        minutes_over=max(leg.minutes_over_100 for leg in result.legs),
        culprits=culprits,
        candidates=tuple(tried),
        refused=tuple(dict.fromkeys(refused)),
        sentence=_sentence(result, culprits, tried),
    )


def _result(run: Run, point_id: str) -> LimitResult | None:
    if not point_id:
        return run.verdict.worst
    found = next((r for r in run.limits if r.point.id == point_id), None)
    if found is None:
        raise NotFoundError(f"There is no limit point {point_id!r} in this run.")
    return found


def _culprit(run: Run, one: Contributor, at: datetime) -> Culprit:
    """Since when: the first step of the unbroken stretch of taking power that holds the minute."""
    taken = run.flows.taken_by(one.appliance_id) > 0.0
    step = run.step_of(at)
    while step > 0 and taken[step - 1]:
        step -= 1
    return Culprit(
        one.appliance_id,
        one.appliance_name,
        one.circuit_id,
        one.circuit_name,
        one.amps_a,
        run.time_of(step),
    )


def _candidate(run: Run, after: Run, result: LimitResult, lever: Lever) -> Candidate:
    now = next((r for r in after.limits if r.point.id == result.point.id), None)
    peak: LegPeak = now.worst if now else result.worst
    before_gaps = {s.circuit_id for s in run.verdict.gaps}
    harmed = new_harms(run, after)
    ids = {c.id for c in pair_of(run.site, lever.circuit_id)}
    dark = _unserved(after, ids) - _unserved(run, ids)
    without = lever.kind in {"off", "idle"}
    return Candidate(
        lever=lever,
        words=lever_words(run.site, lever),
        doing=lever_words(run.site, lever, doing=True),
        peak_a=peak.peak_a,
        percent=peak.percent,
        at=peak.at,
        gain_a=result.worst.peak_a - peak.peak_a,
        mends=now is not None and now.status != "over",
        holds="" if harmed else all_holds(after),
        broken=tuple(c.point.name for c in compare(run, after) if c.change == "broken"),
        gaps=tuple(s.name for s in after.verdict.gaps if s.circuit_id not in before_gaps),
        dark_min=max(dark, 0.0),
        harmed=harmed,
        takes_needed=without and takes_needed(run, ids, after),
        takes_important=(without or dark >= 1.0)
        and any(run.site.circuit(i).load_class == "important" for i in ids),
        frost=tuple(one.clause for one in longer(run, after) if one.frost),
    )


def _unserved(run: Run, circuit_ids: set[str]) -> float:
    return sum(s.unserved_min for s in run.service if s.circuit_id in circuit_ids)


def _since(culprit: Culprit, at: datetime) -> str:
    day = culprit.since.date() == at.date()
    return f"{culprit.since:%H:%M}" if day else moment(culprit.since)


def _sentence(result: LimitResult, culprits: tuple[Culprit, ...], tried: list[Candidate]) -> str:
    """Who was on since when, and what relieves it most with the figure of that run."""
    peak = result.worst
    leg = "" if result.point.kind == "feeder_neutral" else f" on {peak.leg}"
    who = ", ".join(
        f"{c.name} {c.amps_a:.1f} A since {_since(c, peak.at)}" for c in culprits[:_NAMED]
    )
    more = len(culprits) - _NAMED
    if more > 0:
        who += f" and {more} more"
    limit = f"{result.point.leg_rating_a:.1f} A{leg}"
    text = f"{result.point.name} carries {peak.peak_a:.1f} A of {limit} at {moment(peak.at)}"
    text += f" with {who}; " if who else "; "
    best = next((c for c in tried if not c.harms and c.gain_a > _SAME_A), None)
    if best is None:
        return f"{text}no single change to one circuit relieves it without breaking something else."
    text += f"{best.doing} relieves it most, to {best.peak_a:.1f} A"
    if result.status == "over":
        text += ", within its limit" if best.mends else ", still past its limit"
    if abs(best.at - peak.at) > _ANOTHER_TIME:
        text += f" at {moment(best.at)}, when it is worst then"
    if best.dark_min >= 1.0:
        text += (
            f"; it then asks for power and gets none for {span_words(best.dark_min)} more in all"
        )
    least = _gentlest(tried)
    if result.status == "over" and least is not None and least.lever != best.lever:
        text += f". {least.doing[:1].upper()}{least.doing[1:]} costs less and is enough, "
        text += f"to {least.peak_a:.1f} A"
    return f"{text}."
