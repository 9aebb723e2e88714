from __future__ import annotations

import itertools
from typing import Any

import pytest

from server.domain.behaviour import RoomUnit
from server.domain.site import Site
from server.domain.supply import Segment
from tests.builders import (
    EVERY_SITE,
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    handle_set_site,
    normal_only_site,
    panel,
    scenario,
    with_parts,
)
from tests.domain.refusals import refusals, the_refusal


@pytest.mark.parametrize("build", EVERY_SITE.values(), ids=EVERY_SITE)
def test_every_way_of_feeding_is_accepted(build: Any) -> None:
    assert build().panels


def test_an_empty_site_is_accepted() -> None:
    assert Site(name="Nothing yet").circuits == ()


# --- ids -------------------------------------------------------------------------------------


def test_an_element_id_used_twice_is_refused() -> None:
    site = normal_only_site()
    field, message = the_refusal(site, panels=(*site.panels, panel("grid")))
    assert (field, message) == ("panels.1.id", "The element id 'grid' is used twice; change one.")


def test_an_appliance_id_used_twice_is_refused() -> None:
    site = normal_only_site()
    twin = circuit("d", "main", 9, appliances=(appliance("a-load", 100),))
    field, message = the_refusal(site, circuits=(*site.circuits, twin))
    assert field == "circuits.3.appliances.0.id"
    assert message == "The appliance id 'a-load' is used twice; change one."


def test_a_scenario_id_used_twice_is_refused() -> None:
    field, message = the_refusal(normal_only_site(), scenarios=(scenario(), scenario()))
    assert field == "scenarios.1.id"
    assert message == "The scenario id 'day' is used twice; change one."


# --- feeders ---------------------------------------------------------------------------------


def test_a_feeder_from_nowhere_is_refused() -> None:
    found = refusals(normal_only_site(), feeders=(feeder("pole", "main"),))
    assert found == [
        (
            "feeders.0.from_id",
            "Feeder pole-main starts at 'pole', which is not a source, switch or panel here.",
        )
    ]


def test_a_feeder_to_nowhere_is_refused() -> None:
    site = normal_only_site()
    found = refusals(site, feeders=(*site.feeders, feeder("main", "barn")))
    assert (
        "feeders.1.to_id",
        "Feeder main-barn ends at 'barn', which is not a switch or panel here.",
    ) in found


@pytest.mark.parametrize(
    "told",
    [
        {"neutral_ampacity_a": 40},
        {"segments": (Segment(run_ft=40, size="6", neutral_size="8"),)},
    ],
)
def test_a_feeder_without_a_neutral_and_with_one_is_refused(told: dict[str, Any]) -> None:
    bare = feeder("grid", "main", no_neutral=True)
    assert with_parts(normal_only_site(), feeders=(bare,)).feeders == (bare,)
    field, message = the_refusal(normal_only_site(), feeders=(bare.model_copy(update=told),))
    assert field == "feeders.0.no_neutral"
    assert message.endswith(
        "Take out the amps and the size of its neutral, or say that it has one."
    )


def test_a_feeder_into_a_source_is_refused() -> None:
    site = backed_up_site()
    field, message = the_refusal(site, feeders=(*site.feeders, feeder("main", "set")))
    assert field == "feeders.4.to_id"
    assert "not a switch or panel" in message


def test_a_feeder_out_of_a_handle_set_is_refused() -> None:
    site = handle_set_site()
    found = refusals(
        site,
        panels=(*site.panels, panel("extra")),
        feeders=(*site.feeders, feeder("handles", "extra")),
    )
    assert (
        "feeders.2.from_id",
        "Feeder handles-extra starts at a handle set, which feeds single circuits only.",
    ) in found


@pytest.mark.parametrize(
    ("to_id", "to_input", "words"),
    [
        ("ats", "normal", "generator or utility"),
        ("ats", None, "generator or utility"),
        ("throw", "utility", "backed_up or normal"),
        ("swing", "normal", "nothing"),
    ],
)
def test_a_feeder_on_the_wrong_input_is_refused(
    to_id: str, to_input: str | None, words: str
) -> None:
    site = double_throw_site()
    wrong = feeder("main", to_id, to_input, id="wrong", name="Wrong")
    found = refusals(site, feeders=(*site.feeders, wrong))
    assert (
        f"feeders.{len(site.feeders)}.to_input",
        f"Wrong must land on {words} of {to_id!r}.",
    ) in (found)


def test_a_handle_set_takes_a_generator_only() -> None:
    site = handle_set_site()
    found = refusals(site, feeders=(*site.feeders, feeder("main", "handles", "utility")))
    assert found[0][1] == "Feeder main-handles-utility must land on generator of 'handles'."


def test_a_second_feed_into_a_panel_is_refused() -> None:
    site = backed_up_site()
    extra = feeder("main", "backed")
    field, message = the_refusal(site, feeders=(*site.feeders, extra))
    assert field == "feeders.4.to_id"
    assert message == (
        "Panel backed already has a feeder. A panel that takes two feeds needs a double-throw "
        "switch between."
    )


