"""Steps that ask for what only a person can tell before a run says anything that can be used."""

from __future__ import annotations

from dataclasses import replace

from server.advise.fuel_words import untold_words
from server.advise.step import NextStep
from server.domain.cautions import FUEL
from server.domain.scenario import Scenario
from server.simulate.fuel_untold import untold_fuel
from server.simulate.outside import not_run_words
from server.simulate.results import Run


def moved_in(scenario: Scenario) -> NextStep | None:
    """An outage that no minute of the run holds comes before all that the run tells."""
    if not not_run_words(scenario):
        return None
    return NextStep(
        "Move the outage into the run, or let the run last until after it: until then nothing of "
        "it is told.",
        where="day",
    )


def tank_asked(run: Run) -> NextStep | None:
    """A set that burns liquid fuel for hours without a tank: nothing says when it ends."""
    bare = next(iter(untold_fuel(run.site, run.sources)), None)
    if bare is None:
        return None
    words = untold_words(bare)
    return NextStep(words, where="tank", set_id=bare.generator_id, caution=str(FUEL))


def and_tank(run: Run, step: NextStep) -> NextStep:
    """A step with the tank that is asked for besides."""
    tank = tank_asked(run)
    if tank is None:
        return step
    return replace(
        step,
        sentence=f"{step.sentence} Besides: {tank.sentence}",
        caution=step.caution or tank.caution,
        set_id=tank.set_id,
    )
