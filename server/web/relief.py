"""Relief of a limit and the next step of a scenario: fragments, and the button that does it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.advise.held_to_all import in_others
from server.advise.levers import LEVER_KINDS, PLANNED, Lever, apply_lever, lever_words
from server.advise.next_step import next_step
from server.advise.relief import Candidate, Relief, relief_of
from server.advise.step import NextStep
from server.domain.errors import EditError, InputError, StaleEditError
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.results import Run
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.web import format as fmt
from server.web.against import past_rating
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.forms import revision_of, typed
from server.web.pages import local_path, page_for, redirect, render
from server.web.pressed import pressed_twice, remember
from server.web.scenario_choice import run_cautions

router = APIRouter(prefix="/sites/{site_id}/scenarios/{scenario_id}")

SHOWN = 4
_LIMITS = 14


@dataclass(frozen=True)
class Row:
    """One change that was tried."""

    words: str
    amps: str
    percent: str
    when: str
    gain: str
    status: str
    costs: str
    fields: Mapping[str, str]


@dataclass(frozen=True)
class ReliefView:
    """What the relief section shows. ``choices`` are limits to ask of, nearest first.

    ``moves`` is whether a circuit is moved in any row.
    """

    point_id: str
    name: str
    sentence: str
    rows: tuple[Row, ...]
    more: tuple[Row, ...]
    refused: tuple[str, ...]
    choices: tuple[tuple[str, str], ...]
    moves: bool


def relief_view(run: Run, point_id: str) -> ReliefView | None:
    """Relief of one limit of a run, the deciding one where ``point_id`` is empty or unknown."""
    known = {r.point.id for r in run.limits}
    found = relief_of(run.site, run.scenario, point_id if point_id in known else "")
    if found is None:
        return None
    rows = tuple(change_row(one) for one in found.candidates if one.gain_a > 0.05)
    return ReliefView(
        point_id=found.point_id,
        name=found.name,
        sentence=found.sentence,
        rows=rows[:SHOWN],
        more=rows[SHOWN:],
        refused=found.refused,
        choices=_choices(run, found),
        moves=any(one.lever.kind == "move" for one in found.candidates if one.gain_a > 0.05),
    )


def _choices(run: Run, found: Relief) -> tuple[tuple[str, str], ...]:
    ranked = sorted(run.limits, key=lambda r: -r.worst.percent)
    listed = {r.point.id: r for r in ranked[:_LIMITS]} | {
        r.point.id: r for r in ranked if r.point.id == found.point_id
    }
    return tuple(
        (r.point.id, f"{r.point.name}, {fmt.percent(r.worst.percent)} %") for r in listed.values()
    )


def change_row(one: Candidate) -> Row:
    """One change that was tried, with what it costs."""
    costs = [f"passes {name}" for name in one.broken]
    costs += [f"{name} dark too long" for name in one.gaps]
    costs += (*one.harmed, *one.frost)
    if one.dark_min >= 1.0:
        asks = fmt.duration(round(one.dark_min))
        costs.append(f"asks for power and gets none for {asks} more in all")
    return Row(
        words=one.words,
        amps=fmt.amps(one.peak_a),
        percent=fmt.percent(one.percent),
        when=fmt.short_when(one.at),
        gain=fmt.amps(one.gain_a),
        status="over" if one.percent > 100 else ("close" if one.percent > 80 else "within"),
        costs="; ".join(costs),
        fields=lever_fields(one.lever) if one.lever.is_kept and not one.harms else {},
    )


def lever_fields(lever: Lever) -> dict[str, str]:
    """A lever as the fields of a form."""
    return {
        "kind": lever.kind,
        "circuit": lever.circuit_id,
        "to": lever.to,
        "hours": f"{lever.hours:g}",
        "moment": lever.at.isoformat() if lever.at else "",
        "what": lever.what,
        "here": "1" if lever.here else "",
    }


def lever_from(values: Mapping[str, str]) -> Lever:
    """The lever that a form sent.

    Raises
    ------
    EditError   When it names no change there is.
    """
    kind = next((k for k in LEVER_KINDS if k == values.get("kind")), None)
    try:
        at = datetime.fromisoformat(values["moment"]) if values.get("moment") else None
        hours = float(values.get("hours") or 0)
    except ValueError:
        kind, at, hours = None, None, 0.0
    if kind is None or kind == "idle" or not 0 <= hours <= 24:
        raise EditError("That is none of the changes that were tried.", field="kind")
    return Lever(
        kind,
        values.get("circuit", ""),
        to=values.get("to", ""),
        hours=hours,
        at=at.replace(tzinfo=None) if at else None,
        what=values.get("what", "")[:200],
        here=kind in {"off", "on"} and values.get("here") == "1",
    )


def step_view(site: Site, scenario: Scenario) -> tuple[NextStep, dict[str, str]]:
    """The next step, and the fields of the form that makes it (none where nothing does)."""
    step = next_step(site, scenario)
    return step, lever_fields(step.lever) if step.lever else {}


@router.get("/relief")
def show_relief(
    request: Request, stored: StoredSiteDep, scenario_id: str, point: str = ""
) -> Response:
    """The relief section alone."""
    run = cached_run(stored.site, stored.site.scenario(scenario_id))
    page = page_for(
        request, "Relief", stored=stored, scenario=run.scenario, back=_run_page(stored, scenario_id)
    )
    return render(
        page, "scenarios/_relief.html", scenario=run.scenario, relief=relief_view(run, point)
    )


@router.get("/next-step")
def show_next_step(request: Request, stored: StoredSiteDep, scenario_id: str) -> Response:
    """The next step alone."""
    scenario = stored.site.scenario(scenario_id)
    back = f"/sites/{stored.id}?scenario={scenario_id}"
    page = page_for(request, "Next step", stored=stored, scenario=scenario, back=back)
    step, fields = step_view(stored.site, scenario)
    past = past_rating(stored.site)
    shown: dict[str, Any] = {
        "chosen": scenario,
        "step": step,
        "fields": fields,
        "past_rating": past,
    }
    return render(page, "overview/_nextstep.html", **shown)


@router.post("/next-step")
def make_step(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, form: FormDep
) -> Response:
    """Make the next step where it is more than one lever, and return to where it was offered."""
    values = typed(form)
    back = local_path(values.get("back", ""), f"/sites/{stored.id}?scenario={scenario_id}")
    try:
        if pressed_twice(stored.id, values, stored.revision):
            return redirect(request, back, said=f"{values['step']}: {_ALREADY}")
        if revision_of(values) != stored.revision:
            return _refused(request, stored, scenario_id, _STALE, 409)
        step = next_step(stored.site, stored.site.scenario(scenario_id))
        if step.changed is None or step.command != values.get("step"):
            return _refused(request, stored, scenario_id, _GONE, 422)
        base = revision_of(values)
        store.save(stored.id, step.changed, base_revision=base, label=step.command)
        remember(stored.id, values)
    except StaleEditError:
        return _refused(request, store.get(stored.id), scenario_id, _STALE, 409)
    except InputError as error:
        return _refused(request, stored, scenario_id, str(error), 422)
    done = f"entered as planned, in every scenario: {PLANNED}" if step.planned else _DONE
    return redirect(request, back, said=f"{step.command}: {done}. Undo takes it back.")


def _run_page(stored: StoredSite, scenario_id: str) -> str:
    return f"/sites/{stored.id}/scenarios/{scenario_id}"


@router.post("/relief")
def make_change(
    request: Request, store: StoreDep, stored: StoredSiteDep, scenario_id: str, form: FormDep
) -> Response:
    """Make one of the changes that were tried, and return to where it was offered."""
    values = typed(form)
    back = local_path(values.get("back", ""), _run_page(stored, scenario_id))
    scenario = stored.site.scenario(scenario_id)
    try:
        lever = lever_from(values)
        said = lever_words(stored.site, lever)
        if pressed_twice(stored.id, values, stored.revision):
            return redirect(request, back, said=f"{said}: {_ALREADY}")
        if revision_of(values) != stored.revision:
            return _refused(request, stored, scenario_id, _STALE, 409)
        changed, _ = apply_lever(stored.site, scenario, lever)
        store.save(stored.id, changed, base_revision=revision_of(values), label=said)
        remember(stored.id, values)
    except StaleEditError:
        return _refused(request, store.get(stored.id), scenario_id, _STALE, 409)
    except InputError as error:
        return _refused(request, stored, scenario_id, str(error), 422)
    where = "every scenario of this site" if lever.every_day else "this scenario"
    worse, _ = in_others(stored.site, scenario, lever)
    but = f" But with it, {worse}." if worse else ""
    done = f"entered as planned, in {where}: {PLANNED}" if lever.planned else f"done, in {where}"
    return redirect(request, back, said=f"{said}: {done}.{but} Undo takes it back.")


_ALREADY = "done already. Undo takes it back."
_DONE = "done, in every scenario"
_GONE = "The next step is another one by now, so nothing was changed."
_STALE = "Somebody saved first, so nothing was changed. The changes below were tried anew."


def _refused(
    request: Request, stored: StoredSite, scenario_id: str, problem: str, status_code: int
) -> Response:
    scenario = stored.site.scenario(scenario_id)
    run = cached_run(stored.site, scenario)
    page = page_for(
        request,
        "Relief",
        sheet="scenarios",
        stored=stored,
        scenario=scenario,
        caution_keys=run_cautions(stored.site, scenario, over=bool(run.verdict.over)),
        back=_run_page(stored, scenario_id),
        said="",
    )
    return render(
        page,
        "scenarios/relief.html",
        status_code=status_code,
        scenario=scenario,
        relief=relief_view(run, ""),
        problem=problem,
    )
