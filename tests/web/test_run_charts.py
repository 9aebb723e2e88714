from __future__ import annotations

import re
from datetime import timedelta

import numpy as np
import pytest

from server.simulate.results import Run
from server.simulate.run import cached_run
from server.web.drawing.gauge import gauges
from server.web.plot_data import plot_data, plot_steps
from server.web.run_charts import charts, lanes, shown_stretch, time_marks, whole_run
from server.web.run_picture import picture
from tests.builders import EVERY_SITE, START, double_throw_site, scenario, with_parts


def out_run() -> Run:
    site = double_throw_site()
    return cached_run(site, site.scenario("out"))


def long_run(span_h: float = 72) -> Run:
    site = with_parts(EVERY_SITE["normal_only"](), scenarios=(scenario(span_h=span_h),))
    return cached_run(site, site.scenario("day"))


def test_plot_document_names_every_bus_with_its_limits_and_dead_time() -> None:
    run = out_run()
    data = plot_data(run)
    assert data["steps"] == run.steps
    assert {c["name"] for c in data["charts"]} == {"Normal", "Backed-up", "Switchable"}
    assert data["lanes"][0]["spans"] == ((7200.0, 18000.0),)
    normal = next(c for c in data["charts"] if c["name"] == "Normal")
    assert normal["dead"] == [[7200, 18000]]
    assert all(c["limits"] for c in data["charts"])


@pytest.mark.parametrize("name", EVERY_SITE)
def test_bytes_of_the_plot_hold_every_step_to_a_hundredth(name: str) -> None:
    site = EVERY_SITE[name]()
    run = cached_run(site, site.scenarios[-1])
    found = gauges(run)
    counts = np.frombuffer(plot_steps(run), dtype="<u2").reshape(len(found), 2, run.steps)
    units = [c["unit_a"] for c in plot_data(run)["charts"]]
    for gauge, unit, read in zip(found, units, counts, strict=True):
        assert np.abs(read * unit - gauge.legs).max() < 0.01


def test_a_run_of_days_shows_the_day_of_its_worst_minute_and_a_short_one_itself() -> None:
    run = long_run()
    day = shown_stretch(run, run.step_of(START + timedelta(hours=30)), None, None)
    assert (day.first, day.last) == (12 * 60, 36 * 60)
    assert shown_stretch(long_run(span_h=20), 5, None, None).whole


def test_a_set_that_never_starts_is_shown_from_the_outage_on() -> None:
    out = scenario(span_h=96, outage_h=(30, 40), generator="fails")
    site = with_parts(EVERY_SITE["whole_house"](), scenarios=(out,))
    run = cached_run(site, out)
    worst = run.verdict.worst
    assert worst is not None
    assert worst.status != "over"
    shown = shown_stretch(run, run.step_of(worst.worst.at), None, None)
    assert shown.first <= 30 * 60 < shown.last
    other = run.step_of(START + timedelta(hours=80))
    asked = shown_stretch(run, other, None, None)
    assert asked.first <= other < asked.last


def test_a_set_that_feeds_nothing_did_not_run_and_is_not_hatched() -> None:
    site = EVERY_SITE["two_services"]()
    run = cached_run(site, site.scenario("day"))
    drawn = charts(run, gauges(run), whole_run(run), 0)
    assert [c.never for c in drawn if c.kind == "generator"] == [True]
    resting = next(c for c in plot_data(run)["charts"] if c["never"])
    assert (resting["dead_word"], resting["hatched"]) == ("did not run", False)
    assert "generator, did not run" in {lane.name for lane in lanes(run)}


def test_a_set_at_rest_for_part_of_a_run_is_not_called_dead() -> None:
    site = EVERY_SITE["two_services"]()
    run = cached_run(site, site.scenario("out"))
    at_rest = next(g for g in gauges(run) if g.rests)
    assert at_rest.dead_word == "not running"
    (chart,) = [c for c in charts(run, gauges(run), whole_run(run), 0) if c.kind == "generator"]
    assert (chart.never, chart.trace.hatched) == (False, False)
    assert {mark.text for mark in chart.dead} == {"not running"}
    assert "generator" in {lane.name for lane in lanes(run)}


@pytest.mark.parametrize(
    ("begin_h", "end_h", "expected"),
    [(10, 14, (600, 840)), (-5, 3, (0, 480)), (71, 80, (3780, 4320)), (5, 5.01, (296, 306))],
    ids=["inside", "before the start", "past the end", "too short"],
)
def test_a_stretch_asked_for_stays_inside_the_run(begin_h, end_h, expected) -> None:
    run = long_run()
    begin, end = (START + timedelta(hours=h) for h in (begin_h, end_h))
    shown = shown_stretch(run, 0, begin, end)
    assert (shown.first, shown.last) == expected


def test_an_end_before_the_beginning_falls_back_to_the_day() -> None:
    run = long_run()
    assert shown_stretch(run, 0, START + timedelta(hours=9), START) == shown_stretch(
        run, 0, None, None
    )


def test_cursor_is_drawn_only_where_its_minute_is_shown() -> None:
    run = long_run()
    shown = shown_stretch(run, 0, START, START + timedelta(hours=2))
    assert charts(run, gauges(run), shown, 60)[0].cursor == pytest.approx(50.4, abs=0.1)
    assert charts(run, gauges(run), shown, 500)[0].cursor is None


def test_time_marks_are_round_and_midnight_is_a_day() -> None:
    run = long_run()
    marks = list(time_marks(run, shown_stretch(run, 0, START, START + timedelta(hours=24))))
    assert [m.text for m in marks][:5] == ["12:00", "15:00", "18:00", "21:00", "Fri 27 Nov"]
    assert marks[0].at == 0.0
    assert marks[-1].at == 100.0


def test_lanes_are_cut_to_the_stretch_that_is_shown() -> None:
    utility = lanes(out_run())[0]
    (span,) = utility.spans(0, 14_400)
    assert (span.x, span.width) == (50.0, 50.0)
    assert not utility.spans(0, 7_200)


def test_the_words_of_a_source_stand_clear_of_its_line_in_the_picture(sites) -> None:
    stored = sites.create(double_throw_site())
    run = cached_run(stored.site, stored.site.scenario("out"))
    svg = picture(stored, run, shown_stretch(run, 0, None, None), 0, "All of it")
    lines = [float(y) for y in re.findall(r'class="lane-line[^"]*"[^>]*y1="([\d.]+)"', svg)]
    words = [float(y) for y in re.findall(r'class="lane" x="[\d.]+" y="([\d.]+)"', svg)]
    assert len(words) == len(lines) > 0
    for word, line, following in zip(words, lines, [*words[1:], None], strict=True):
        assert word + 5 < line
        assert following is None or following - 15 > line
