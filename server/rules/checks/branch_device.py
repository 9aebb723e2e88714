"""The most a branch breaker may be for what is on it, and whether its rating is a standard one."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.circuit import Circuit
from server.domain.finding import Advised, Finding
from server.domain.panel import Panel
from server.domain.site import Site
from server.rules.checks.drawn import nameplate_a
from server.rules.checks.made import made
from server.rules.demand.circuit_loads import category_of
from server.rules.editions import Figure, Rulebook, table_cite
from server.rules.ocpd import next_standard_a, standard_ratings_a
from server.rules.standard_ratings import is_standard, nearest_words, socket_words
from server.rules.words import a_rating, listed

RESISTANCE_TANK = "water-heater"


def device_checks(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """A breaker above what its appliance allows, or of a rating that is not made."""
    most = _most(circuit, between_v, rules)
    if most is not None and circuit.breaker_a > most[0]:
        most_a, figure, what = most
        advised = Advised("breaker", amps=most_a)
        yield made(
            "breaker-above-appliance",
            "warning",
            circuit.id,
            text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker; {most_a:g} A is "
            f"the most for {what}.",
            mend=f"Use a breaker of {advised}, unless a plate allows more.",
            figure=figure,
            value=circuit.breaker_a,
            limit=most_a,
            unit="A",
            advised=advised,
        )
    yield from _several_heaters(circuit, rules)
    if not is_standard(circuit.breaker_a, rules.edition):
        yield _not_standard(circuit, rules)


def past_its_most(circuit: Circuit, needed_a: float, between_v: float, rules: Rulebook) -> str:
    """The most a device may be for what is on a circuit, in words, where the load asks for more.

    Empty where a device for ``needed_a`` may stand there.
    """
    found = _most(circuit, between_v, rules)
    if len(_heaters(circuit)) > 1:
        figure = rules.figure("heat_outlets_device_most_a")
        if found is None or figure.value < found[0]:
            found = figure.value, figure, "several heaters on one circuit"
    if found is None or needed_a <= found[0]:
        return ""
    return f"{found[0]:g} A is the most for {found[2]}"


def _heaters(circuit: Circuit) -> list[str]:
    return [a.name for a in circuit.appliances if category_of(a) == "room_heat"]


def _several_heaters(circuit: Circuit, rules: Rulebook) -> Iterator[Finding]:
    """Two or more outlets of fixed heat stand behind a small device; one alone behind any."""
    heaters = _heaters(circuit)
    most = rules.figure("heat_outlets_device_most_a")
    if len(heaters) < 2 or circuit.breaker_a <= most.value:
        return
    yield made(
        "breaker-above-appliance",
        "warning",
        circuit.id,
        text=f"{circuit.name} has {a_rating(circuit.breaker_a)} breaker and feeds "
        f"{listed(heaters)}; {most.value:g} A is the most where one circuit feeds several heaters.",
        mend=f"Share them out on circuits of {most.value:g} A or less, or give each its own.",
        figure=most,
        value=circuit.breaker_a,
        limit=most.value,
        unit="A",
    )


def _most(circuit: Circuit, between_v: float, rules: Rulebook) -> tuple[float, Figure, str] | None:
    """Largest breaker of what is alone on a circuit, its figure and its words. [A]"""
    categories = {category_of(a) for a in circuit.appliances}
    if categories == {"cooking"}:
        figure = rules.figure("range_device_most_a")
        return figure.value, figure, "a range, cooktop or oven on one breaker"
    if len(circuit.appliances) != 1:
        return None
    (only,) = circuit.appliances
    if categories == {"dryer"}:
        figure = rules.figure("dryer_device_most_a")
        return figure.value, figure, f"{only.name}, whose cord and outlet are made for that"
    if only.kind == RESISTANCE_TANK:
        figure = rules.figure("heater_device_most_factor")
        drawn = nameplate_a(only, between_v)
        least = rules.value("small_appliance_device_a")
        most = max(
            least, next_standard_a(min(round(figure.value * drawn, 6), standard_ratings_a()[-1]))
        )
        return most, figure, f"{only.name}, at 150 % of its {drawn:.1f} A and the next size up"
    return None


def main_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Mains and feeder breakers of a rating that breakers do not come in."""
    told = [(s.id, s.name, "a main", s.main_a) for s in site.services]
    told += [
        (p.id, p.name, "a main", p.main_a)
        for p in site.panels
        if p.main_a is not None and not _same_as_service(site, p)
    ]
    told += [(f.id, f.name, "a breaker", f.breaker_a) for f in site.feeders if f.breaker_a]
    for element_id, name, what, amps in told:
        if is_standard(amps, rules.edition):
            continue
        class_of = socket_words(amps)
        class_of = f" {class_of}" if class_of else ""
        yield made(
            "main-not-standard",
            "note",
            element_id,
            text=f"{name} is entered with {what} of {amps:g} A, which is not a standard rating; "
            f"the nearest: {nearest_words(amps, rules.edition)}.{class_of}",
            mend="Read the number on its handle again; one that can be set shows what it is set "
            "to.",
            figure=table_cite("ratings", rules.edition),
        )


def _same_as_service(site: Site, panel: Panel) -> bool:
    """Whether a panel's main is the service's own, entered for both."""
    mains = {s.id: s.main_a for s in site.services}
    return any(
        f.breaker_a is None and mains.get(f.from_id) == panel.main_a
        for f in site.feeders_into.get(panel.id, ())
    )


def _not_standard(circuit: Circuit, rules: Rulebook) -> Finding:
    return made(
        "breaker-not-standard",
        "warning",
        circuit.id,
        text=f"{circuit.name} is entered with {a_rating(circuit.breaker_a)} breaker, which is not "
        f"a standard rating; the nearest: {nearest_words(circuit.breaker_a, rules.edition)}.",
        mend="Read the number on its handle again.",
        figure=table_cite("ratings", rules.edition),
    )
