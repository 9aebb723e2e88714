from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from server.domain.panel import Panel
from server.domain.scenario import ApplianceEvent, HandWindow, KeptOff, SwitchMove, Window
from server.domain.supply import Battery, DoubleThrow, Handle, SolarArray, TransferSwitch
from tests.builders import (
    START,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    handle_set_site,
    normal_only_site,
    panel,
    scenario,
    service,
    with_parts,
)
from tests.domain.refusals import refusals, the_refusal

# --- spaces ----------------------------------------------------------------------------------


def test_two_circuits_in_one_space_are_refused() -> None:
    pair = (circuit("a", "main", 5, 7), circuit("b", "main", 7))
    field, message = the_refusal(normal_only_site(), circuits=pair)
    assert field == "circuits.1.spaces"
    assert message == "Circuit b and Circuit a are both in space 7 of Panel main. Move one."


def test_two_circuits_of_one_name_in_one_space_are_refused() -> None:
    pair = (circuit("a", "main", 5, name="Lights"), circuit("b", "main", 5, name="Lights"))
    _, message = the_refusal(normal_only_site(), circuits=pair)
    assert "both in space 5" in message


def test_two_halves_of_one_space_are_accepted() -> None:
    pair = (circuit("a", "main", 5, half="a"), circuit("b", "main", 5, half="b"))
    assert len(with_parts(normal_only_site(), circuits=pair).circuits) == 2


def test_the_same_half_twice_is_refused() -> None:
    pair = (circuit("a", "main", 5, half="a"), circuit("b", "main", 5, half="a"))
    _, message = the_refusal(normal_only_site(), circuits=pair)
    assert "both in space 5" in message


def test_a_half_beside_a_whole_is_refused() -> None:
    pair = (circuit("a", "main", 5), circuit("b", "main", 5, half="b"))
    assert "both in space 5" in the_refusal(normal_only_site(), circuits=pair)[1]


def test_a_space_past_the_last_is_refused() -> None:
    field, message = the_refusal(normal_only_site(), circuits=(circuit("a", "main", 21),))
    assert field == "circuits.0.spaces"
    assert message == "Circuit a is in space 21, but Panel main has 20 spaces."


def test_a_feeder_breaker_and_a_circuit_in_one_space_are_refused() -> None:
    site = backed_up_site()
    field, message = the_refusal(site, circuits=(circuit("a", "main", 2),))
    assert field == "feeders.1.spaces"
    assert message == (
        "Feeder main-ats-utility and Circuit a are both in space 2 of Panel main. Move one."
    )


def test_a_solar_breaker_and_a_circuit_in_one_space_are_refused() -> None:
    site = double_throw_site(solar=True)
    clash = circuit("z", "main", 20)
    field, message = the_refusal(site, circuits=(*site.circuits, clash))
    assert field == "solar.0.spaces"
    assert message == "Roof solar and Circuit z are both in space 20 of Panel main. Move one."


@pytest.mark.parametrize("spaces", [(2, 6), (1, 2), (4,), (5, 3)])
@pytest.mark.parametrize("part", ["feeder", "solar"])
def test_a_two_pole_landing_that_misses_a_leg_is_refused(part: str, spaces: Any) -> None:
    site = double_throw_site(solar=True)
    if part == "feeder":
        bad = next(f for f in site.feeders if f.spaces)
        feeders = tuple(
            f.model_copy(update={"spaces": spaces}) if f.id == bad.id else f for f in site.feeders
        )
        field, message = the_refusal(site, circuits=(), feeders=feeders)
        assert field.startswith("feeders.")
    else:
        array = site.solar[0].model_copy(update={"spaces": spaces})
        field, message = the_refusal(site, circuits=(), solar=(array,))
        assert field == "solar.0.spaces"
    assert "both legs" in message


# --- what points elsewhere -------------------------------------------------------------------


def test_solar_on_an_unknown_panel_is_refused() -> None:
    array = SolarArray(id="sun", name="Sun", panel_id="barn", dc_kw=5, ac_kw=4, breaker_a=30)
    found = the_refusal(normal_only_site(), solar=(array,))
    assert found == ("solar.0.panel_id", "Sun ties to a panel that is not here.")


