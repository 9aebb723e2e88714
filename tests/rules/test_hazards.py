from __future__ import annotations

from typing import get_args

import pytest

from server.domain.site import CodeEdition, Site
from server.domain.supply import Battery, Handle, TransferSwitch
from server.rules.check import check_site
from server.rules.hazard_table import SEVERITIES, hazard, hazard_table
from server.rules.hazards import hazards
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    circuit,
    double_throw_site,
    feeder,
    handle_set_site,
    interlock_site,
    normal_only_site,
    panel,
    portable,
    service,
    set_120_only_site,
    whole_house_site,
    with_parts,
)
from tests.rules.hazard_sites import codes, pair, sun, the


@pytest.mark.parametrize("name", [n for n in EVERY_SITE if n != "set_120_only"])
def test_sound_sites_have_no_hazards(name: str) -> None:
    assert hazards(EVERY_SITE[name]()) == ()


def test_every_row_of_the_table_is_used_and_whole() -> None:
    for code, row in hazard_table().items():
        assert set(row) - {"edition", "places"} == {"severity", "section", "source"}
        for edition, own in row.get("edition", {}).items():
            assert edition in get_args(CodeEdition)
            assert set(own) <= {"section", "places"}
            assert own["section"] != row["section"]
            assert set(own.get("places", {})) <= set(row.get("places", {}))
        assert row["severity"] in SEVERITIES
        assert row["source"]
        assert hazard(code, "x", "text", "mend").source == row["source"]


@pytest.mark.parametrize(
    ("edition", "section"),
    [
        ("2017", "250.24(A)(5), 250.142(B)"),
        ("2020", "250.24(A)(5), 250.142(B)"),
        ("2023", "250.24(B), 250.142(B)"),
        ("2026", "250.24(B), 250.142(B)"),
    ],
)
def test_a_second_bond_cites_the_section_of_its_edition(edition, section) -> None:
    """Load-side grounding connections were 250.24(A)(5) up to 2020, (B) from 2023: from memory."""
    panels = tuple(p.model_copy(update={"neutral_bonded": True}) for p in backed_up_site().panels)
    site = with_parts(backed_up_site(), panels=panels, code_edition=edition)
    found = the(site, "two-neutral-bonds")
    assert (found.edition, found.section) == (edition, section)
    other = with_parts(site, code_edition="2017" if edition == "2023" else "2023")
    report = check_site(other, edition=edition)
    (again,) = (f for f in report.findings if f.code == "two-neutral-bonds")
    assert again.rule == f"NEC {edition}, {section}"


# --- multiwire -------------------------------------------------------------------------------


def test_a_sound_pair_is_no_hazard() -> None:
    assert codes(with_parts(normal_only_site(), circuits=pair(("main", 1), ("main", 3)))) == []


def test_a_pair_split_between_panels_blocks() -> None:
    site = with_parts(backed_up_site(), circuits=pair(("main", 1), ("backed", 3)))
    found = the(site, "multiwire-split")
    assert found.severity == "blocking"
    assert found.text.startswith("Circuit m1 and Circuit m2 share a neutral")
    assert found.section == "210.4(A)"
    assert found.source == "from memory"


def test_a_pair_on_one_leg_blocks() -> None:
    site = with_parts(normal_only_site(), circuits=pair(("main", 1), ("main", 2)))
    assert the(site, "multiwire-same-leg").severity == "blocking"


def test_a_pair_with_one_side_on_a_handle_blocks() -> None:
    circuits = pair(("main", 1), ("main", 3))
    switch = TransferSwitch(
        id="handles",
        name="Handle set",
        kind="handles",
        rating_a=30,
        handles=(Handle(circuit_id="m1", leg="L1"),),
    )
    site = with_parts(handle_set_site(), circuits=circuits, transfer_switches=(switch,))
    assert "multiwire-split" in codes(site)


@pytest.mark.parametrize(("legs", "blocked"), [(("L1", "L2"), False), (("L1", "L1"), True)])
def test_a_pair_on_two_handles_needs_opposite_legs(legs: tuple[str, str], blocked: bool) -> None:
    handles = tuple(
        Handle.model_validate({"circuit_id": c, "leg": leg})
        for c, leg in zip(("m1", "m2"), legs, strict=True)
    )
    switch = TransferSwitch(
        id="handles", name="Handle set", kind="handles", rating_a=30, handles=handles
    )
    site = with_parts(
        handle_set_site(), circuits=pair(("main", 1), ("main", 3)), transfer_switches=(switch,)
    )
    assert ("multiwire-same-leg" in codes(site)) is blocked


