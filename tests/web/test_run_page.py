"""What the run page lists beside its plots."""

from __future__ import annotations

from server.simulate.harms import harms
from server.simulate.run import simulate
from server.web import format as fmt
from server.web.drawing.gauge import gauges
from server.web.run_page import hourly
from tests.builders import double_throw_site


def test_hourly_peaks_are_those_of_each_hour_leg_by_leg():
    site = double_throw_site()
    run = simulate(site, site.scenario("out"))
    found = gauges(run)
    rows = hourly(run, found)
    assert len(rows) == 6
    for n, row in enumerate(rows):
        part = slice(60 * n, 60 * (n + 1))
        for (text, over), (gauge, leg) in zip(
            row.cells, ((g, leg) for g in found for leg in (0, 1)), strict=True
        ):
            if gauge.dead[part].all():
                assert (text, over) == ("dead", False)
                continue
            assert text == fmt.amps_or_dash(float(gauge.legs[leg, part].max()))
            assert over == bool((gauge.legs[leg, part] > gauge.limit[part]).any())


def test_harms_are_worked_out_once_for_a_run():
    site = double_throw_site()
    run = simulate(site, site.scenario("out"))
    assert harms(run) is harms(run)
