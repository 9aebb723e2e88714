"""Events, second outages, motion and odd feeds, beside the rows of the state table.

Source: common practice, no source; times follow from the delays of the house.
"""

from __future__ import annotations

import pytest

from server.domain.scenario import SwitchMove
from server.simulate.results import Run
from server.simulate.run import simulate
from tests.builders import (
    backed_up_site,
    circuit,
    feeder,
    generator,
    handle_set_site,
    panel,
    set_120_only_site,
    with_parts,
)
from tests.reference.state_house import (
    DEAD,
    GRID,
    OUT,
    SET,
    at,
    day,
    house,
    stands_on,
    window,
)


def events_of(run: Run) -> list[tuple[str, str]]:
    return [(f"{e.at:%H:%M:%S}", e.text) for e in run.events]


def test_events_of_an_automatic_transfer() -> None:
    run = simulate(house("normal", automatic=True), day(**OUT))
    assert events_of(run) == [
        ("11:00:00", "The utility goes out"),
        ("11:01:00", "Generator set is up to speed"),
        ("11:01:30", "Transfer switch goes over to the generator"),
        ("13:00:00", "The utility is back"),
        ("13:10:00", "Transfer switch goes back to the utility"),
        ("13:15:00", "Generator set stops after cooling down"),
    ]
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(2 + 14 / 60)
    assert engine.starts == 1


def test_events_of_a_manual_transfer() -> None:
    run = simulate(house("normal", automatic=False), day(**OUT))
    assert events_of(run) == [
        ("11:00:00", "The utility goes out"),
        ("11:01:00", "Generator set is up to speed"),
        ("11:15:00", "Transfer switch goes over to the generator"),
        ("13:00:00", "The utility is back"),
        ("13:20:00", "Transfer switch goes back to the utility"),
        ("13:25:00", "Generator set stops after cooling down"),
    ]


def test_a_set_started_by_hand_waits_for_a_person() -> None:
    site = house("normal", automatic=False)
    by_hand = site.generators[0].model_copy(update={"start": "by_hand"})
    run = simulate(with_parts(site, generators=(by_hand,)), day(**OUT, hand_start_min=25))
    assert ("11:25:00", "Generator set is up to speed") in events_of(run)
    assert stands_on(run, "ats", "11:24:55") == DEAD
    assert stands_on(run, "ats", "11:25:25") == SET


