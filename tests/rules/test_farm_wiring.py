"""What Article 547 asks of farm buildings; the sources stand with its figures."""

from __future__ import annotations

import pytest

from server.domain.catalogue import KINDS
from server.domain.supply import Segment
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import codes, found, of_kind, plain
from tests.rules.sound import checked

ALL = {"farm-building-wiring", "livestock-bonding", "site-isolating-device"}


def _spaces(n, kind):
    return (4 * n + 1, 4 * n + 3) if KINDS[kind].volts == 240 else (4 * n + 1,)


def farm(*kinds, area="", house=True, name="Panel barn", detached=True):
    """A house and a panel of another building with these kinds behind it."""
    own = [
        of_kind(f"k{n}", "barn", _spaces(n, kind), kind).model_copy(
            update={"area": area, "place": "outbuilding"}
        )
        for n, kind in enumerate(kinds)
    ]
    lights = (of_kind("lights", "main", (1,), "lighting"),) if house else ()
    return plain(
        *lights,
        *own,
        panels=(
            builders.panel("main", main_a=200, neutral_bonded=True),
            builders.panel("barn", rating_a=100, detached_building=detached, name=name),
        ),
        feeders=(builders.feeder("grid", "main"), builders.feeder("main", "barn", breaker_a=60)),
    )


def test_a_farm_building_is_told_how_it_is_wired():
    one = found(farm("grow-lights"), "farm-building-wiring")
    assert (one.severity, one.element_id) == ("note", "barn")
    assert one.text.startswith("Panel barn stands in a building of a farm. Where feed")
    assert "insulated where it is buried" in one.text


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (("irrigation-pump",), False),
        (("irrigation-pump", "lighting"), False),
        (("irrigation-pump", "grow-lights"), True),
    ],
)
def test_water_alone_is_neither_dust_nor_what_corrodes(kinds, told):
    """547.1 is for dust, dust with water, and a corrosive atmosphere."""
    assert ("farm-building-wiring" in codes(farm(*kinds))) == told


def test_a_panel_of_several_buildings_names_them():
    site = farm("grow-lights", area="Hoop house", detached=False)
    assert found(site, "farm-building-wiring").text.startswith(
        "Panel barn feeds Hoop house, a building of a farm."
    )


@pytest.mark.parametrize("kinds", [("plugs",), ("workshop-plugs", "lighting"), ()])
def test_a_shed_or_a_house_alone_is_told_nothing(kinds):
    assert not ALL & codes(farm(*kinds))


@pytest.mark.parametrize(
    ("kinds", "area", "name", "told"),
    [
        (("stock-tank-heater",), "", "Panel barn", True),
        (("heated-waterer",), "", "Panel barn", True),
        (("grow-lights",), "", "Panel barn", False),
        (("ventilation-fan",), "Hen house", "Panel barn", False),  # poultry is no livestock
        (("stock-tank-heater",), "Hen house", "Panel barn", False),
        (("heated-waterer",), "Chicken run", "Panel barn", False),
        (("stock-tank-heater",), "Hen house and sheep pen", "Panel barn", True),
        (("ventilation-fan",), "Milking parlor", "Panel barn", True),
        (("ventilation-fan",), "", "Horse barn", True),
        (("ventilation-fan",), "", "Seahorse house", False),
    ],
)
def test_livestock_is_told_by_what_is_there_and_by_names(kinds, area, name, told):
    site = farm(*kinds, area=area, name=name)
    assert ("livestock-bonding" in codes(site)) == told
    if told:
        one = found(site, "livestock-bonding")
        assert one.element_id == "barn"
        assert f"kept at {name}." in one.text
        assert "8 copper" in one.text


def test_one_building_alone_has_no_place_that_feeds_several():
    assert "site-isolating-device" in codes(farm("grow-lights"))
    one = found(farm("grow-lights"), "site-isolating-device")
    assert one.element_id == "grid"
    assert "Panel barn, a building of a farm and what else is on it." in one.text
    assert "site-isolating-device" not in codes(farm("grow-lights", house=False))


def test_two_farm_buildings_are_several_without_a_house():
    site = farm("grow-lights", house=False)
    more = of_kind("more", "sty", (1,), "grow-lights").model_copy(update={"place": "outbuilding"})
    site = with_parts(
        site,
        panels=(*site.panels, builders.panel("sty", rating_a=100, detached_building=True)),
        feeders=(*site.feeders, builders.feeder("main", "sty", breaker_a=60)),
        circuits=(*site.circuits, more),
    )
    one = found(site, "site-isolating-device")
    assert "Panel barn and Panel sty, buildings of a farm." in one.text
    wired = [f for f in checked(site).findings if f.code == "farm-building-wiring"]
    assert [f.element_id for f in wired] == ["barn", "sty"]


