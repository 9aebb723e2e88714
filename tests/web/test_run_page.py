"""What the run page lists beside its plots."""

from __future__ import annotations

from server.domain.supply import EnergyGroup
from server.simulate.harms import harms
from server.simulate.run import simulate
from server.web import format as fmt
from server.web.board import board
from server.web.drawing.columns import circuit_amps, columns
from server.web.drawing.gauge import gauges
from server.web.drawing.moment import Moment
from server.web.minute import inspect
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


def test_a_minute_without_supply_says_dead_and_has_nothing_to_spare():
    site = double_throw_site()
    run = simulate(site, site.scenario("out"))
    step = run.step_of(site.scenario("out").outages[0].start) + 30
    main = inspect(run, step, "service_main:grid")
    assert [leg.amps for leg in main.legs] == ["dead", "dead"]
    assert not any("to spare" in leg.room for leg in main.legs)
    there = {p.id: p for p in main.points}
    assert (there["service_main:grid"].l1, there["service_main:grid"].percent) == ("dead", "")
    assert there["panel_bus:main"].l1 == "dead"
    assert there["generator:set"].l1 != "not running"
    before = inspect(run, 5, "generator:set")
    assert before.legs[0].amps == "not running"
    assert inspect(run, 5, "service_main:grid").legs[0].room.endswith("A to spare of 200")


def test_board_and_drawing_have_the_same_amps_of_a_circuit_and_they_add_up():
    site = double_throw_site()
    run = simulate(site, site.scenario("out"))
    made = board(site, run, None, "")
    moment = Moment(run, run.step_of(run.verdict.worst.worst.at))
    cards = [
        card
        for _, columns_ in made.columns
        for column in columns_
        for section in column.sections
        for group in section.groups
        for card in group.cards
    ]
    rows = {row.name: (row.l1, row.l2) for c in columns(moment) for row in c.rows}
    compared = [card for card in cards if card.name in rows]
    assert len(compared) > 2
    for card in compared:
        shown = tuple(cell for cell in rows[card.name] if cell)
        assert shown == tuple(cell for cell in (card.l1, card.l2) if cell)
    total = [sum(circuit_amps(moment, c)[leg] for c in site.circuits) for leg in (0, 1)]
    assert max(total) > 0


def test_the_head_of_a_run_leads_to_what_to_do_where_there_is_an_outage(browser, stored):
    root = f"/sites/{stored.id}/scenarios"
    out = browser.get(f"{root}/out").text
    assert 'href="#plan">What to do</a>' in out
    assert 'id="plan"' in out
    assert 'href="#plan"' not in browser.get(f"{root}/day").text
