"""Places where breakers may not stand: 240.24(D), (E) and (F), all from memory.

A bathroom is an area with a basin and a toilet, a tub or a shower (Article 100): a powder room too.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.builders import with_parts


def placed(location):
    """Severity and section of what is found of a panel at this place."""
    base = builders.normal_only_site(scenarios=())
    panels = tuple(p.model_copy(update={"location": location}) for p in base.panels)
    report = check_site(with_parts(base, panels=panels))
    return [(f.severity, f.section) for f in report.findings if f.code == "panel-misplaced"]


@pytest.mark.parametrize(
    "location",
    [
        "Bathroom",
        "Master bath",
        "Half bath",
        "Powder room",
        "Toilet room",
        "Water closet",
        "Shower",
    ],
)
def test_a_bathroom_by_any_of_its_names(location):
    assert placed(location) == [("warning", "240.24(E)")]


@pytest.mark.parametrize("location", ["Closet", "Clothes closet, hall", "Walk-in closet"])
def test_a_clothes_closet(location):
    assert placed(location) == [("warning", "240.24(D)")]


@pytest.mark.parametrize(
    "location",
    [
        "Utility room next to bathroom",
        "Outside bath wall",
        "Bathhouse",
        "Hall, behind the bathroom",
        "Cellar, east wall",
        "Under the stairs",
        "Cellar, foot of the stairs",
        "",
    ],
)
def test_a_place_beside_one_is_not_that_one(location):
    assert placed(location) == []


def test_over_the_steps_of_a_stairway_and_stairs_that_do_not_tell():
    assert placed("Over the steps") == [("warning", "240.24(F)")]
    assert placed("Cellar, over the stairs") == [("warning", "240.24(F)")]
    assert placed("Cellar stairs") == [("note", "240.24(F)")]


def test_a_closet_beside_a_bathroom_is_still_a_closet():
    assert placed("Closet behind bathroom") == [("warning", "240.24(D)")]
