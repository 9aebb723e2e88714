"""The figures of whole houses are those that stand beside them; see whole_houses.py."""

from __future__ import annotations

import pytest

from tests.rules.whole_houses import FOLDER, HOUSES, text_of


@pytest.mark.parametrize("name", HOUSES)
def test_a_whole_house_gives_the_figures_beside_it(name: str):
    written = (FOLDER / f"{name}.txt").read_text(encoding="utf-8")
    assert text_of(name).splitlines() == written.splitlines(), (
        "If the new figures are right: python -m tests.rules.whole_houses"
    )


def test_every_file_of_figures_has_its_house_and_they_stay_small():
    files = sorted(FOLDER.glob("*.txt"))
    assert tuple(p.stem for p in files) == HOUSES
    assert sum(p.stat().st_size for p in files) < 250_000
