"""Circuits, appliances, behaviours and scenarios on their own."""

from __future__ import annotations

import pickle
from datetime import datetime, timedelta
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from server.domain.base import other_leg
from server.domain.behaviour import Behaviour, Hourly, Tank, Timed, Zone
from server.domain.problems import problems_in
from server.domain.scenario import Scenario, Weather, Window
from server.domain.supply import Generator, Handle, TransferSwitch
from tests.builders import START, appliance, circuit, generator, scenario

BEHAVIOUR: TypeAdapter[Behaviour] = TypeAdapter(Behaviour)


def message(build: Any) -> str:
    with pytest.raises(ValidationError) as caught:
        build()
    (problem,) = problems_in(caught.value)
    return problem.message


# --- circuits --------------------------------------------------------------------------------


def test_a_two_pole_breaker_across_both_sides_is_refused() -> None:
    assert message(lambda: circuit("a", "main", 5, 6)) == (
        "A 2-pole breaker needs two spaces under each other on one side, such as 5 and 7, so that "
        "it lands on both legs."
    )


def test_a_two_pole_breaker_on_one_leg_is_refused() -> None:
    assert "lands on both legs" in message(lambda: circuit("a", "main", 5, 9))


def test_a_two_pole_breaker_upside_down_is_refused() -> None:
    assert "under each other" in message(lambda: circuit("a", "main", 7, 5))


def test_poles_and_spaces_must_agree() -> None:
    assert message(lambda: circuit("a", "main", 5, poles=2)) == (
        "A 2-pole breaker takes 2 spaces; 1 given."
    )
    assert message(lambda: circuit("a", "main", 5, 7, poles=1)) == (
        "A 1-pole breaker takes 1 space; 2 given."
    )


def test_a_two_pole_breaker_in_half_a_space_is_refused() -> None:
    assert "Half a space lies on one leg only" in message(
        lambda: circuit("a", "main", 5, 7, half="a")
    )


def test_a_240_v_appliance_on_one_pole_is_refused() -> None:
    heater = appliance("heater", 4500, volts=240)
    assert message(lambda: circuit("a", "main", 5, appliances=(heater,))) == (
        "heater needs 240 V, but this breaker has one pole. Make the circuit 2-pole or set the "
        "appliance to 120 V."
    )


def test_a_120_v_appliance_rides_on_a_two_pole_circuit() -> None:
    lamp = appliance("lamp", 60)
    assert circuit("a", "main", 5, 7, appliances=(lamp,)).appliances == (lamp,)


def test_a_circuit_is_not_its_own_partner() -> None:
    assert message(lambda: circuit("a", "main", 5, multiwire_partner_id="a")) == (
        "A circuit cannot share a neutral with itself."
    )


@pytest.mark.parametrize(
    ("changes", "gap_min"),
    [
        ({}, None),
        ({"load_class": "important", "own_battery_min": 60}, None),
        ({"load_class": "must_serve"}, 2.0),
        ({"load_class": "must_serve", "own_battery_min": 90}, 60.0),
        ({"load_class": "must_serve", "own_battery_min": 90, "allowed_gap_min": 5}, 5.0),
        ({"load_class": "must_serve", "allowed_gap_min": 0}, 0.0),
        ({"load_class": "comfort", "allowed_gap_min": 30}, 30.0),
    ],
)
def test_the_allowed_gap(changes: dict[str, Any], gap_min: float | None) -> None:
    assert circuit("a", "main", 1, **changes).gap_min == gap_min


# --- appliances ------------------------------------------------------------------------------


def test_a_120_v_part_belongs_to_240_v_appliances() -> None:
    assert message(lambda: appliance("a", 500, part_120_w=100)) == (
        "Only a 240 V appliance has a separate 120 V part; leave part_120_w at 0."
    )


def test_a_part_is_no_larger_than_the_whole() -> None:
    assert message(lambda: appliance("a", 500, volts=240, part_120_w=501)) == (
        "The 120 V part cannot be larger than the whole load."
    )
    assert appliance("a", 500, volts=240, part_120_w=500).part_120_w == 500


@pytest.mark.parametrize("letter", ["I", "O", "Q", "W", "AA", "k"])
def test_code_letters_that_do_not_exist_are_refused(letter: str) -> None:
    assert message(lambda: appliance("a", 500, code_letter=letter))


@pytest.mark.parametrize("figure", [0, 1.2, -0.1])
def test_power_factor_lies_between_nothing_and_one(figure: float) -> None:
    assert message(lambda: appliance("a", 500, power_factor=figure))


