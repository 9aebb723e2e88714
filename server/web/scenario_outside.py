"""A scenario form asks once about what was entered at hours that its run does not hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from server.domain.errors import Problem, SiteFileError
from server.domain.scenario import Scenario
from server.simulate.outside import lasts_words, outside
from server.web.forms import Form
from server.web.scenario_form import filled_rows, scenario_from

ASKED = "outside"
"""The field that says which rows were asked about: sent again with the same, they are kept."""


def told_scenario(values: Mapping[str, str], base: Scenario) -> Scenario:
    """The scenario that was typed, once what lies outside its run was asked about.

    Raises
    ------
    SiteFileError   With what is wrong, or with what lies outside where that was not asked yet.
    """
    told = scenario_from(values, base)
    found = _asked(values, told)
    if found and values.get(ASKED, "") != _key(found):
        raise SiteFileError(found)
    return told


def with_asked(form: Form, base: Scenario) -> Form:
    """A form that could not be saved, with which rows outside the run it asks about by now."""
    try:
        found = _asked(form.values, scenario_from(form.values, base))
    except SiteFileError:
        return form
    return replace(form, values={**form.values, ASKED: _key(found)})


def _key(found: tuple[Problem, ...]) -> str:
    return " ".join(one.field for one in found)


def _asked(values: Mapping[str, str], told: Scenario) -> tuple[Problem, ...]:
    lasts = f"the run, which lasts {lasts_words(told)}"
    return tuple(
        Problem(
            f"{one.list}.{filled_rows(values, one.list)[one.row]}.{one.step}",
            f"{one.what} is no part of {lasts}: nothing of it would be worked out. Move it, or let "
            "the run last longer. Save again to keep it as it is.",
        )
        for one in outside(told)
    )
