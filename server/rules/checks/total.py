"""Shares of a branch circuit: what is fastened beside outlets, what plugs in, and their total."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from server.domain.appliance import Appliance
from server.domain.circuit import Circuit
from server.domain.finding import Finding
from server.rules.checks.asked import DROPPED_A, by_pole, fastened_in_place, past_half, short_of
from server.rules.checks.cooling import ROOM_COOLING
from server.rules.checks.drawn import nameplate_a
from server.rules.checks.made import made
from server.rules.cords import is_plugged, on_a_cord
from server.rules.demand.circuit_loads import category_of, kind_row, left_out_beside
from server.rules.editions import Rulebook
from server.rules.tables import read_toml
from server.rules.words import a_rating, listed, percent


def total_checks(
    circuit: Circuit, device_a: float, between_v: float, rules: Rulebook, *, held: bool = False
) -> Iterator[Finding]:
    """Findings about shares of a circuit that what is on it may take.

    ``device_a`` is what is asked of its breaker for certain; where that is above it already, its
    own finding tells so. ``held``: a manager lets on no more than that of it all at one time.
    """
    if not short_of(device_a, circuit.breaker_a):
        if not held:
            yield from _at_one_time(circuit, between_v, rules)
        yield from _fastened_past_half(circuit, between_v, rules)
    yield from _one_on_a_plug(circuit, between_v, rules)


def _at_one_time(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """What stays where it is put adds up past the breaker, though each may be unplugged."""
    if circuit.breaker_a > rules.value("plug_device_most_a"):
        return
    beside = left_out_beside(circuit.appliances)
    fastened = fastened_in_place(circuit)
    for carried in by_pole(circuit):
        stays = [a for a in carried if a not in beside and (a in fastened or _stays(a))]
        drawn_a = sum(nameplate_a(a, between_v) for a in stays)
        if len(stays) < 2 or not short_of(drawn_a, circuit.breaker_a):
            continue
        yield made(
            "device-below-load",
            "note",
            circuit.id,
            text=f"{_names(stays)} on {circuit.name} draw {drawn_a:.1f} A together; it has "
            f"{a_rating(circuit.breaker_a)} breaker, which opens where they run at one time.",
            mend="Keep them from running at one time, or give what draws most a circuit of its "
            "own.",
            figure=rules.figure("branch_total"),
            value=drawn_a,
            limit=circuit.breaker_a,
            unit="A",
        )
        return


def _fastened_past_half(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """Where lights or plugs are on a circuit too, what is fastened may take half of it."""
    figure = rules.figure("fastened_share_most")
    if circuit.breaker_a > rules.value("plug_device_usual_a"):
        return
    beside = left_out_beside(circuit.appliances)
    every = fastened_in_place(circuit)
    for carried in by_pole(circuit):
        fastened = [a for a in carried if a in every and a not in beside]
        others = [a for a in carried if a not in every and _is_light_or_plug(a)]
        if not others or not past_half(circuit, fastened, between_v, rules):
            continue
        most_a = figure.value * circuit.breaker_a
        drawn_a = sum(nameplate_a(a, between_v) for a in fastened)
        yield made(
            "fastened-past-half",
            "warning",
            circuit.id,
            text=f"{_names(fastened)} on {circuit.name} {_draw(fastened)} {drawn_a:.1f} A. What "
            f"is fastened in place may take {percent(figure.value)} of a circuit that feeds "
            f"lights or plugs too, {most_a:g} A here; {_names(others)} "
            f"{'is' if len(others) == 1 else 'are'} on it.",
            mend=f"Give {_names(fastened)} a circuit apart from lights and plugs. "
            "An older circuit may stand as it was built: ask.",
            figure=figure,
            value=drawn_a,
            limit=most_a,
            unit="A",
        )
        return


def _one_on_a_plug(circuit: Circuit, between_v: float, rules: Rulebook) -> Iterator[Finding]:
    """One thing that plugs in and takes more than its share of a circuit of several outlets.

    A note: what is sold with a plug may be listed for all of its circuit, and a single outlet of
    its own has no such share (210.22).
    """
    figure = rules.figure("plugged_share_most")
    most_a = figure.value * circuit.breaker_a
    if circuit.breaker_a > rules.value("plug_device_most_a"):
        return
    for appliance in circuit.appliances:
        drawn_a = nameplate_a(appliance, between_v)
        alone = len(circuit.appliances) == 1 and not _is_carried_about(appliance)
        if alone or not _is_one_on_a_cord(appliance):
            continue
        # 1,500 W, half an ampere past 80 % of 15 A, is what is sold everywhere with a 15 A plug.
        past = drawn_a > most_a + DROPPED_A
        if past and not short_of(drawn_a, circuit.breaker_a):
            yield made(
                "plugged-past-share",
                "note",
                circuit.id,
                text=f"{appliance.name} on {circuit.name} draws {drawn_a:.1f} A. One thing that "
                f"plugs in may take {percent(figure.value)} of a circuit of several outlets, "
                f"{most_a:g} A here.",
                mend="Give it an outlet on a circuit of its own, or one that draws less: over "
                "hours the breaker runs hot and may open.",
                figure=figure,
                value=drawn_a,
                limit=most_a,
                unit="A",
            )
            return


def _stays(appliance: Appliance) -> bool:
    """Whether it stands in one place and runs by itself, or for hours, though it has a plug."""
    row = kind_row(appliance.kind) or {}
    tool = category_of(appliance) == "individual"
    return tool or bool(row.get("own_circuit") or row.get("for_hours"))


def _is_carried_about(appliance: Appliance) -> bool:
    """Whether it goes from outlet to outlet, so that its circuit has several."""
    return not _stays(appliance) or bool((kind_row(appliance.kind) or {}).get("for_hours"))


def _is_one_on_a_cord(appliance: Appliance) -> bool:
    """Whether it is one thing that plugs in and is not fastened, and no sum of outlets.

    A room cooling unit and a dryer have their own rules.
    """
    outlets = read_toml("protection")["nothing_else"]["outlets"]
    own_rule = appliance.kind in ROOM_COOLING or category_of(appliance) in ("dryer", "fastened")
    return is_plugged(appliance.kind) and not own_rule and appliance.kind not in outlets


def _is_light_or_plug(appliance: Appliance) -> bool:
    return on_a_cord(appliance.kind) or (kind_row(appliance.kind) or {}).get("outside") == (
        "luminaire"
    )


def _names(appliances: Iterable[Appliance]) -> str:
    return listed([a.name for a in appliances])


def _draw(appliances: list[Appliance]) -> str:
    return "draws" if len(appliances) == 1 else "draw"
