"""What a run asks for beside wire that carries it: a rating that is made, a least size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from server.rules.editions import Rulebook, table_cite
from server.rules.ocpd import fuse_ratings_a, outlets_cite, outlets_ratings_a, standard_ratings_a
from server.rules.standard_ratings import nearest_standard_a, nearest_words
from server.rules.tables import Metal, conductor, conductors
from server.rules.wiring.carrying import service_least_cmil
from server.rules.wiring.drop import legs_of_a_house
from server.rules.wiring.run import Run
from server.rules.words import amps


@dataclass(frozen=True)
class RunNote:
    """A sentence about a run. ``wrong`` is of what the code refuses, else it is to be seen to."""

    text: str
    wrong: bool = False


NO_HOUSE = (
    "{volts:g} V lie between no two legs of a house of 120 V: two hot wires without a neutral are "
    "taken. Where one of the two is a neutral, as of a leg of 277 V, it is as large as the hot and "
    "has to be looked at by itself."
)
"""What the bench takes a run of other volts for."""


def run_notes(
    run: Run, wires: Iterable[tuple[str, Metal]], device_a: float, rules: Rulebook
) -> tuple[RunNote, ...]:
    """Notes on a run of these sizes behind its device.

    >>> from server.rules.editions import rulebook
    >>> for one in run_notes(Run(50, 60), [("4", "copper")], 85, rulebook("2023")):
    ...     print(one.text)
    85 A is no standard rating (240.6(A)); the nearest are 80 A and 90 A.
    """
    found = [*_rating(device_a, rules)]
    if run.receptacles:
        found.extend(_outlets(device_a, rules))
    if run.service:
        found.extend(_service(wires, device_a, rules))
    if not run.two_wire and not legs_of_a_house(run.volts):
        found.append(RunNote(NO_HOUSE.format(volts=run.volts)))
    return tuple(found)


def _rating(device_a: float, rules: Rulebook) -> Iterator[RunNote]:
    if device_a in (*standard_ratings_a(), *fuse_ratings_a()):
        return
    near = nearest_standard_a(device_a, rules.edition)
    yield RunNote(
        f"{amps(device_a)} is no standard rating ({table_cite('ratings', rules.edition).section}); "
        f"the nearest {'are' if near[1:] else 'is'} {nearest_words(device_a, rules.edition)}."
    )


def _outlets(device_a: float, rules: Rulebook) -> Iterator[RunNote]:
    ratings = outlets_ratings_a()
    if device_a not in ratings:
        of = f"{', '.join(f'{a:g}' for a in ratings[:-1])} or {amps(ratings[-1])}"
        more = ": a larger one is for industry alone" if device_a > ratings[-1] else ""
        yield RunNote(
            f"A circuit of several outlets is one of {of} "
            f"({outlets_cite(rules).section}); {amps(device_a)} is none of them{more}.",
            wrong=True,
        )
    usual = rules.value("plug_device_usual_a")
    if device_a > usual:
        yield RunNote(
            f"Receptacles of 15 A or {amps(usual)} may not stand on {amps(device_a)} "
            f"({rules.figure('plug_outlet_rating').cite.section})."
        )


def _service(
    wires: Iterable[tuple[str, Metal]], device_a: float, rules: Rulebook
) -> Iterator[RunNote]:
    told = list(wires)
    for metal in dict.fromkeys(metal for _, metal in told):
        least_cmil = service_least_cmil(metal, rules)
        smallest = min(conductor(size).cmil for size, own in told if own == metal)
        if smallest > least_cmil:
            continue
        least = next(c.size for c in conductors() if c.cmil >= least_cmil)
        cite = rules.figure(f"service_least_{metal}_cmil").cite
        yield RunNote(
            f"Service conductors are not smaller than {least} {metal} ({cite.section}), but to a "
            "single branch circuit of limited load.",
            wrong=smallest < least_cmil,
        )
    dwelling = rules.value("service_least_a")
    if device_a < dwelling:
        yield RunNote(
            f"A service disconnect is of {amps(dwelling)} at least for a one-family dwelling and "
            f"{amps(rules.value('service_least_other_a'))} elsewhere, less for one or two circuits "
            f"alone; its wire carries as much ({rules.figure('service_wire_least').cite.section})."
        )
