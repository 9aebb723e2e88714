"""The step of a run in which nothing fails: what the code wants, what rests on a guess."""

from __future__ import annotations

from dataclasses import replace

from server.advise.advice import all_holds
from server.advise.by_code import code_mend, past_by_code
from server.advise.confirm import to_confirm
from server.advise.gone_without import GoneWithout, gone_without
from server.advise.idle_parts import bare_words, idle_command, idle_words, without_idle
from server.advise.needless import needless
from server.advise.step import NextStep
from server.domain.managers import counts_on_words
from server.simulate.results import Run

APART = "The code calculation is a separate check, on Demand load."


def settled(run: Run) -> NextStep:
    """What is left to do where a run holds.

    What the code wants changed goes first. Then comes what is off for nothing, and the guess that
    is worth measuring.
    """
    gone = gone_without(run)
    if past_by_code(run.site):
        text = _nearest(run, "In amps this run holds")
        text = f"{text} {gone.sentence}" if gone else text
        return _and_on(and_the_rest(run, NextStep(text, settled=True)), gone)
    guess = next((g for g in to_confirm(run.site, run) if g.why), None)
    text = f"{_nearest(run, 'Nothing need be changed for this scenario')} {APART}"
    if counts := counts_on_words(run.site):
        text = f"{_nearest(run, 'This run holds with all that is entered')} But {counts}. {APART}"
    if gone is not None:
        opening = text if counts else _nearest(run, "In amps this scenario holds")
        text = f"{opening} {gone.sentence}" + ("" if counts else f" {APART}")
    if guess is not None and _carries(run):
        text += f" Confirm first: {guess.name}. {guess.why}"
    step = _and_on(NextStep(text, settled=True), gone)
    return step if step.lever else _and_idle(run, _and_needless(run, step))


def _and_on(step: NextStep, gone: GoneWithout | None) -> NextStep:
    """A step with the lever that gives people what they go without, where it has none itself."""
    if gone is None or step.changed or step.lever:
        return step
    return replace(step, command=gone.command, lever=gone.lever)


def _and_idle(run: Run, step: NextStep) -> NextStep:
    """A step with what of the house has nothing left to act on, taken out where nothing else is."""
    idle, bare = idle_words(run.site), bare_words(run.site)
    said = replace(step, sentence=" ".join(filter(None, (step.sentence, idle, bare))))
    if not idle or said.changed or said.lever:
        return said
    return replace(said, command=idle_command(run.site), changed=without_idle(run.site))


def _and_needless(run: Run, step: NextStep) -> NextStep:
    found = needless(run) if all_holds(run) else None
    if found is None:
        return step
    return replace(
        step,
        sentence=f"{step.sentence} {found.sentence}",
        command=found.words,
        changed=found.site,
    )


def and_the_rest(run: Run, step: NextStep) -> NextStep:
    """A step on a run, with what the code wants changed after it, or what is off for nothing.

    A step that has a change of its own is left as it is: one is made at a time.
    """
    step = _and_by_code(run, step)
    if step.lever or step.changed:
        return step
    return _and_idle(run, _and_needless(run, step))


def _and_by_code(run: Run, step: NextStep) -> NextStep:
    mend = None if step.lever else code_mend(run.site, run.scenario)
    if mend is None:
        return step
    sentence = f"{step.sentence} {mend.sentence}"
    if mend.worse:
        return replace(step, sentence=sentence, names_code=True)
    return replace(
        step,
        sentence=sentence,
        command=f"Enter this change for {mend.name}",
        changed=mend.site,
        names_code=True,
        planned=True,
    )


def _carries(run: Run) -> bool:
    worst = run.verdict.worst
    return worst is not None and worst.worst.peak_a > 0.0


def _nearest(run: Run, opening: str) -> str:
    """The opening, with the limit that is filled most where any carries something."""
    worst = run.verdict.worst
    if worst is None or not _carries(run):
        return f"{opening}."
    return (
        f"{opening}: the nearest limit, {worst.point.name}, is filled to "
        f"{worst.worst.percent:.0f} %."
    )
