"""Transfer switches worked by hand: how a person takes a house over to a set, and back."""

from __future__ import annotations

from collections.abc import Iterator

from server.advise.plan_task import joined
from server.domain.backfed import backfed_breakers
from server.domain.site import Site
from server.domain.supply import Generator, TransferSwitch
from server.simulate.results import Run


def hand_switches(site: Site, generator: Generator) -> tuple[TransferSwitch, ...]:
    """The transfer switches that take a set's power and are worked by a person."""
    fed = {f.to_id for f in site.feeders if f.from_id == generator.id and f.to_input == "generator"}
    return tuple(t for t in site.transfer_switches if t.id in fed and not t.automatic)


def over_words(site: Site, generator: Generator) -> str:
    """How its switches are taken over to a set, in the order of the hands; empty without any.

    The loads are off as the set takes the house, and its breaker and the main are never closed at
    once: the plate of an interlock keeps them apart. Common practice, no source.
    """
    return joined([_over(site, switch) for switch in hand_switches(site, generator)])


def back_words(site: Site, generator: Generator) -> str:
    """How its switches go back to the utility; empty where none is worked by hand."""
    return joined([_back(site, switch) for switch in hand_switches(site, generator)])


def _over(site: Site, switch: TransferSwitch) -> str:
    if switch.kind == "handles":
        return f"turn the handles of {switch.name} to the generator one at a time"
    if switch.kind == "interlock":
        return (
            f"open the main and the load breakers{_of_panel(site, switch)}, slide the plate of "
            f"{switch.name} over and close the back-fed breaker of the generator"
        )
    return f"open the load breakers behind {switch.name} and throw it to the generator"


def _back(site: Site, switch: TransferSwitch) -> str:
    if switch.kind == "handles":
        return f"turn the handles of {switch.name} back to the utility one at a time"
    if switch.kind == "interlock":
        return (
            f"open the load breakers and the back-fed breaker{_of_panel(site, switch)}, slide the "
            f"plate of {switch.name} back and close the main"
        )
    return f"open the load breakers behind {switch.name} and throw it back to the utility"


def _of_panel(site: Site, switch: TransferSwitch) -> str:
    names = [
        site.panel(here).name for _, one, here in backfed_breakers(site) if one.id == switch.id
    ]
    return f" of {joined(names)}" if names else ""


def brought_words(generator: Generator) -> str:
    """How a person has a set running with nothing on it."""
    if generator.portable:
        return f"Wheel {generator.name} outdoors, plug its cord in, and start it with nothing on it"
    return f"Start {generator.name} with nothing on it, outdoors"


def ended(run: Run, generator: Generator, *, runs: bool) -> Iterator[str]:
    """What a person does with a set once the utility is back; nothing where it needs none.

    ``runs`` says whether its engine turns by then.
    """
    switched = back_words(run.site, generator)
    if generator.start != "by_hand" and not switched:
        return
    cools = f"let {generator.name} cool {generator.cool_down_min:g} min without load"
    rest = f"{cools}, then stop it" if runs else f"{generator.name} stands still by then"
    if runs and generator.start != "by_hand":
        rest += " unless it stops by itself"
    yield (
        f"Wait for steady volts, about {run.scenario.hand_return_min:g} min; "
        f"{f'change back by hand: {switched}' if switched else 'change back'}; {rest}."
    )
