"""Shares that a person writes in per cent, on every form in one way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from server.domain.errors import Problem
from server.web.forms import figure_text

MOST_PERCENT = 100.0


def percents_of(values: Mapping[str, str], names: Iterable[str]) -> dict[str, str]:
    """The fields of a form with each stored share as the per cent that is shown.

    >>> percents_of({"name": "Roof", "losses_share": "0.14"}, ["losses_share", "fill_share"])
    {'name': 'Roof', 'losses_share': '14'}
    """
    shown = {n: f"{MOST_PERCENT * float(values[n]):.10g}" for n in names if values.get(n)}
    return dict(values) | shown


def shares_in(
    values: Mapping[str, str], names: Iterable[str]
) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """The fields with each per cent as the share that is stored, and what is no part of a hundred.

    What is no number stays as it was typed, for whoever checks the fields to refuse.

    >>> shares_in({"fuel_share": "30", "sun_share": "some"}, ["fuel_share", "sun_share"])
    ({'fuel_share': '0.3', 'sun_share': 'some'}, ())
    >>> shares_in({"losses_share": "120 %"}, ["losses_share"])[1][0].message
    '0 to 100 % is permitted.'
    """
    found, wrong = dict(values), []
    for name in names:
        try:
            percent = float(figure_text(values.get(name, "")).removesuffix("%"))
        except ValueError:
            continue
        if 0.0 <= percent <= MOST_PERCENT:
            found[name] = f"{percent / MOST_PERCENT:.12g}"
        else:
            wrong.append(Problem(name, "0 to 100 % is permitted."))
            found[name] = "0"
    return found, tuple(wrong)
