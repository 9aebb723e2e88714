"""Words of a demand above its rating where a manager's setting may stand for it."""

from __future__ import annotations

from server.rules.demand.standing import Standing
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import Rulebook


def setting_words(held: Standing, limit_a: float, rules: Rulebook) -> str:
    """What its setting and the rest come to, after the sentence of the load in full."""
    cite = rules.figure("managed_setting").cite
    local = f" {cite.local}" if cite.local else ""
    words = (
        f"{_what_it_holds(held)}; what it cannot shed is calculated to carry "
        f"{round_half_up(held.beside_a)} A."
    )
    if not held.fits(limit_a):
        return words
    asks = "" if held.place == "here" else "; that speaks of the conductors it measures"
    return (
        f"{words} Both fit, and where it is listed for that, its setting may stand for the load "
        f"({cite.section}{asks}).{local}"
    )


def _what_it_holds(held: Standing) -> str:
    set_a, asked_a = f"{held.group.setting_a:g} A", f"{round_half_up(held.setting_a)} A"
    if held.place == "here":
        return (
            f" {held.group.name} holds what passes here at {set_a}, as a continuous load {asked_a}"
        )
    if held.place == "ahead":
        return (
            f" {held.group.name} holds what passes {held.measured_at} ahead of here at {set_a}, so "
            f"no more here, as a continuous load {asked_a}"
        )
    return (
        f" {held.group.name} holds what passes {held.measured_at}, a part of this, at {set_a}, as "
        f"a continuous load {asked_a}; with the {round_half_up(held.rest_a)} A of the rest it is "
        f"{round_half_up(held.asked_a)} A"
    )


def setting_mend(held: Standing, limit_a: float, volts: float, larger: str, rules: Rulebook) -> str:
    """What is left to do: ask, set it lower, or put more under it; ``larger`` is the other way."""
    group, section = held.group, rules.figure("managed_setting").cite.section
    if held.fits(limit_a):
        return (
            "Show the authority that it is listed for this and its setting locked against "
            f"change{larger}"
        )
    if not held.beside_fits(limit_a):
        over_va = (held.beside_a - limit_a) * volts
        return f"Put {over_va:,.0f} VA more of calculated load under {group.name}{larger}"
    return (
        f"Set {group.name} to {held.most_a(limit_a)} A or less, so that its setting may stand for "
        f"the load ({section}){larger}"
    )
