"""Plots of what is stored, and the same in figures, on the run page."""

from __future__ import annotations

import re

import numpy as np
import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.levels import Level, Line
from server.store.sites import SiteStore
from server.web.drawing.level_trace import level_trace

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())


@pytest.fixture
def page(browser, sites: SiteStore) -> str:
    stored = sites.create(FARM)
    return browser.get(f"/sites/{stored.id}/scenarios/three-day-shutoff").text


def test_every_store_has_a_plot_with_its_limits_and_a_row_of_figures(page: str):
    section = page[page.index('id="levels"') :]
    section = section[: section.index("</section>")]
    for name in ("House", "Refrigerator", "Water heater, 50 gal", "Generator, 16 kW propane"):
        assert f'<h3 class="charth">{name}<small>' in section
        assert f'<th scope="row">{name} <small' in section
    assert "food unsafe, 40 °F" in section
    assert "set to 125 °F" in section
    assert "as full as it is filled, 400 gal" in section
    assert section.count('class="lv-line" d="M') >= 7
    assert re.search(r'aria-label="Refrigerator, temperature: lowest [\d.]+, highest', section)


def test_many_plots_are_folded_but_the_figures_are_not(page: str):
    assert '<details class="levelplots">' in page
    table = page.index("Levels past a limit, in figures")
    assert page.index("</details>", page.index('class="levelplots"')) < table
    assert page.index('<details class="sec runfold" id="levels" open>') < table
    assert table < page.index("Levels within, in figures")


def test_a_site_that_stores_nothing_has_no_such_section(browser, stored):
    assert 'id="levels"' not in browser.get(f"/sites/{stored.id}/scenarios/out").text


def plotted(values: list[float], *lines: Line, unit: str = "°F") -> Level:
    return Level("a", "A", "warmth", unit, np.array(values), lines, ())


def test_a_dip_of_one_step_is_drawn():
    values = np.full(5000, 70.0)
    values[3210] = 20.0
    drawn = level_trace(plotted(list(values)))
    lowest = max(float(y) for y in re.findall(r"V([\d.]+)", drawn.path))
    assert lowest > 0.9 * drawn.box.height


def test_a_far_line_does_not_flatten_the_curve_but_one_that_is_passed_is_there():
    far, passed = Line(10.0, "pipes", -1), Line(68.0, "cold", -1)
    drawn = level_trace(plotted([67.0, 70.0, 71.0], far, passed))
    assert [line.text for line in drawn.lines] == ["cold"]
    assert 0.0 < drawn.lines[0].y < 100.0


def test_a_level_that_never_moves_can_be_drawn():
    drawn = level_trace(plotted([5.0] * 10, unit="gal"))
    assert drawn.path.startswith("M")
    assert "nan" not in drawn.path


@pytest.mark.parametrize(
    ("low", "high"), [(31.4, 41.0), (67.6, 68.5), (-5.0, 95.0), (0.2, 3.9), (5.0, 400.0)]
)
def test_ticks_stand_at_the_figures_that_are_printed(low: float, high: float):
    ticks = [value for _, value in level_trace(plotted([low, high])).ticks]
    digits = 0 if max(abs(t) for t in ticks) >= 10.0 else 1
    assert ticks
    assert [round(t, digits) for t in ticks] == pytest.approx(ticks, abs=1e-9)


def test_words_under_the_highest_line_are_clear_of_the_next():
    """A limit at the top has its words below it, where those of a setting just under it stand."""
    lines = (Line(90.0, "hot, 90", 1), Line(76.0, "cooled to 76"), Line(40.0, "pipes, 40", -1))
    first, second, third = level_trace(plotted([5.0, 68.0], *lines)).lines
    assert first.under
    assert abs(first.text_y - second.text_y) < 10.0
    assert first.text_x != second.text_x
    assert third.text_x == 0.0