# --- behaviours ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "document",
    [
        {"model": "constant", "share": 1.1},
        {"model": "hourly", "shares": [0.5] * 23},
        {"model": "hourly", "shares": [0.5] * 25},
        {"model": "hourly", "shares": [0.5] * 23 + [1.5]},
        {"model": "cycle", "on_min": 0, "off_min": 5},
        {"model": "cycle", "on_min": 5, "off_min": 5, "spread": 1},
        {"model": "timed", "stages": []},
        {"model": "timed", "stages": [{"minutes": 0, "share": 1}]},
        {"model": "timed", "stages": [{"minutes": 1, "share": 2}]},
        {"model": "timed", "stages": [{"minutes": 1, "share": 1}], "starts": [{"hour": 25}]},
        {"model": "charger", "energy_kwh": -1},
        {"model": "tank", "gallons": 50, "draws_gal_by_hour": [1] * 23},
        {"model": "tank", "gallons": 0, "draws_gal_by_hour": [1] * 24},
        {"model": "tank", "gallons": 50, "deadband_f": 0, "draws_gal_by_hour": [1] * 24},
        {"model": "room", "zone_id": "house", "mode": "dry"},
        {"model": "room", "zone_id": "house", "mode": "heat", "cop": 0},
        {"model": "room", "zone_id": "house", "mode": "heat", "deadband_f": 0},
        {"model": "constant", "shares": 1},
    ],
)
def test_behaviours_that_cannot_be_computed_are_refused(document: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        BEHAVIOUR.validate_python(document)


def test_the_model_says_which_behaviour_it_is() -> None:
    hourly = BEHAVIOUR.validate_python({"model": "hourly", "shares": [0.5] * 24})
    assert isinstance(hourly, Hourly)
    timed = BEHAVIOUR.validate_python(
        {"model": "timed", "stages": [{"minutes": 5, "share": 1}], "starts": [{"hour": 24}]}
    )
    assert isinstance(timed, Timed)
    tank = BEHAVIOUR.validate_python(
        {"model": "tank", "gallons": 50, "draws_gal_by_hour": [0] * 24}
    )
    assert isinstance(tank, Tank)


def test_a_zone_cools_above_where_it_heats() -> None:
    assert (
        message(
            lambda: Zone(
                id="house", name="H", loss_btuh_per_f=400, heat_setpoint_f=70, cool_setpoint_f=70
            )
        )
        == "The cooling set point must be warmer than the heating set point."
    )


# --- scenarios -------------------------------------------------------------------------------


def test_a_window_runs_forward() -> None:
    assert message(lambda: Window(start=START, end=START)) == (
        "The end must be later than the start."
    )


def test_overlapping_outages_are_refused_in_any_order() -> None:
    first = Window(start=START, end=START + timedelta(hours=2))
    second = Window(start=START + timedelta(hours=1), end=START + timedelta(hours=3))
    for outages in ((first, second), (second, first)):
        assert message(lambda o=outages: scenario(outages=o)) == (
            "Two outages overlap; make them one."
        )


def test_outages_may_touch() -> None:
    first = Window(start=START, end=START + timedelta(hours=2))
    second = Window(start=first.end, end=START + timedelta(hours=3))
    assert len(scenario(outages=(first, second)).outages) == 2


@pytest.mark.parametrize("step_s", [35, 42, 500])
def test_a_step_that_does_not_divide_an_hour_is_refused(step_s: int) -> None:
    assert message(lambda: scenario(step_s=step_s)).startswith("The step must divide an hour")


@pytest.mark.parametrize("step_s", [9, 901])
def test_steps_are_10_seconds_to_15_minutes(step_s: int) -> None:
    assert message(lambda: scenario(step_s=step_s))


def test_a_span_holds_a_step_and_at_most_two_weeks() -> None:
    assert message(lambda: scenario(span_h=0.01)) == "The span must hold at least one step."
    assert (
        message(lambda: scenario(span_h=337))
        == "This must be 336 or less; above 0 to 336 is permitted."
    )
    assert scenario(span_h=336).steps == 20_160


def test_steps_and_end_follow_from_the_span() -> None:
    day = scenario(span_h=1.5, step_s=900)
    assert day.steps == 6
    assert day.end == START + timedelta(hours=1.5)


def test_times_are_wall_clock_times() -> None:
    assert (
        message(
            lambda: Scenario(
                id="a",
                name="A",
                start=datetime.fromisoformat("2026-11-26T12:00:00+00:00"),
                span_h=1,
            )
        )
        == "Give local wall-clock time, without a time zone."
    )


def test_the_low_of_a_day_is_below_its_high() -> None:
    assert message(lambda: Weather(low_f=60, high_f=50)) == (
        "The low of the day cannot be above the high."
    )


# --- supply ----------------------------------------------------------------------------------


def test_kva_falls_back_on_kilowatts() -> None:
    assert generator().kva == 20
    assert generator(rated_kva=25).kva == 25


def test_only_a_handle_set_lists_circuits() -> None:
    assert (
        message(
            lambda: TransferSwitch(
                id="t", name="T", rating_a=100, handles=(Handle(circuit_id="a", leg="L1"),)
            )
        )
        == "Only a handle set lists circuits; set its kind to handles."
    )


@pytest.mark.parametrize(
    ("kind", "automatic"),
    [("automatic", True), ("manual", False), ("interlock", False), ("handles", False)],
)
def test_only_an_automatic_switch_transfers_by_itself(kind: str, automatic: bool) -> None:
    switch = TransferSwitch.model_validate({"id": "t", "name": "T", "rating_a": 1, "kind": kind})
    assert switch.automatic is automatic


def test_parts_are_frozen() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        generator().rated_kw = 30  # type: ignore[misc]


def test_unknown_fields_are_refused() -> None:
    with pytest.raises(ValidationError, match="extra"):
        Generator.model_validate({"id": "g", "name": "G", "rated_kw": 5, "rated_watts": 5000})


def test_the_other_leg() -> None:
    assert other_leg("L1") == "L2"
    assert other_leg("L2") == "L1"


def test_what_is_filed_under_a_part_is_not_found_under_a_changed_copy():
    """The hash is worked out once and stays with the part that it was worked out of."""
    first = appliance("pump", 900.0)
    filed = {first: "first"}
    larger = first.model_copy(update={"load_w": 1_800.0})
    again = larger.model_copy(update={"load_w": 900.0})
    assert hash(larger) != hash(first)
    assert larger not in filed
    assert filed[again] == "first"
    unpickled = pickle.loads(pickle.dumps(first))
    assert (unpickled, hash(unpickled)) == (first, hash(first))
    assert first.model_dump() == again.model_dump()
    assert first == again