def test_a_pair_on_a_120_v_set_blocks() -> None:
    site = with_parts(set_120_only_site(), circuits=pair(("main", 1), ("main", 3)))
    found = the(site, "multiwire-on-120v-set")
    assert found.severity == "blocking"
    assert "Generator set gives 120 V only" in found.text
    assert codes(with_parts(interlock_site(), circuits=pair(("main", 1), ("main", 3)))) == []


# --- solar -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("site", "panel_id", "blocked"),
    [
        (backed_up_site(), "main", False),
        (backed_up_site(), "backed", True),
        (double_throw_site(), "swing", True),
        (whole_house_site(), "main", True),
        (interlock_site(), "main", True),
        (normal_only_site(), "main", False),
        (handle_set_site(), "main", False),
    ],
)
def test_solar_where_a_generator_can_energise_it_blocks(
    site: Site, panel_id: str, blocked: bool
) -> None:
    found = codes(with_parts(site, solar=(sun(panel_id),)))
    assert ("solar-on-generator" in found) is blocked


def test_solar_in_a_subpanel_of_a_backed_up_panel_blocks() -> None:
    site = backed_up_site()
    site = with_parts(
        site,
        panels=(*site.panels, panel("barn", rating_a=100)),
        feeders=(*site.feeders, feeder("backed", "barn", breaker_a=60, spaces=(18, 20))),
        solar=(sun("barn"),),
    )
    found = the(site, "solar-on-generator")
    assert "Panel barn, which Generator set can energise" in found.text


def test_a_grid_forming_inverter_is_said_not_to_be_modelled() -> None:
    site = with_parts(backed_up_site(), solar=(sun("main", grid_following=False),))
    found = the(site, "grid-forming-not-modelled")
    assert found.severity == "note"
    assert "not modelled: ask the installer" in found.text


def test_a_battery_is_said_not_to_be_modelled() -> None:
    battery = Battery(id="bat", name="Battery", panel_id="main", usable_kwh=10, inverter_kw=5)
    found = the(with_parts(normal_only_site(), batteries=(battery,)), "battery-not-modelled")
    assert found.severity == "note"
    assert "not modelled: ask the installer" in found.text


@pytest.mark.parametrize(("forms", "parted"), [(True, False), (True, True), (False, False)])
def test_what_forms_a_grid_must_be_parted_from_the_utility(*, forms: bool, parted: bool) -> None:
    battery = Battery(
        id="bat",
        name="Battery",
        panel_id="main",
        usable_kwh=10,
        inverter_kw=5,
        grid_forming=forms,
        parted=parted,
    )
    site = with_parts(normal_only_site(), batteries=(battery,))
    if parted or not forms:
        assert codes(site) == ["battery-not-modelled"]
        return
    assert codes(site) == ["battery-forms-grid-on-utility"]
    found = the(site, "battery-forms-grid-on-utility")
    assert found.severity == "blocking"
    assert found.section == "705.40"
    assert "Panel main, with nothing entered that parts it from Service grid" in found.text
    assert "not modelled: runs show the house without it" in found.text


@pytest.mark.parametrize(
    ("forms", "code", "severity"),
    [
        (False, "battery-on-generator", "blocking"),
        (True, "battery-forms-grid-beside-set", "warning"),
    ],
)
def test_a_battery_where_a_generator_can_energise_it(forms: bool, code: str, severity: str) -> None:
    battery = Battery(
        id="bat",
        name="Battery",
        panel_id="backed",
        usable_kwh=10,
        inverter_kw=5,
        grid_forming=forms,
    )
    site = with_parts(backed_up_site(), batteries=(battery,))
    assert codes(site) == [code]
    assert the(site, code).severity == severity
    assert "Panel backed, which Generator set can energise" in the(site, code).text
    assert ("not modelled: ask the installer" in the(site, code).text) is forms


# --- breakers --------------------------------------------------------------------------------


def test_a_breaker_larger_than_its_panel_blocks() -> None:
    site = with_parts(
        normal_only_site(),
        services=(service(main_a=60),),
        panels=(panel("main", rating_a=60, neutral_bonded=True),),
        circuits=(circuit("a", "main", 1, 3, breaker_a=70),),
    )
    assert codes(site) == ["breaker-above-panel"]
    assert the(site, "breaker-above-panel").text == (
        "The 70 A breaker of Circuit a is larger than Panel main is rated for (60 A)."
    )


@pytest.mark.parametrize(("main_a", "blocked"), [(None, True), (100, False), (200, True)])
def test_a_panel_protected_above_its_rating_blocks(main_a: float | None, blocked: bool) -> None:
    small = panel("main", rating_a=100, main_a=main_a, neutral_bonded=True)
    found = codes(with_parts(normal_only_site(), panels=(small,)))
    assert found == (["panel-above-rating"] if blocked else [])


