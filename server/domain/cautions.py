"""The cautions: one wording for every page, print, table and file that shows them."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.scenario import Scenario
from server.domain.site import Site


@dataclass(frozen=True)
class Caution:
    """A caution: ``head`` is its first sentence, ``text`` the rest. Neither can be hidden."""

    key: str
    head: str
    text: str

    def __str__(self) -> str:
        return f"{self.head} {self.text}"


PLANNING_AID = Caution(
    "planning-aid",
    "Planning aid only.",
    "It does not approve wiring. A licensed electrician, your utility and the local authority "
    "decide.",
)
BACKFEED = Caution(
    "backfeed",
    "One approved changeover must make it impossible to join generator and utility.",
    "Never feed a house through an outlet or a two-ended cord: it can kill neighbours and line "
    "crews.",
)
EXHAUST = Caution(
    "exhaust",
    "Exhaust kills without smell.",
    "Run outdoors, 20 ft or more away, blowing away from doors, windows and vents. Never in a "
    "garage, porch or tent, even open.",
)
CO_ALARMS = Caution(
    "co-alarms",
    "Working CO alarms with batteries on each level and near beds.",
    "Headache, dizziness, nausea: everybody out, then call 911.",
)
SITING = Caution(
    "siting",
    "Distances from maker, fire standard and local rules all apply;",
    "use the largest.",
)
BOND = Caution(
    "bond",
    "Neutral and ground join at exactly one intended point for the source in use.",
    "Do not remove or add a strap on our advice.",
)
GROUNDING = Caution(
    "grounding",
    "Grounding depends on whether the neutral is switched.",
    "Follow the electrician’s drawing; a rod alone is not protection.",
)
MOVING = Caution(
    "moving",
    "Moving a circuit",
    "may require new protection, wire and a permit.",
)
MULTIWIRE = Caution(
    "multiwire",
    "These two share a neutral.",
    "They move together, on opposite legs, with one handle.",
)
SOLAR = Caution(
    "solar",
    "Ordinary solar inverters must not share a bus with a generator.",
    "Here they stay on Normal.",
)
THROWING = Caution(
    "throwing",
    "Open the load breakers, move the handle fully, then close one at a time.",
    "It is dead on NORMAL while the grid is out.",
)
LIVE_PARTS = Caution(
    "live-parts",
    "Parts stay live with the main off.",
    "Do not open covers. Lock out and tag both sources before work.",
)
OVERLOAD = Caution(
    "overload",
    "A tripped breaker is a message.",
    "Remove load; do not reset twice.",
)
FUEL = Caution(
    "fuel",
    "Local limits on stored fuel apply",
    "(often 25 gal or less, 5 gal cans, outside living space). Keep from pilots and sparks.",
)
REFUEL = Caution(
    "refuel",
    "Shut down, cool, wipe spills, no smoking, then fill.",
    "Never while running. In the dark, two people.",
)
PROPANE = Caution(
    "propane",
    "Propane: never indoors; never warm a tank with flame or electric heat.",
    "Supplier sizes tank for cold.",
)
GAS = Caution(
    "gas",
    "Gas: meter, regulator and pipe by a licensed gas fitter.",
    "Smell gas: leave, then call.",
)
OIL = Caution("oil", "Check oil level stopped and level.", "Hot oil burns.")
MEDICAL = Caution(
    "medical",
    "Ask clinician and supplier for a written backup plan.",
    "Registering with the utility does not promise quicker power. Keep battery and a place to go.",
)
WATER_HEATER = Caution(
    "water-heater",
    "Power a water heater only when full.",
    "Reheating expands water; relief pipe must be clear and expansion control fitted where valves "
    "close the system. Hot water can scald.",
)
TUB = Caution("tub", "Tub or pool:", "dedicated protection stays in force on any bus.")
COOKING = Caution(
    "cooking",
    "No unattended cooking or space heaters on generator;",
    "no camp stoves or grills indoors.",
)
FOOD = Caution("food", "Above 40 °F for two hours: discard perishables.", "Do not taste.")
FLOOD = Caution("flood", "Flood:", "do not touch equipment that is or was wet.")
RESTORATION = Caution(
    "restoration",
    "Turn heavy loads off before power returns;",
    "leave one lamp on; bring back one at a time.",
)
AWAY = Caution(
    "away",
    "Unattended multi-day running can empty fuel and oil.",
    "Arrange a person.",
)
RESULT = Caution(
    "result",
    "Simulated peaks do not replace code calculation",
    "or measured commissioning.",
)

_LONG_H = 24.0
_POURED = {"gasoline", "diesel"}

CAUTIONS: dict[str, Caution] = {
    caution.key: caution for caution in list(globals().values()) if isinstance(caution, Caution)
}

CODE_CAUTIONS = (PLANNING_AID, LIVE_PARTS, BOND, GROUNDING, RESULT)
"""Under every sheet of the published rules, on a page and in the terminal."""


def result_cautions(site: Site, scenario: Scenario | None, *, over: bool) -> tuple[Caution, ...]:
    """The cautions that stand under every result of a site and scenario, in print too."""
    found = [PLANNING_AID]
    if over:
        found.append(OVERLOAD)
    if site.generators:
        fuels = {g.fuel for g in site.generators}
        found += [BACKFEED, EXHAUST, CO_ALARMS, COOKING]
        found += [FUEL] * bool(fuels & _POURED)
        found += [PROPANE] * ("propane" in fuels) + [GAS] * ("natural_gas" in fuels)
    if any(c.load_class == "must_serve" for c in site.circuits):
        found.append(MEDICAL)
    if site.double_throws or any(t.handles for t in site.transfer_switches):
        found.append(THROWING)
    if site.solar:
        found.append(SOLAR)
    if scenario is not None and scenario.outages:
        found += [RESTORATION, FOOD, FLOOD]
        if site.generators:
            found.append(OIL)
        stops = bool(scenario.generator_stops) or scenario.oil_stop_min is not None
        if site.generators and (stops or scenario.span_h >= _LONG_H):
            found.append(REFUEL)
        if scenario.people == 0:
            found.append(AWAY)
    return (*found, RESULT)


def scenario_entry_cautions(site: Site, scenario: Scenario | None) -> tuple[Caution, ...]:
    """The cautions of a form in which outages, refuelling and oil stops may be entered."""
    found = [*result_cautions(site, scenario, over=False)[:-1], CO_ALARMS, RESTORATION, FOOD, FLOOD]
    if site.generators:
        found += [OIL, REFUEL]
    return (*dict.fromkeys(found), RESULT)
