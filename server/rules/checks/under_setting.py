"""Words of a demand above its rating where a manager's setting may stand for it."""

from __future__ import annotations

from server.rules.demand.watched import UnderSetting
from server.rules.demand.worksheet import round_half_up
from server.rules.editions import Rulebook


def setting_words(held: UnderSetting, rules: Rulebook) -> str:
    """What its setting and the rest come to, after the sentence of the load in full."""
    group, cite = held.group, rules.figure("managed_setting").cite
    local = f" {cite.local}" if cite.local else ""
    words = (
        f" {group.name} holds what passes here at {group.setting_a:g} A, as a continuous load "
        f"{round_half_up(held.asked_a)} A; what it cannot shed is calculated to carry "
        f"{round_half_up(held.beside_a)} A."
    )
    if not held.fits:
        return words
    return (
        f"{words} Both fit, and where it is listed for that, its setting may stand for the load "
        f"({cite.section}).{local}"
    )


def setting_mend(held: UnderSetting, volts: float, larger: str, rules: Rulebook) -> str:
    """What is left to do: ask, set it lower, or put more under it; ``larger`` is the other way."""
    group, section = held.group, rules.figure("managed_setting").cite.section
    if held.fits:
        return (
            "Show the authority that it is listed for this and its setting locked against "
            f"change{larger}"
        )
    if not held.beside_fits:
        over_va = (held.beside_a - held.limit_a) * volts
        return f"Put {over_va:,.0f} VA more of calculated load under {group.name}{larger}"
    return (
        f"Set {group.name} to {held.most_a:g} A or less, so that its setting may stand for the "
        f"load ({section}){larger}"
    )
