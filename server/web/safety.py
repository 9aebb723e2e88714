"""The cautions, and which of them each sheet carries.

A caution is text on the page: nothing hides it on screen, and it is always printed. ``place``
says where it belongs; a page names the keys it needs and ``base.html`` prints them in its footer.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One caution: a head in bold, and what to do."""

    key: str
    place: str
    head: str
    text: str


_ALL = (
    Caution(
        "planning-aid",
        "first use, every export",
        "Planning aid only.",
        "It does not approve wiring. A licensed electrician, your utility and the local "
        "authority decide.",
    ),
    Caution(
        "one-changeover",
        "generator entry",
        "One approved changeover",
        "must make it impossible to join generator and utility. Never feed a house through an "
        "outlet or a two-ended cord: it can kill neighbours and line crews.",
    ),
    Caution(
        "exhaust",
        "generator entry",
        "Exhaust kills without smell.",
        "Run outdoors, 20 ft or more away, blowing away from doors, windows and vents. Never in "
        "a garage, porch or tent, even open.",
    ),
    Caution(
        "co-alarms",
        "scenario header, outage card",
        "Working CO alarms",
        "with batteries on each level and near beds. Headache, dizziness, nausea: everybody out, "
        "then call 911.",
    ),
    Caution(
        "siting",
        "fixed siting",
        "Distances for a fixed set",
        "come from the maker, the fire standard and local rules. All apply; use the largest.",
    ),
    Caution(
        "bond",
        "bond question",
        "One bond.",
        "Neutral and ground join at exactly one intended point for the source in use. Do not "
        "remove or add a strap on our advice.",
    ),
    Caution(
        "grounding",
        "grounding",
        "Grounding depends on whether the neutral is switched.",
        "Follow the electrician’s drawing; a rod alone is not protection.",
    ),
    Caution(
        "moving",
        "assignment board",
        "Moving a circuit",
        "may require new protection, wire and a permit.",
    ),
    Caution(
        "multiwire",
        "multiwire flag",
        "These two share a neutral.",
        "They move together, on opposite legs, with one handle.",
    ),
    Caution(
        "solar",
        "solar",
        "Ordinary solar inverters",
        "must not share a bus with a generator. Here they stay on Normal.",
    ),
    Caution(
        "throwing",
        "switchable control",
        "At the handle:",
        "open the load breakers, move the handle fully, then close one at a time. It is dead on "
        "NORMAL while the grid is out.",
    ),
    Caution(
        "live-parts",
        "any panel sheet",
        "Parts stay live with the main off.",
        "Do not open covers. Lock out and tag both sources before work.",
    ),
    Caution(
        "tripped",
        "overload result",
        "A tripped breaker is a message.",
        "Remove load; do not reset twice.",
    ),
    Caution(
        "fuel-store",
        "fuel entry",
        "Stored fuel",
        "is limited locally (often 25 gal or less, 5 gal cans, outside living space). Keep it "
        "from pilots and sparks.",
    ),
    Caution(
        "refuel",
        "refuel slot",
        "Refuelling:",
        "shut down, cool, wipe spills, no smoking, then fill. Never while running. In the dark, "
        "two people.",
    ),
    Caution(
        "propane",
        "propane",
        "Propane:",
        "never indoors; never warm a tank with flame or electric heat. The supplier sizes the "
        "tank for cold.",
    ),
    Caution(
        "gas",
        "gas",
        "Gas:",
        "meter, regulator and pipe by a licensed gas fitter. Smell gas: leave, then call.",
    ),
    Caution(
        "oil", "oil slot", "Oil:", "check the level with the set stopped and level. Hot oil burns."
    ),
    Caution(
        "medical",
        "medical card",
        "Medical equipment:",
        "ask clinician and supplier for a written backup plan. Registering with the utility does "
        "not promise quicker power. Keep a battery and a place to go.",
    ),
    Caution(
        "water-heater",
        "water heater off or on",
        "Water heater:",
        "power it only when full. Reheating expands water; the relief pipe must be clear and "
        "expansion control fitted where valves close the system. Hot water can scald.",
    ),
    Caution(
        "tub",
        "tub or pool",
        "Tub or pool:",
        "its dedicated protection stays in force on any bus.",
    ),
    Caution(
        "cooking",
        "cooking or heat",
        "On a generator,",
        "no unattended cooking or space heaters; no camp stoves or grills indoors.",
    ),
    Caution(
        "food",
        "food clock",
        "Above 40 °F for two hours:",
        "discard perishables. Do not taste.",
    ),
    Caution("flood", "flood", "Wet equipment:", "do not touch what is or was wet."),
    Caution(
        "restoration",
        "restoration",
        "Before power returns,",
        "turn heavy loads off; leave one lamp on; bring back one at a time.",
    ),
    Caution(
        "away",
        "away mode",
        "Running unattended for days",
        "can empty fuel and oil. Arrange a person.",
    ),
    Caution(
        "simulated",
        "result pages",
        "Simulated peaks",
        "do not replace a code calculation or measured commissioning.",
    ),
)

CAUTIONS: dict[str, Caution] = {caution.key: caution for caution in _ALL}


def cautions(*keys: str) -> tuple[Caution, ...]:
    """The cautions with these keys, in this order, each once.

    Raises
    ------
    KeyError   For a key that is not in the list.
    """
    return tuple(CAUTIONS[key] for key in dict.fromkeys(keys))