def test_a_battery_on_an_unknown_panel_is_refused() -> None:
    battery = Battery(id="bat", name="Battery", panel_id="barn", usable_kwh=10, inverter_kw=5)
    found = the_refusal(normal_only_site(), batteries=(battery,))
    assert found == ("batteries.0.panel_id", "Battery ties to a panel that is not here.")


def _handles(*circuit_ids: str) -> TransferSwitch:
    return TransferSwitch(
        id="handles",
        name="Handle set",
        kind="handles",
        rating_a=30,
        handles=tuple(Handle(circuit_id=c, leg="L1") for c in circuit_ids),
    )


def test_a_handle_on_an_unknown_circuit_is_refused() -> None:
    found = the_refusal(handle_set_site(), transfer_switches=(_handles("ghost"),))
    assert found == (
        "transfer_switches.0.handles.0.circuit_id",
        "Handle set lists a circuit that is not here.",
    )


def test_a_circuit_on_two_handles_is_refused() -> None:
    field, message = the_refusal(handle_set_site(), transfer_switches=(_handles("a", "a"),))
    assert field == "transfer_switches.0.handles.1.circuit_id"
    assert message == "Circuit a is on two transfer handles; keep one."


def test_a_move_of_an_unknown_switch_is_refused() -> None:
    move = SwitchMove(switch_id="ghost", at=START, position="normal")
    found = the_refusal(normal_only_site(), scenarios=(scenario(switch_moves=(move,)),))
    assert found == (
        "scenarios.0.switch_moves.0.switch_id",
        "Scenario day throws a double-throw that is not here.",
    )


def test_an_event_of_an_unknown_appliance_is_refused() -> None:
    event = ApplianceEvent(appliance_id="ghost", at=START)
    found = the_refusal(normal_only_site(), scenarios=(scenario(events=(event,)),))
    assert found == (
        "scenarios.0.events.0.appliance_id",
        "Scenario day starts an appliance that is not here.",
    )


def test_a_hand_window_of_an_unknown_circuit_is_refused() -> None:
    window = Window(start=START, end=START + timedelta(hours=1))
    hand = HandWindow(circuit_id="ghost", window=window)
    found = the_refusal(normal_only_site(), scenarios=(scenario(hand_windows=(hand,)),))
    assert found == (
        "scenarios.0.hand_windows.0.circuit_id",
        "Scenario day switches a circuit by hand that is not here.",
    )


def test_keeping_off_an_unknown_circuit_is_refused() -> None:
    off = (KeptOff(circuit_id="ghost"),)
    found = the_refusal(normal_only_site(), scenarios=(scenario(kept_off=off),))
    assert found == (
        "scenarios.0.kept_off.0.circuit_id",
        "Scenario day keeps a circuit off that is not here.",
    )


def test_every_problem_is_told_at_once() -> None:
    found = refusals(
        normal_only_site(),
        circuits=(circuit("a", "barn", 1), circuit("b", "main", 40), circuit("c", "main", 3)),
        services=(service(),),
    )
    assert [field for field, _ in found] == ["circuits.0.panel_id", "circuits.1.spaces"]


def test_hazards_that_exist_in_real_houses_are_not_refused() -> None:
    tiny = Panel(id="main", name="Panel main", rating_a=60, spaces=20)
    split = (
        circuit("a", "main", 1, breaker_a=100, multiwire_partner_id="b"),
        circuit("b", "main", 2, multiwire_partner_id="a"),
    )
    assert with_parts(normal_only_site(), panels=(tiny,), circuits=split).circuits


def test_a_throw_may_be_fed_twice_from_one_panel() -> None:
    throw = DoubleThrow(id="t", name="T", rating_a=60)
    site = normal_only_site()
    fed = with_parts(
        site,
        double_throws=(throw,),
        panels=(*site.panels, panel("swing")),
        feeders=(
            *site.feeders,
            feeder("main", "t", "normal", spaces=(10, 12)),
            feeder("main", "t", "backed_up", spaces=(14, 16)),
            feeder("t", "swing"),
        ),
    )
    assert len(fed.feeders_into["t"]) == 2
