"""What people go without in a run that holds, and the circuit whose choice lies behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from server.advise.advice import all_holds
from server.advise.from_harm import circuits_of
from server.advise.levers import Lever, apply_lever, lever_words
from server.advise.needed import new_harms
from server.domain.errors import InputError
from server.domain.topology import generator_can_energise
from server.simulate.harm_told import HarmTold
from server.simulate.results import Run
from server.simulate.run import simulate
from server.simulate.verdict import into_outage
from server.simulate.weighed import soft_harms


@dataclass(frozen=True)
class GoneWithout:
    """The gravest harm of a run that holds, with the lever that keeps it off where one does."""

    sentence: str
    command: str = ""
    lever: Lever | None = None


def gone_without(run: Run) -> GoneWithout | None:
    """What a run that holds costs people; None where no harm of weight comes."""
    weighty, _ = soft_harms(run.scenario, run.verdict.harms)
    if not weighty:
        return None
    harm = weighty[0]
    since = ", from" if harm.kind == "water" else ""
    told = f"But {harm.clause}{since} {into_outage(run.scenario, harm.at)}."
    for lever in _choices(run, harm):
        try:
            after = simulate(*apply_lever(run.site, run.scenario, lever))
        except InputError:
            continue
        holds = all_holds(after)
        still = soft_harms(after.scenario, after.verdict.harms)[0]
        if not holds or new_harms(run, after) or any(_key(h) == _key(harm) for h in still):
            continue
        words = lever_words(run.site, lever)
        name = run.site.circuit(lever.circuit_id).name
        by_choice = "this scenario keeps it off" if lever.here else "it is set to stay off"
        return GoneWithout(
            f"{told} That is by choice: {by_choice} while the generator runs. {words}, and "
            f"{holds} with {name} on.",
            words,
            lever,
        )
    return GoneWithout(told)


def _key(harm: HarmTold) -> tuple[str, str]:
    return harm.kind, harm.element_id


def _choices(run: Run, harm: HarmTold) -> Iterator[Lever]:
    """Levers that give power to what a choice keeps off though a set could feed it."""
    kept = {k.circuit_id for k in run.scenario.kept_off}
    for circuit_id in circuits_of(run, harm):
        circuit = run.site.circuit(circuit_id)
        if not generator_can_energise(run.site, circuit.panel_id):
            continue
        if circuit_id in kept:
            yield Lever("on", circuit_id, here=True)
        elif circuit.outage_role == "off":
            yield Lever("on", circuit_id)