def test_a_second_feed_on_one_side_of_a_switch_is_refused() -> None:
    site = backed_up_site()
    extra = feeder("main", "ats", "utility", id="again")
    _, message = the_refusal(site, feeders=(*site.feeders, extra))
    assert message.startswith("Transfer switch already has a feeder on its utility side.")


def test_only_a_generator_lands_on_a_generator_input() -> None:
    site = backed_up_site()
    feeders = tuple(
        feeder("grid", "ats", "generator") if f.to_input == "generator" else f for f in site.feeders
    )
    field, message = the_refusal(site, feeders=feeders)
    assert field == "feeders.2.from_id"
    assert message == (
        "Feeder grid-ats-generator lands on a generator input, so it must start at a generator."
    )


def test_a_panel_fed_by_nothing_is_refused() -> None:
    site = normal_only_site()
    field, message = the_refusal(site, panels=(*site.panels, panel("barn")))
    assert field == "panels.1"
    assert message == "Panel barn is fed by nothing. Draw a feeder to it."


@pytest.mark.parametrize("side", ["utility", "generator"])
def test_a_transfer_switch_without_both_feeds_is_refused(side: str) -> None:
    site = backed_up_site()
    feeders = tuple(f for f in site.feeders if f.to_input != side)
    field, message = the_refusal(site, feeders=feeders)
    assert field == "transfer_switches.0"
    assert message == f"Transfer switch has no feeder on its {side} side."


def test_a_handle_set_without_a_generator_is_refused() -> None:
    site = handle_set_site()
    feeders = tuple(f for f in site.feeders if f.to_id != "handles")
    _, message = the_refusal(site, feeders=feeders)
    assert message == "Handle set has no feeder on its generator side."


@pytest.mark.parametrize(("side", "words"), [("normal", "normal"), ("backed_up", "backed-up")])
def test_a_switchable_panel_without_two_feeds_is_refused(side: str, words: str) -> None:
    site = double_throw_site()
    feeders = tuple(f for f in site.feeders if f.to_input != side)
    field, message = the_refusal(site, feeders=feeders)
    assert field == "double_throws.0"
    assert message == (
        f"Double-throw has no feeder on its {words} side. A switchable panel needs two feeds."
    )


def test_two_panels_that_feed_each_other_are_refused() -> None:
    site = normal_only_site()
    field, message = the_refusal(
        site,
        panels=(*site.panels, panel("east"), panel("west")),
        feeders=(*site.feeders, feeder("east", "west"), feeder("west", "east")),
    )
    assert field == "feeders"
    assert message.endswith("feeds itself through a loop of feeders. Remove one of them.")


def test_a_loop_through_a_switch_is_refused() -> None:
    site = double_throw_site()
    feeders = tuple(
        feeder("swing", "throw", "normal", spaces=(16, 18)) if f.to_input == "normal" else f
        for f in site.feeders
    )
    _, message = the_refusal(site, feeders=feeders)
    assert "loop of feeders" in message


def test_a_panel_that_feeds_itself_is_refused() -> None:
    site = normal_only_site()
    _, message = the_refusal(site, feeders=(feeder("main", "main"),))
    assert message.startswith("Panel main feeds itself")


def test_a_deep_chain_of_panels_is_not_called_a_loop() -> None:
    names = ["main", *(f"p{n}" for n in range(50))]
    site = normal_only_site()
    longer = with_parts(
        site,
        panels=(*site.panels, *(panel(n) for n in names[1:])),
        feeders=(
            *site.feeders,
            *(feeder(a, b) for a, b in itertools.pairwise(names)),
        ),
    )
    assert len(longer.panels) == 51


# --- circuits --------------------------------------------------------------------------------


def test_a_circuit_in_an_unknown_panel_is_refused() -> None:
    field, message = the_refusal(normal_only_site(), circuits=(circuit("a", "barn", 1),))
    assert field == "circuits.0.panel_id"
    assert message == "Circuit a is in panel 'barn', which is not on this site."


def test_a_partner_that_is_not_here_is_refused() -> None:
    lone = circuit("a", "main", 1, multiwire_partner_id="ghost")
    field, message = the_refusal(normal_only_site(), circuits=(lone,))
    assert field == "circuits.0.multiwire_partner_id"
    assert message == "Circuit a shares a neutral with 'ghost', which is not here."


def test_a_one_sided_partner_is_refused() -> None:
    pair = (circuit("a", "main", 1, multiwire_partner_id="b"), circuit("b", "main", 3))
    _, message = the_refusal(normal_only_site(), circuits=pair)
    assert message == (
        "Circuit b does not name Circuit a as its partner. A shared neutral is entered on both "
        "circuits."
    )


def test_a_unit_in_an_unknown_zone_is_refused() -> None:
    unit = appliance("heater", 900, behaviour=RoomUnit(zone_id="attic", mode="heat"))
    field, message = the_refusal(
        normal_only_site(), circuits=(circuit("a", "main", 1, appliances=(unit,)),)
    )
    assert field == "circuits.0.appliances.0.behaviour.zone_id"
    assert message == "heater serves zone 'attic', which is not here."
