"""Pits whose pump is in a plan: ground water comes by itself, waste as people use it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.advise.plan_task import Task, joined
from server.domain.appliance import Appliance
from server.domain.behaviour import SumpPump, WellPump
from server.domain.catalogue import KINDS, pumps_waste
from server.domain.cautions import FLOOD
from server.domain.circuit import Circuit


def pumps_pit(appliance: Appliance) -> bool:
    """Whether it empties a pit, of whatever water."""
    kind = KINDS.get(appliance.kind)
    by_kind = kind is not None and kind.harm == "sump"
    return by_kind or isinstance(appliance.behaviour, SumpPump)


def has_pit(circuit: Circuit) -> bool:
    """Whether a circuit feeds the pump of a pit."""
    return any(map(pumps_pit, circuit.appliances))


def has_sump(circuit: Circuit) -> bool:
    """Whether the pit of a pump on it fills by itself, so that its breaker comes first."""
    return any(isinstance(a.behaviour, SumpPump) for a in circuit.appliances)


def draws_water(appliance: Appliance) -> bool:
    """Whether the water of the house comes from its pump."""
    kind = KINDS.get(appliance.kind)
    return isinstance(appliance.behaviour, WellPump) or (kind is not None and kind.harm == "water")


def wastes_of(circuit: Circuit) -> list[str]:
    """Pumps on a circuit that empty a pit of what the house drains."""
    return [a.name for a in circuit.appliances if pumps_waste(a)]


def drains_words(what: str, names: list[str]) -> str:
    """What is done while the pump of a pit of waste stands; ``what`` says that it does."""
    back = "they have" if len(set(names)) > 1 else "it has"
    return (
        f"{what}: stop flushing and draining until {back} power again; the tank backs up into the "
        "house."
    )


def backs_up(dark: Iterable[Circuit]) -> Iterator[Task]:
    """That nothing is drained, where the pump of a pit of waste is on a circuit without power."""
    names = [name for c in dark for name in wastes_of(c)]
    if names:
        has = "has" if len(set(names)) == 1 else "have"
        what = f"{joined(names)} {has} no power while the utility is out"
        yield Task(None, drains_words(what, names), str(FLOOD))
