"""What a person selects to run on a set, alone or beside what transfers to it by itself."""

from __future__ import annotations

from dataclasses import replace

from server.rules.demand.amp_lines import Continuous
from server.rules.demand.general import counted, open_questions
from server.rules.demand.inputs import Dwelling, Load
from server.rules.demand.legs import NeutralUse, Share, leg_sheet, with_other_season
from server.rules.demand.worksheet import LegRow, LegSheet, Line, Worksheet, finished
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V

NOT_TOGETHER = "not counted: heating and cooling do not run together, and the other is as large"
WITH_AUTOMATIC = ", and what transfers by itself"
"""Ends the title of what is selected on a set that something transfers to by itself as well."""


def selected(
    dwelling: Dwelling,
    loads: tuple[Load, ...],
    rules: Rulebook,
    *,
    beside: tuple[Load, ...] = (),
    instead: tuple[Load, ...] = (),
) -> Worksheet:
    """Sum of what the user selects to run together, each as told.

    ``beside`` is the smaller of heating and cooling, which never run together (220.60), and
    ``instead`` all that runs where it does.

    >>> from server.rules.editions import rulebook
    >>> loads = (Load("Refrigerator", "individual", 800), Load("Well pump", "individual", 1920))
    >>> selected(Dwelling("Set", 0), loads, rulebook("2023")).total_va
    2720.0
    """
    figure = rules.figure("generator_selected")
    lines = tuple(
        Line(
            d.name,
            d.quantity,
            d.va,
            "VA",
            d.total_va,
            figure.value,
            d.total_va * figure.value,
            figure.cite,
            d.note,
        )
        for d in loads
    )
    noncoincident = rules.figure("noncoincident_motor_factor").cite
    lines += tuple(counted(d, 0.0, noncoincident, NOT_TOGETHER) for d in beside)
    return finished(
        method="selected",
        title=f"{dwelling.name}, transfer by hand, what is selected",
        rules=rules,
        lines=lines,
        volts=dwelling.volts,
        continuous=Continuous(),
        existing_a=dwelling.existing_a,
        is_service=False,
        legs=_selected_legs(loads, instead, dwelling.volts, rules),
        missing=tuple(q for q in open_questions(dwelling) if "area" not in q.lower()),
        notes=("The user may choose what runs together; this is every circuit whose role is on.",),
    )


def beside_automatic(chosen: Worksheet, base: Worksheet, rules: Rulebook) -> Worksheet:
    """What is selected on a set with what transfers to it by itself, which run at one time.

    702.4 asks a set for the full load that is transferred, or what its management lets on, and for
    all that a person means to run at one time: where both hang on one set it is their sum.
    """
    figure = rules.figure("generator_selected")
    own = Line(
        "What transfers by itself",
        1,
        base.total_va,
        "VA",
        base.total_va,
        figure.value,
        base.total_va * figure.value,
        figure.cite,
        base.title,
    )
    return finished(
        method=chosen.method,
        title=f"{chosen.title}{WITH_AUTOMATIC}",
        rules=rules,
        lines=(own, *chosen.lines),
        volts=chosen.volts,
        continuous=Continuous(),
        existing_a=chosen.existing_a,
        is_service=False,
        legs=_with_legs_of(chosen.legs, base.legs),
        missing=tuple(dict.fromkeys((*base.missing, *chosen.missing))),
        notes=(
            *chosen.notes,
            f"What transfers by itself runs beside it, so both count ({figure.cite.words}).",
        ),
    )


def _with_legs_of(chosen: LegSheet | None, base: LegSheet | None) -> LegSheet | None:
    """The legs of both; the neutral as the sum of both, no less than what it carries."""
    if chosen is None or base is None:
        return None
    row = LegRow(
        "What transfers by itself",
        base.l1_a,
        base.l2_a,
        base.neutral_a,
        section=base.neutral_cite.section,
    )
    return replace(
        chosen,
        rows=(row, *chosen.rows),
        l1_a=base.l1_a + chosen.l1_a,
        l2_a=base.l2_a + chosen.l2_a,
        neutral_a=base.neutral_a + chosen.neutral_a,
        unbalance_a=base.unbalance_a + chosen.unbalance_a,
        to_neutral_va=base.to_neutral_va + chosen.to_neutral_va,
    )


def _selected_legs(
    loads: tuple[Load, ...], instead: tuple[Load, ...], volts: float, rules: Rulebook
) -> LegSheet | None:
    """What is selected, each wire in its fuller season; None on a set of one leg."""
    if volts <= LEG_V:
        return None

    def legs_of(running: tuple[Load, ...]) -> LegSheet:
        shares = [s for d in running for s in _shares(d)]
        return leg_sheet(shares, volts=volts, rules=rules, motor_raised=True)

    legs = legs_of(loads)
    if not instead:
        return legs
    return with_other_season(legs, legs_of(instead), "the smaller of heating and cooling")


def _shares(load: Load) -> tuple[Share, ...]:
    """What a load puts on the legs: of 240 V cooking and dryers 70 % on the neutral (220.61(B))."""
    name, va, part_va = load.name, load.total_va, load.neutral_va * load.quantity
    if load.single_leg:
        return (Share(name, va, load.volts, load.leg, "full"),)
    leg = load.leg if part_va else None
    if load.category in ("cooking", "dryer"):
        use: NeutralUse = "cooking_dryer"
        return (Share(name, va, load.volts, None, use, va_120=part_va, leg_120=leg),)
    if leg is None:
        return (Share(name, va, load.volts, None, "none"),)
    return (
        Share(name, va - part_va, load.volts, None, "none"),
        Share(f"{name}, 120 V part", part_va, LEG_V, leg, "full"),
    )
