"""What the API and the terminal say of relief, figure by figure."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, ConfigDict

from server.advise.levers import LeverKind
from server.advise.relief import Relief
from server.advise.step import NextStep, Where
from server.simulate.views import Figure


class _View(BaseModel):
    model_config = ConfigDict(from_attributes=True, frozen=True)


class LeverView(_View):
    """One change: what kind it is, on which circuit, and where to or how much later.

    ``here`` is of a circuit kept off in the one scenario alone.
    """

    kind: LeverKind
    circuit_id: str
    to: str
    hours: Figure
    at: datetime | None
    here: bool


class CulpritView(_View):
    """An appliance that was on in the worst minute, its amps there, and since when."""

    appliance_id: str
    name: str
    circuit_id: str
    circuit_name: str
    amps_a: Figure
    since: datetime


class CandidateView(_View):
    """A change that was tried, with the limit's worst in its own run and what it costs."""

    words: str
    lever: LeverView
    peak_a: Figure
    percent: Figure
    at: datetime
    gain_a: Figure
    mends: bool
    fits: bool
    broken: tuple[str, ...]
    gaps: tuple[str, ...]
    harmed: tuple[str, ...]
    dark_min: Figure


class ReliefView(_View):
    """One limit at its worst minute: who was on since when, and every change tried, best first."""

    point_id: str
    name: str
    leg: str
    rating_a: Figure
    peak_a: Figure
    percent: Figure
    at: datetime
    minutes_over: Figure
    sentence: str
    culprits: tuple[CulpritView, ...]
    candidates: tuple[CandidateView, ...]
    refused: tuple[str, ...]


class NextStepView(_View):
    """The one thing to do next, with the figure of the run it gives.

    ``caution`` belongs beside a sentence that tells of fuel to bring; ``circuit_id`` is the circuit
    of a medical device whose own battery can be entered.
    """

    sentence: str
    command: str
    lever: LeverView | None
    where: Where
    caution: str
    circuit_id: str


class ReliefAnswer(_View):
    """Relief of one limit (none where nothing flows), and the next step of the scenario."""

    relief: ReliefView | None
    next_step: NextStepView


def relief_answer(relief: Relief | None, step: NextStep) -> ReliefAnswer:
    """Both as one document."""
    return ReliefAnswer(
        relief=ReliefView.model_validate(relief) if relief else None,
        next_step=NextStepView.model_validate(step),
    )