def test_events_of_a_failure_and_of_a_service_stop() -> None:
    failed = simulate(house("normal", automatic=True), day(**OUT, generator="fails"))
    assert ("11:00:00", "Generator set does not start") in events_of(failed)
    assert not any("over to the generator" in text for _, text in events_of(failed))
    stops = (window("12:00", "12:20"),)
    served = simulate(house("normal", automatic=True), day(**OUT, generator_stops=stops))
    assert ("12:00:00", "Generator set is stopped for service") in events_of(served)
    assert ("12:21:00", "Generator set starts again") in events_of(served)
    engine = next(s for s in served.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(2 + 14 / 60 - 20 / 60)
    assert engine.starts == 2


def test_a_stop_of_more_than_an_hour_is_a_rest() -> None:
    hour, longer = (window("11:30", "12:30"),), (window("11:30", "12:31"),)
    for stops, words in ((hour, "is stopped for service"), (longer, "rests")):
        run = simulate(house("normal", automatic=True), day(**OUT, generator_stops=stops))
        said = [text for at, text in events_of(run) if at == "11:30:00"]
        assert said == [f"Generator set {words}"]


def test_a_set_stopped_when_the_grid_returns_does_not_start_again() -> None:
    stops = (window("12:50", "13:05"),)
    run = simulate(house("normal", automatic=True), day(**OUT, generator_stops=stops))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(109 / 60)
    assert not any("starts again" in text for _, text in events_of(run))
    assert ("13:00:00", "Transfer switch goes back to the utility") in events_of(run)


def test_a_second_outage_in_cool_down_is_one_start() -> None:
    outages = (window("11:00", "12:00"), window("12:12", "13:00"))
    run = simulate(house("normal", automatic=True), day(outages=outages))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.starts == 1
    assert engine.run_h == pytest.approx(2 + 14 / 60)
    assert [text for _, text in events_of(run)].count("Generator set is up to speed") == 1


def test_exercise_counts_as_running_but_feeds_nothing() -> None:
    exercise = (window("10:10", "10:30"),)
    run = simulate(house("normal", automatic=True), day(generator_exercise=exercise))
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(1 / 3)
    assert engine.in_kwh == 0.0
    assert engine.fuel_used is not None
    assert engine.fuel_used.value > 0.0


def test_an_outage_in_force_before_the_start_is_said_at_the_start() -> None:
    run = simulate(house("normal", automatic=True), day(outages=(window("9:00", "11:00"),)))
    assert events_of(run)[0] == ("10:00:00", "The utility is out since before the start")
    assert stands_on(run, "ats", "10:00:05") == SET
    engine = next(s for s in run.sources if s.kind == "generator")
    assert engine.run_h == pytest.approx(1 + 15 / 60)


@pytest.mark.parametrize("automatic", [True, False])
def test_a_throw_is_dead_in_motion_and_then_follows_its_new_bus(automatic: bool) -> None:
    moves = (
        SwitchMove(switch_id="throw", at=at("10:30"), position="backed_up"),
        SwitchMove(switch_id="throw", at=at("12:00"), position="normal"),
        SwitchMove(switch_id="throw", at=at("12:30"), position="backed_up"),
    )
    run = simulate(house("normal", automatic=automatic), day(**OUT, switch_moves=moves))
    for clock, expected in (
        ("10:29:55", GRID),
        ("10:30:05", DEAD),
        ("10:30:25", DEAD),
        ("10:30:35", GRID),  # through the transfer switch
        ("11:20", SET),  # the outage began while thrown to backed-up
        ("12:00:05", DEAD),
        ("12:10", DEAD),  # NORMAL while the grid is out
        ("12:30:25", DEAD),
        ("12:30:35", SET),
        ("13:00:05", SET),  # follows backed-up
        ("13:30", GRID),
    ):
        assert stands_on(run, "throw", clock) == expected, clock
    assert ("10:30:00", "Double-throw is thrown to BACKED-UP by hand") in events_of(run)


def test_a_move_before_the_start_is_where_the_switch_stands() -> None:
    moves = (SwitchMove(switch_id="throw", at=at("8:00"), position="backed_up"),)
    run = simulate(house("normal", automatic=True), day(**OUT, switch_moves=moves))
    assert stands_on(run, "throw", "12:00") == SET


def test_a_panel_fed_by_the_set_alone_lives_while_it_gives() -> None:
    site = with_parts(
        backed_up_site(generators=(generator(start_delay_s=60, cool_down_min=5),)),
        panels=(*backed_up_site().panels, panel("barn")),
        feeders=(*backed_up_site().feeders, feeder("set", "barn", breaker_a=30)),
        circuits=(*backed_up_site().circuits, circuit("barn-light", "barn", 1, load_w=200)),
    )
    run = simulate(site, day(**OUT))
    for clock, expected in (
        ("10:30", DEAD),
        ("11:00:55", DEAD),
        ("11:01:05", SET),
        ("13:14:55", SET),
        ("13:15:05", DEAD),
    ):
        assert stands_on(run, "set", clock) == expected, clock


def test_transfer_handles_move_their_circuits_and_leave_the_rest() -> None:
    run = simulate(handle_set_site(), day(**OUT))
    for clock, panel_bus, handle in (
        ("10:30", GRID, GRID),
        ("11:14:55", DEAD, DEAD),
        ("11:16", DEAD, SET),
        ("13:00:05", GRID, SET),
        ("13:21", GRID, GRID),
    ):
        assert stands_on(run, "grid", clock) == panel_bus, clock
        assert stands_on(run, "handles:a", clock) == handle, clock
        assert stands_on(run, "handles:b", clock) == handle, clock


def test_a_handle_with_nothing_plugged_in_is_fed_all_the_same() -> None:
    site = handle_set_site()
    bare = site.circuit("a").model_copy(update={"appliances": (), "load_class": "must_serve"})
    circuits = tuple(bare if c.id == "a" else c for c in site.circuits)
    run = simulate(with_parts(site, circuits=circuits), day())
    served = next(s for s in run.service if s.circuit_id == "a")
    assert served.dead_min == 0.0
    assert not served.gap_exceeded


def test_a_120_volt_set_leaves_240_volt_loads_dead() -> None:
    site = set_120_only_site()
    pump = circuit("d", "main", 9, 11, load_w=900)
    run = simulate(with_parts(site, circuits=(*site.circuits, pump)), day(**OUT))
    row = next(i for i, c in enumerate(run.site.circuits) if c.id == "d")
    live = [float(run.circuit_w[row, run.step_of(at(t))]) for t in ("10:30", "12:00", "13:30")]
    assert live == [900.0, 0.0, 900.0]
    served = next(s for s in run.service if s.circuit_id == "d")
    assert served.longest_gap_min == pytest.approx(140, abs=0.1)
