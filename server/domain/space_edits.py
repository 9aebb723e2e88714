"""Moving a breaker to a space of a panel; what stood there changes places with it."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.backfed import backfed_in
from server.domain.circuit import Circuit
from server.domain.edits import move_circuit, with_changes
from server.domain.errors import EditError
from server.domain.panel import Panel
from server.domain.site import Site
from server.domain.supply import Feeder, SolarArray, TransferSwitch


@dataclass(frozen=True)
class Placing:
    """A site after a breaker was moved. ``displaced`` are ids of those that made way for it."""

    site: Site
    displaced: tuple[str, ...] = ()


def other_breakers(site: Site, panel: Panel) -> tuple[Feeder | SolarArray | TransferSwitch, ...]:
    """Feeders, solar and interlocks whose breakers are in this panel."""
    return (
        *(f for f in site.feeders if f.from_id == panel.id),
        *(a for a in site.solar if a.panel_id == panel.id),
        *backfed_in(site, panel.id),
    )


def spaces_from(circuit: Circuit, space: int) -> tuple[int, ...]:
    """The spaces a breaker takes with its upper one here."""
    return (space,) if circuit.poles == 1 else (space, space + 2)


def put_in_space(site: Site, circuit_id: str, panel_id: str, space: int) -> Placing:
    """Move a breaker so that its upper pole is in this space.

    Whole breakers of the same panel that stand there go to the spaces it leaves, pole for pole.
    In another panel the place must be free.

    Raises
    ------
    EditError       When the place cannot be taken; the message says what is in the way.
    SiteFileError   When the site cannot take it.
    """
    circuit, panel = site.circuit(circuit_id), site.panel(panel_id)
    wanted = spaces_from(circuit, space)
    _refuse_outside(circuit, panel, wanted)
    if circuit.panel_id == panel_id and circuit.spaces == wanted and circuit.half is None:
        return Placing(site)
    there = _in_the_way(site, circuit, panel, wanted)
    if not there:
        return Placing(move_circuit(site, circuit_id, panel_id, spaces=wanted))
    if circuit.panel_id != panel_id or circuit.half is not None:
        names = " and ".join(c.name for c in there)
        raise EditError(
            f"{names} stands in space {_said(wanted)} of {panel.name}. Free it first.",
            field="space",
        )
    return _changed_places(site, circuit, panel, wanted, there)


def _refuse_outside(circuit: Circuit, panel: Panel, wanted: tuple[int, ...]) -> None:
    if wanted[0] < 1 or wanted[-1] > panel.spaces:
        raise EditError(
            f"{circuit.name} would stand in space {_said(wanted)}, but {panel.name} has spaces "
            f"1 to {panel.spaces}. Choose one of those.",
            field="space",
        )


def _in_the_way(
    site: Site, circuit: Circuit, panel: Panel, wanted: tuple[int, ...]
) -> tuple[Circuit, ...]:
    for part in other_breakers(site, panel):
        if set(part.spaces) & set(wanted):
            raise EditError(
                f"The breaker of {part.name} stands in space {_said(part.spaces)} of "
                f"{panel.name}. It is moved on the sheet of the supply.",
                field="space",
            )
    return tuple(
        c
        for c in site.circuits
        if c.panel_id == panel.id and c.id != circuit.id and set(c.spaces) & set(wanted)
    )


def _changed_places(
    site: Site,
    circuit: Circuit,
    panel: Panel,
    wanted: tuple[int, ...],
    there: tuple[Circuit, ...],
) -> Placing:
    left = sorted(set(circuit.spaces) - set(wanted))
    asked = sorted(set(wanted) - set(circuit.spaces))
    goes = dict(zip(asked, left, strict=True))
    placed = {circuit.id: circuit.model_copy(update={"spaces": wanted})}
    for other in there:
        whole = other.half is None and all(space in goes for space in other.spaces)
        spaces = tuple(goes.get(space, 0) for space in other.spaces)
        if not whole or (other.poles == 2 and spaces[1] != spaces[0] + 2):
            raise EditError(
                f"{other.name} in space {_said(other.spaces)} of {panel.name} cannot change "
                f"places with {circuit.name}. Move it away first.",
                field="space",
            )
        placed[other.id] = other.model_copy(update={"spaces": spaces})
    circuits = tuple(placed.get(c.id, c) for c in site.circuits)
    return Placing(with_changes(site, circuits=circuits), tuple(c.id for c in there))


def _said(spaces: tuple[int, ...]) -> str:
    return ", ".join(map(str, spaces))
