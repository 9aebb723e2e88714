"""Motor starts that a set cannot carry, as findings."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.coming_on import TOGETHER_S
from server.advise.plan_harms import medical_of
from server.advise.plan_pits import has_pit
from server.advise.plan_task import joined
from server.advise.starts import DIP_OVER, Motor, SetStarts, Start
from server.domain.behaviour import RoomUnit
from server.domain.finding import Finding

_PRACTICE = "Common practice, no source."
_MOST_PLACES = 4


@dataclass(frozen=True)
class Place:
    """A field of an appliance where what a step asks for is entered, and what its button says."""

    words: str
    circuit_id: str
    appliance_id: str
    field: str


def start_findings(found: tuple[SetStarts, ...]) -> tuple[Finding, ...]:
    """Starts that a set cannot carry, with what mends each, re-reckoned."""
    findings = []
    for one in found:
        for start in one.starts:
            if start.status != "over" or start.kind == "pair":
                continue
            if start.kind == "forced" and len(start.motors) == 1:
                continue
            findings.append(_finding(one, start))
            if start.kind == "forced":
                break
    return tuple(findings)


def _finding(one: SetStarts, start: Start) -> Finding:
    dip = f"{100.0 * start.dip:.0f} %"
    limit = one.generator.start_kva_limit
    most = _bears(one)
    if limit is not None and start.winding_kva > start.kva:
        wye = one.generator.system == "120/208"
        most += ", a third of that from one leg" if wye else ", half of that from one leg"
    if start.kind == "alone":
        motor = start.motors[0]
        text = (
            f"{motor.name} takes {start.kva:.1f} kVA as it starts, and the volts of "
            f"{one.generator.name} dip {dip}; it bears {most}. It may not start, and what else is "
            "on may drop out."
        )
        mend = (
            "Read its locked-rotor amps off the plate."
            if motor.guess
            else "Have a soft starter fitted, leave it off on the generator, or take a larger set."
        )
        return Finding("start-too-large", "warning", motor.circuit.id, text, mend, source=_PRACTICE)
    when = (
        "whenever their thermostat calls"
        if start.kind == "linked"
        else f"when {one.generator.name} takes over or their waits end after it"
    )
    text = (
        f"{start.names} start together {when}: {start.kva:.1f} kVA, a dip of {dip}; "
        f"{one.generator.name} bears {most}."
    )
    mend = linked_mend(start) if start.kind == "linked" else together_mend(one)
    return Finding("starts-together", "warning", one.generator.id, text, mend, source=_PRACTICE)


def _bears(one: SetStarts) -> str:
    limit = one.generator.start_kva_limit
    return f"{limit:g} kVA by its maker" if limit is not None else f"{100.0 * DIP_OVER:.0f} % dip"


def together_mend(one: SetStarts) -> str:
    """What mends a start of several at once: delays, where each motor alone then starts."""
    hardest = one.never_apart
    if hardest is None or hardest.status != "over":
        dip = f"{100.0 * hardest.dip:.0f} %" if hardest else "nothing"
        left = (
            "one motor alone"
            if hardest is None or hardest.kind == "alone"
            else f"{hardest.names}, which one thermostat calls"
        )
        return (
            f"Give each its own delay, {TOGETHER_S:g} s or more apart{_which_delays(one)}, where "
            "one can be set or an electrician can fit it (enter only what is really built in); "
            f"else {_apart_by_hand(one)}. The hardest start is then {left}, a dip of {dip}."
        )
    how = "by itself" if hardest.kind == "alone" else "called by one thermostat"
    cure = alone_mend(hardest) if hardest.kind == "alone" else linked_mend(hardest)
    return (
        f"Delays alone do not cure it: {hardest.names} {how} still dips "
        f"{100.0 * hardest.dip:.0f} %; the set bears {_bears(one)}. {cure}"
    )


def _apart_by_hand(one: SetStarts) -> str:
    """How a person keeps motors apart; an automatic set asks nobody when it takes over."""
    if one.generator.start == "automatic":
        return (
            "before an outage that is announced open the breakers of all but one, and close them "
            "one at a time once the set runs; one that nobody announced finds them all on"
        )
    return (
        "open the breakers of all but one before the set takes over, and close them one at a time "
        "once it runs"
    )


def _which_delays(one: SetStarts) -> str:
    """Which motors get the short delays, and that one within a least time off parts nothing.

    What keeps a pit dry or is relied on waits least of all.
    """
    motors = {m.name: m for s in one.starts if s.kind == "forced" for m in s.motors}
    rests_min = {
        name: m.appliance.behaviour.min_off_min
        for name, m in motors.items()
        if isinstance(m.appliance.behaviour, RoomUnit) and m.appliance.behaviour.min_off_min
    }
    first = [name for name, m in motors.items() if _cannot_wait(m)]
    words = ""
    if first and len(first) < len(motors):
        words = f", {joined(first)} with none or the shortest"
    if rests_min:
        longest = max(rests_min.values())
        whose = "" if len(rests_min) == len(motors) else f" for {joined(list(rests_min))}"
        words += f" and{whose} past the {longest:g} min that a compressor stays off anyway"
    return words


def _cannot_wait(motor: Motor) -> bool:
    """Whether a pit fills or somebody is without a device while a motor waits."""
    device = bool(medical_of(motor.circuit))
    return device or motor.circuit.load_class == "must_serve" or has_pit(motor.circuit)


def linked_mend(start: Start) -> str:
    """What cures a start of what one thermostat calls: no delay after a loss of power does."""
    return (
        f"Have soft starters fitted to {start.names}, take a larger set, leave one of them off "
        "while the set runs, or give each a thermostat of its own."
    )


def alone_mend(start: Start) -> str:
    """What cures a motor that the set cannot start by itself."""
    return (
        f"Have a soft starter fitted to {start.names}, take a larger set, or leave it off while "
        "the set runs."
    )


def start_places(one: SetStarts, start: Start) -> tuple[Place, ...]:
    """Where the mend of a start is entered: delays of all but one, figures, or soft starters."""
    bound = one.never_apart
    if start.kind == "forced" and (bound is None or bound.status != "over"):
        hardest = sorted(start.motors, key=lambda m: (_cannot_wait(m), -m.winding_kva))
        later = tuple(m for m in hardest[:-1] if not _cannot_wait(m))
        return _places("restart_delay_s", "the delay", later or tuple(hardest[:-1]))
    motors = start.motors if bound is None or start.kind != "forced" else bound.motors
    unread = tuple(m for m in motors if m.guess)
    if unread:
        return _places("locked_rotor_a", "the locked-rotor amps", unread)
    return _places("start_share", "the soft starter", motors)


def _places(field: str, what: str, motors: tuple[Motor, ...]) -> tuple[Place, ...]:
    return tuple(
        Place(f"Enter {what} of {m.name}", m.circuit.id, m.appliance.id, field)
        for m in motors[:_MOST_PLACES]
    )
