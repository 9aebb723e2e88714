"""What a run says in the terminal of circuits that went without."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.simulate.run import simulate
from server.terminal import print_run
from tests.builders import backed_up_site


def said(capsys, **changes):
    """The words of a run in which one circuit fared like this."""
    site = backed_up_site()
    run = simulate(site, next(s for s in site.scenarios if s.id == "out"))
    fared = replace(run.service[0], name="Freezer", **changes)
    print_run(replace(run, service=(fared, *run.service[1:])))
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("fared", "words"),
    [
        (
            {"unserved_min": 20.0, "dark_min": 180.0, "longest_gap_min": 180.0},
            "Freezer: wanted power and got none for 20 min; dark, wanted or not, for 3 h",
        ),
        (
            {"unserved_min": 0.0, "dark_min": 180.0, "longest_gap_min": 180.0},
            "Freezer: wanted no power while it had none; dark, wanted or not, for 3 h, longer "
            "than it can wait",
        ),
        (
            {"unserved_min": 20.0, "dark_min": 0.0, "longest_gap_min": 0.0},
            "Freezer: wanted power and got none for 20 min; never dark",
        ),
    ],
)
def test_dark_hours_are_not_told_as_wanted(capsys, fared, words):
    page = said(capsys, gap_exceeded="wait" in words, **fared)
    assert "Wanted power and got none, or dark longer than it can wait: " + words in page
    assert "without power when it was wanted" not in page.lower()
