"""What a required sign must say, as text to copy."""

from __future__ import annotations

from collections.abc import Iterable

from server.domain.finding import Sign
from server.domain.supply import Generator, SolarArray
from server.rules.editions import Rulebook

FUELS = {
    "propane": "PROPANE",
    "natural_gas": "NATURAL GAS",
    "gasoline": "GASOLINE",
    "diesel": "DIESEL",
}
BLANK = "____________________"


def emergency_disconnect_sign(rules: Rulebook) -> Sign:
    """The marking of a dwelling's emergency disconnect that is its service disconnect (230.85)."""
    colours = "White letters, 1/2 in high or more, on red, outside on its front. "
    return Sign(
        "EMERGENCY DISCONNECT,\nSERVICE DISCONNECT",
        f"{colours if rules.edition >= '2023' else ''}A meter disconnect ahead of the service "
        "disconnect says EMERGENCY DISCONNECT, METER DISCONNECT, NOT SERVICE EQUIPMENT; any other "
        "switch ahead of it EMERGENCY DISCONNECT, NOT SERVICE EQUIPMENT. Words from memory: read "
        "230.85.",
    )


def standby_sign(generators: Iterable[Generator], rules: Rulebook) -> Sign:
    """Type and place of each standby source (702.7(A)), with a blank for what is not entered."""
    stop = rules.on("emergency_disconnect")
    place = "DISCONNECT OR ENGINE STOP AT" if stop else "LOCATED AT"
    lines = ["STANDBY POWER SOURCE ON THIS SITE"]
    for one in generators:
        kind = f"{FUELS[one.fuel]} GENERATOR, {one.rated_kw:g} kW"
        lines += [f"{one.name.upper()}: {kind}", f"{place}: {BLANK}"]
    return Sign(
        "\n".join(lines),
        "Fill in the place. 702.7(A) says what it must tell, not in which words: these are our "
        "own; what it asks for is from memory.",
    )


def inlet_sign(*, bonded: bool) -> Sign:
    """The warning at a power inlet (702.7(C)), by whether what it feeds opens the neutral too."""
    system = "SEPARATELY DERIVED (BONDED NEUTRAL)"
    if not bonded:
        system = "NONSEPARATELY DERIVED (FLOATING NEUTRAL)"
    return Sign(
        f"WARNING:\nFOR CONNECTION OF A {system} SYSTEM ONLY",
        "Words from memory: read 702.7(C).",
    )


def power_source_sign(arrays: Iterable[SolarArray], generators: Iterable[Generator]) -> Sign:
    """The directory of sources at a service (705.10), with a blank for each place."""
    lines = ["CAUTION: MULTIPLE SOURCES OF POWER"]
    for one in arrays:
        lines += [f"{one.name.upper()}: SOLAR, {one.ac_kw:g} kW", f"DISCONNECT AT: {BLANK}"]
    for engine in generators:
        lines += [f"{engine.name.upper()}: STANDBY GENERATOR", f"DISCONNECT AT: {BLANK}"]
    return Sign("\n".join(lines), "Fill in the places. Words from memory: read 705.10.")


def rapid_shutdown_sign(rules: Rulebook) -> Sign:
    """The label of a building whose solar has rapid shutdown."""
    kind = "PHOTOVOLTAIC" if rules.edition < "2020" else "SOLAR PV"
    return Sign(
        f"{kind} SYSTEM EQUIPPED WITH RAPID SHUTDOWN\nSWITCH AT: {BLANK}",
        "White capitals, 3/8 in high or more, on red, with an outline of the roof that shows the "
        f"array. Words from memory: read {rules.figure('rapid_shutdown').cite.section}.",
    )