def test_another_service_is_not_told_of_it():
    site = farm("grow-lights")
    site = with_parts(
        site,
        services=(*site.services, builders.service("second")),
        panels=(*site.panels, builders.panel("other", main_a=100, neutral_bonded=True)),
        feeders=(*site.feeders, builders.feeder("second", "other")),
        circuits=(*site.circuits, of_kind("den", "other", (1,), "plugs")),
    )
    told = [f.element_id for f in checked(site).findings if f.code == "site-isolating-device"]
    assert told == ["grid"]


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("farm-building-wiring", "547.5", "547.20, 547.22, 547.27"),
        ("livestock-bonding", "547.10", "547.44"),
        ("site-isolating-device", "547.9(A)", "547.40, 547.41"),
    ],
)
def test_the_article_was_numbered_anew_in_2023(code, old, new):
    site = farm("stock-tank-heater")
    for edition, section in (("2017", old), ("2020", old), ("2023", new), ("2026", new)):
        assert found(site, code, edition=edition).section == section
    assert found(site, code, edition="2020").source.startswith("verified")
    assert found(site, code).source.startswith("from memory")


def buried(metal, *, kinds=("stock-tank-heater",)):
    laid = Segment(
        run_ft=100,
        size="1/0",
        metal="aluminum",
        ground_size="4",
        ground_metal=metal,
        raceway="pvc40",
        raceway_trade_size="2",
        terminal_c=75,
        wet=True,
    )
    site = farm(*kinds)
    feeders = tuple(
        f.model_copy(update={"segments": (laid,)}) if f.to_id == "barn" else f for f in site.feeders
    )
    return with_parts(site, feeders=feeders)


@pytest.mark.parametrize(
    ("edition", "section"),
    [("2017", "547.5(F)"), ("2020", "547.5(F)"), ("2023", "547.27"), ("2026", "547.27")],
)
def test_a_ground_of_aluminum_to_a_farm_building_is_found(edition, section):
    """A ground is copper there, and insulated or covered where it is buried (from memory)."""
    one = found(buried("aluminum"), "farm-ground-aluminum", edition=edition)
    assert (one.severity, one.element_id, one.section) == ("warning", "main-barn", section)
    assert "is 4 aluminum" in one.text
    assert "insulated or covered where it is buried" in one.text


def test_copper_of_the_same_size_clears_it():
    one = found(buried("aluminum"), "farm-ground-aluminum", recheck=True)
    assert one.recheck is not None
    assert "a ground of 4 copper" in one.recheck.said
    assert "is gone, and no other finding is new or worse" in one.recheck.said
    assert "farm-ground-aluminum" not in codes(buried("copper"))


def test_a_ground_of_aluminum_to_a_shed_is_let_be():
    assert "farm-ground-aluminum" not in codes(buried("aluminum", kinds=("plugs",)))


@pytest.mark.parametrize(
    ("name", "area", "asked"),
    [
        ("Horse barn", "", True),
        ("Dairy barn", "", True),
        ("Chicken coop", "", True),
        ("Stable", "", True),
        ("North panel", "Cattle barn", True),
        ("North panel", "Hog house", True),
        ("North panel", "", False),
        ("Barney’s shop", "", False),
        ("Pump house", "", False),
    ],
)
def test_a_building_for_animals_by_its_name_is_asked_about(name, area, asked):
    """547.1 goes by dust and by what corrodes, which plugs and lights do not tell."""
    site = farm("plugs", "lighting", name=name, area=area)
    assert ("farm-building-asked" in codes(site)) == asked
    assert not ALL & codes(site)
    if asked:
        one = found(site, "farm-building-asked")
        assert (one.severity, one.element_id) == ("note", "barn")
        assert (area or name) in one.text


def test_water_alone_in_a_barn_is_asked_about_by_its_name():
    assert "farm-building-asked" in codes(farm("irrigation-pump", name="Cattle barn"))


def test_a_farm_building_told_by_its_kinds_is_not_asked_about():
    assert "farm-building-asked" not in codes(farm("stock-tank-heater", name="Cattle barn"))


def test_a_barn_that_is_the_house_is_let_be():
    assert "farm-building-asked" not in codes(farm("plugs", name="Barn", detached=False))


@pytest.mark.parametrize(
    ("kind", "ground"), [("grow-lights", "copper"), ("irrigation-pump", "aluminum")]
)
def test_a_larger_wire_to_a_farm_building_comes_with_a_ground_of_copper(kind, ground):
    """547.27 (547.5(F) before 2023): 10 copper for 60 A by Table 250.122, 8 aluminum elsewhere."""
    site = farm(kind)
    wire = Segment(
        run_ft=300,
        size="4",
        metal="aluminum",
        neutral_size="4",
        ground_size="8",
        ground_metal="aluminum",
    )
    feeders = (site.feeders[0], site.feeders[1].model_copy(update={"segments": (wire,)}))
    welder = of_kind("welder", "barn", (13, 15), "welder").model_copy(
        update={"place": "outbuilding"}
    )
    site = with_parts(site, circuits=(*site.circuits, welder), feeders=feeders)
    drop = found(site, "drop-above-advice")
    assert drop.advised.ground.endswith(ground)
    assert f"with a ground of {drop.advised.ground}" in drop.mend
