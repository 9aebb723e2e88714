"""What the run page lists beside its plots."""

from __future__ import annotations

from server.domain.supply import EnergyGroup
from server.simulate.harms import harms
from server.simulate.run import simulate
from server.web import format as fmt
from server.web.drawing.gauge import gauges
from server.web.run_page import held_off, hourly
from tests.builders import backed_up_site, double_throw_site, with_parts


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


def test_what_a_manager_held_off_is_listed_with_its_times_and_minutes():
    base = backed_up_site()
    circuits = tuple(
        c.model_copy(update={"energy_group_id": "m"}) if c.id in {"c", "d"} else c
        for c in base.circuits
    )
    group = EnergyGroup(id="m", name="Car pause", off_on_generator=True)
    site = with_parts(base, circuits=circuits, energy_groups=(group,))
    first, second = held_off(simulate(site, site.scenario("out")))
    assert (first.name, first.manager, second.name) == ("Circuit c", "Car pause", "Circuit d")
    # Off while the set feeds it, with a gap in motion, then until its turn to come back.
    assert first.times == "2"
    assert 180 < float(first.minutes) < 195
    assert held_off(simulate(base, base.scenario("out"))) == ()
