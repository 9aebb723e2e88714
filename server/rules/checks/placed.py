"""Panels that are entered as standing where breakers may not: bathrooms, closets, stairs."""

from __future__ import annotations

import re
from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.panel import Panel
from server.rules.checks.made import made
from server.rules.editions import Rulebook

BESIDE = re.compile(
    r"\b(next to|outside|near|beside|behind|across from|opposite|adjoining|adjacent to)\b[^,;]*",
    re.I,
)
"""A place told by the one it lies beside is not that one."""
OFF_THE_STEPS = re.compile(
    r"\b(under|below|beneath|foot of|bottom of|head of|top of)\b[^,;]*?\b(stair|step)\w*", re.I
)
MISPLACED = (
    (
        "panel_in_bathroom",
        r"\b(bath(room)?s?|shower|powder|toilet|half[- ]bath|washroom|restroom|lavatory"
        r"|water[- ]closet|w\.?c\.?)\b",
        "in a dwelling’s bathroom or shower, nor where a basin stands beside a toilet",
    ),
    (
        "panel_in_closet",
        r"(?<!water )(?<!water-)\b(closet|wardrobe)",
        "near clothes that can burn, as in a closet",
    ),
    ("panel_over_steps", r"\bover\b.*\b(stair|step)", "over the steps of a stairway"),
)
"""Figures, the words of a place that tell of it, and what is said of it."""
STAIRS = re.compile(r"\b(stair|steps\b)", re.I)


def placed_checks(panel: Panel, rules: Rulebook) -> Iterator[Finding]:
    """A panel that is entered as standing where overcurrent devices may not."""
    where = BESIDE.sub("", panel.location)
    misplaced = [
        (name, why) for name, words, why in MISPLACED if re.search(words, where, re.IGNORECASE)
    ]
    for name, why in misplaced:
        yield made(
            "panel-misplaced",
            "warning",
            panel.id,
            text=f"{panel.name} is entered as standing in: {panel.location}. Breakers may not be "
            f"{why}.",
            mend="Ask an electrician what an old one there may keep; a new panel goes elsewhere.",
            figure=rules.figure(name),
        )
    over = any(name == "panel_over_steps" for name, _ in misplaced)
    if not over and STAIRS.search(OFF_THE_STEPS.sub("", where)):
        yield made(
            "panel-misplaced",
            "note",
            panel.id,
            text=f"{panel.name} is entered as standing at: {panel.location}. Breakers may not be "
            "over the steps of a stairway; over a landing or the floor beside it they may.",
            mend="Does one stand on the steps to reach it? Ask an electrician what an old one "
            "there may keep; a new panel goes elsewhere.",
            figure=rules.figure("panel_over_steps"),
        )
