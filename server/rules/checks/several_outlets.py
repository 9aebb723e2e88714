"""Ratings of a branch circuit that feeds several outlets, wired or for plugs: 210.18 and 210.23."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.rules.checks.made import made
from server.rules.checks.protection import PLUGS_AND_LIGHTS
from server.rules.cords import on_a_cord
from server.rules.demand.circuit_loads import category_of, kind_row
from server.rules.editions import Rulebook
from server.rules.ocpd import outlets_ratings_a, smallest_breaker_a, standard_or_none_a
from server.rules.words import a_rating, listed

ONE_UNIT = ("central_heat", "heat_pump", "cooling", "air_handler")
RANGE = ("range-oven", "range-burners")
COOKS = ("microwave", "warming-drawer")
"""Kinds that cook, are built in and are counted apart from ranges."""
HEAT_RATING_A = 25.0
"""Besides the others, for outlets of fixed heat alone: 424.3(A) of 2017, 424.4(A) since."""


def of_several(circuit: Circuit) -> bool:
    """Whether more than one outlet is on it, and not motors or cooling alone.

    The parts of a range, or of a furnace or heat pump with its strip and fan, are one. Motors and
    cooling by themselves go by Articles 430 and 440 (210.1), cars by 625.40.
    """
    if all(_is_motor(a.load_type, category_of(a)) for a in circuit.appliances):
        return False
    if any(category_of(a) == "vehicle" for a in circuit.appliances):
        return False
    units = {
        "range"
        if a.kind in RANGE
        else "unit"
        if category_of(a) in ONE_UNIT or (kind_row(a.kind) or {}).get("of_heater")
        else a.id
        for a in circuit.appliances
    }
    return len(units) > 1


def most_of_several_a(circuit: Circuit, rules: Rulebook) -> float:
    """The largest rating open to the outlets of a circuit. [A]

    40 and 50 A feed in a dwelling nothing but cooking appliances fastened in place, and a dryer's
    outlet stands behind 30 A.
    """
    if any(category_of(a) == "dryer" for a in circuit.appliances):
        return rules.value("dryer_device_most_a")
    if circuit.place == "dwelling" and not _cooks(circuit):
        return rules.value("outlets_device_most_a")
    return outlets_ratings_a()[-1]


def next_of_several_a(circuit: Circuit, needed_a: float, rules: Rulebook) -> float | None:
    """The smallest rating open to its outlets that a load fits, None where none is. [A]"""
    if _heats_alone(circuit):
        return standard_or_none_a(needed_a)
    most_a = most_of_several_a(circuit, rules)
    return next((r for r in outlets_ratings_a() if needed_a <= r <= most_a), None)


def several_outlets_checks(circuit: Circuit, needed_a: float, rules: Rulebook) -> Iterator[Finding]:
    """A circuit of several outlets at a rating that is not for them.

    ``needed_a`` is what its load asks of a breaker. What heaters, dryers, plugs and lights ask of
    theirs is told with them.
    """
    if not of_several(circuit) or _told_elsewhere(circuit, rules):
        return
    device_a, ratings = circuit.breaker_a, outlets_ratings_a()
    known = {*ratings, smallest_breaker_a(rules.edition)}
    if _heats_alone(circuit):
        known.add(HEAT_RATING_A)
    names = listed([a.name for a in circuit.appliances])
    if device_a not in known:
        figure, limit_a = rules.figure("outlets_ratings"), ratings[-1]
        rule = f"of {', '.join(f'{r:g}' for r in ratings[:-1])} or {ratings[-1]:g} A"
    elif device_a > most_of_several_a(circuit, rules):
        figure = rules.figure("outlets_device_most_a")
        limit_a = figure.value
        rule = (
            f"of {limit_a:g} A or less in a dwelling, but for cooking appliances fastened in place"
        )
    else:
        return
    fits_a = next_of_several_a(circuit, needed_a, rules)
    advised = None if fits_a is None else Advised("breaker", amps=fits_a)
    wire = " with wire for it" if fits_a and fits_a > device_a else ""
    yield made(
        "several-outlets-rating",
        "note" if _unsure(circuit) else "warning",
        circuit.id,
        text=f"{circuit.name} feeds {names} from {a_rating(device_a)} breaker. A branch circuit "
        f"of several outlets is {rule}.",
        mend=f"Use {a_rating(fits_a)} breaker{wire}, or give each a circuit of its own."
        if fits_a
        else "Give each a circuit of its own, with the breaker that it asks for.",
        figure=figure,
        value=device_a,
        limit=limit_a,
        unit="A",
        advised=advised,
    )


def _is_motor(load_type: str, category: str) -> bool:
    return load_type == "motor" or category in ("cooling", "heat_pump")


def _unsure(circuit: Circuit) -> bool:
    """Whether a kind tells nothing, or all plug in: tools, in what may be no part of a dwelling."""
    appliances = circuit.appliances
    return any(category_of(a) == "unknown" for a in appliances) or all(
        on_a_cord(a.kind) for a in appliances
    )


def _cooks(circuit: Circuit) -> bool:
    return all(category_of(a) == "cooking" or a.kind in COOKS for a in circuit.appliances)


def _heats_alone(circuit: Circuit) -> bool:
    return all(category_of(a) == "room_heat" for a in circuit.appliances)


def _told_elsewhere(circuit: Circuit, rules: Rulebook) -> bool:
    """Whether another finding tells of so large a breaker, or so small a one."""
    categories = [category_of(a) for a in circuit.appliances]
    if circuit.breaker_a < outlets_ratings_a()[0]:
        return True
    large = circuit.breaker_a > rules.value("outlets_device_most_a")
    if large and ("dryer" in categories or categories.count("room_heat") > 1):
        return True
    return circuit.breaker_a > rules.value("plug_device_usual_a") and any(
        a.volts == 120 and (on_a_cord(a.kind) or category_of(a) in PLUGS_AND_LIGHTS)
        for a in circuit.appliances
    )