def test_a_lug_fed_subpanel_is_protected_by_its_feeder_breaker() -> None:
    site = backed_up_site()
    for breaker_a, blocked in ((100, False), (125, True)):
        barn = with_parts(
            site,
            panels=(*site.panels, panel("barn", rating_a=100)),
            feeders=(*site.feeders, feeder("main", "barn", breaker_a=breaker_a, spaces=(18, 20))),
        )
        assert ("panel-above-rating" in codes(barn)) is blocked


def test_feed_through_lugs_carry_the_upstream_main() -> None:
    site = normal_only_site()
    barn = with_parts(
        site,
        panels=(*site.panels, panel("barn", rating_a=125)),
        feeders=(*site.feeders, feeder("main", "barn")),
    )
    assert "protected at 200 A by the main of Panel main" in the(barn, "panel-above-rating").text


def test_either_feed_of_a_panel_can_be_too_large() -> None:
    site = double_throw_site()
    feeders = tuple(
        f.model_copy(update={"breaker_a": 125}) if f.to_input == "backed_up" else f
        for f in site.feeders
    )
    found = codes(with_parts(site, feeders=feeders))
    assert found == ["panel-above-rating", "breaker-above-switch"]


def test_a_transfer_switch_behind_a_larger_breaker_blocks() -> None:
    switch = TransferSwitch(id="ats", name="Transfer switch", rating_a=100, service_rated=True)
    site = with_parts(whole_house_site(), transfer_switches=(switch,))
    assert the(site, "breaker-above-switch").text == (
        "Transfer switch is rated 100 A but stands behind the main of Service grid of 200 A."
    )


@pytest.mark.parametrize("part", ["receptacle_a", "cord_a", "inlet_a"])
def test_a_cord_smaller_than_the_breaker_of_the_set_blocks(part: str) -> None:
    site = with_parts(interlock_site(), generators=(portable(**{part: 20}),))
    found = the(site, "breaker-above-cord")
    assert found.severity == "blocking"
    assert "is rated 20 A, but its breaker lets 30 A through" in found.text


@pytest.mark.parametrize(
    ("parts", "word"),
    [
        ({"cord_a": 30}, "cord"),
        ({"inlet_a": 30}, "inlet"),
        ({"cord_a": 40, "inlet_a": 30}, "inlet"),
        ({}, ""),
        ({"receptacle_a": None, "cord_a": 30}, ""),
    ],
)
def test_an_outlet_lets_its_own_amps_through_where_its_breaker_is_not_told(
    parts: dict[str, float | None], word: str
) -> None:
    every = {"breaker_a": None, "receptacle_a": 50, "cord_a": 50, "inlet_a": 50} | parts
    site = with_parts(interlock_site(), generators=(portable(**every),))
    assert ("breaker-above-cord" in codes(site)) == bool(word)
    if word:
        found = the(site, "breaker-above-cord")
        assert found.severity == "blocking"
        assert found.text.startswith(f"The {word} of")
        assert "is rated 30 A, but its outlet lets 50 A through." in found.text
        assert "The breaker of that outlet is not told: read it." in found.text
        assert f"{word} rated 50 A" in found.mend


def test_a_told_breaker_is_believed_over_the_outlet() -> None:
    parts = {"breaker_a": 30, "receptacle_a": 50, "cord_a": 30, "inlet_a": 50}
    site = with_parts(interlock_site(), generators=(portable(**parts),))
    assert "breaker-above-cord" not in codes(site)


def test_ratings_that_are_not_entered_are_not_guessed() -> None:
    bare = portable(breaker_a=None, receptacle_a=None, cord_a=None, inlet_a=None)
    assert codes(with_parts(interlock_site(), generators=(bare,))) == []


# --- interlocks ---


@pytest.mark.parametrize(
    ("main_a", "feeder_a", "blocked"), [(None, None, True), (None, 100, False), (100, None, False)]
)
def test_an_interlock_needs_a_breaker_to_hold(
    main_a: float | None, feeder_a: float | None, blocked: bool
) -> None:
    site = interlock_site()
    feeders = tuple(
        f.model_copy(update={"breaker_a": feeder_a}) if f.to_input == "utility" else f
        for f in site.feeders
    )
    bare = panel("main", rating_a=100, main_a=main_a, neutral_bonded=True)
    found = hazards(with_parts(site, panels=(bare,), feeders=feeders))
    assert [(f.code, f.severity) for f in found] == (
        [("interlock-without-main", "blocking")] if blocked else []
    )
