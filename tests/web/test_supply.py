from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from server.domain.current_path import GROUPS, current_path
from server.domain.site import Site
from server.domain.topology import bus_of_panel
from server.rules.hazards import hazards
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.new_site import empty_house
from server.web.supply_fields import ASKS
from server.web.supply_form import spaces_in, spaces_text
from server.web.supply_view import KINDS_OF_PART, supply_rows
from tests.builders import EVERY_SITE, double_throw_site
from tests.web.conftest import form_in, problem_at


@pytest.fixture
def house(sites: SiteStore) -> StoredSite:
    """One service and one panel."""
    return sites.create(empty_house("Fern Cottage"))


FIXED = {"portable": "off", "start": "automatic"}
"""What must be chosen of a set: it stands fixed and starts by itself."""


def add(browser: TestClient, house: StoredSite, kind: str, /, **typed: str):
    path = f"/sites/{house.id}/new-part/{kind}"
    return browser.post(path, data=form_in(browser.get(path).text, path) | typed)


def test_parts_are_listed_in_the_order_of_the_current(browser: TestClient, stored: StoredSite):
    page = browser.get(f"/sites/{stored.id}/supply").text
    shown = re.findall(r'id="part-([\w-]+)"', page)
    assert shown == [step.part.id for step in current_path(stored.site)]


def test_bus_of_a_panel_is_read_off_the_wiring():
    rows = {row.id: row for row in supply_rows(double_throw_site())}
    assert [rows[i].bus_name for i in ("main", "backed", "swing")] == [
        "Normal",
        "Backed-up",
        "Switchable",
    ]


def test_an_empty_supply_teaches(browser: TestClient, sites: SiteStore):
    made = sites.create(Site(name="Nothing"))
    page = browser.get(f"/sites/{made.id}/supply").text
    assert "Nothing feeds this house yet." in page
    assert page.count('class="addparts"') == 1


@pytest.mark.parametrize("name", sorted(EVERY_SITE))
def test_every_part_of_every_way_of_feeding_saves_unchanged(
    browser: TestClient, sites: SiteStore, name: str
):
    made = sites.create(EVERY_SITE[name]())
    for step in current_path(made.site):
        path = f"/sites/{made.id}/supply/{step.part.id}"
        answer = browser.post(path, data=form_in(browser.get(path).text, path))
        assert answer.status_code == 303
    assert sites.get(made.id).site == made.site
    assert sites.get(made.id).revision == 1


def test_every_field_of_every_part_is_asked_for():
    never = {"id", "panel_id", "from_id", "to_id", "to_input", "told"}
    for group, model in GROUPS.items():
        asked = {ask.name.partition(".")[0] for ask in ASKS[group].all} | set(ASKS[group].lists)
        assert asked | never == set(model.model_fields) | never


def test_figures_of_a_part_are_saved(browser: TestClient, sites: SiteStore, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    fields |= {"rated_kw": "18", "neutral_bonded": "on", "tank.capacity_gal": "1,000"}
    fields |= {"fuel_points.0.load_kw": "5", "fuel_points.0.rate_per_h": "1.4"}
    fields |= {"fuel_points.1.load_kw": "10", "fuel_points.1.rate_per_h": "2"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/sites/{stored.id}/supply#part-set"
    made = sites.get(stored.id).site.generators[0]
    assert (made.rated_kw, made.neutral_bonded, len(made.fuel_points)) == (18, True, 2)
    assert made.tank is not None
    assert (made.tank.capacity_gal, made.tank.fill_share) == (1000, 0.8)
    assert sites.get(stored.id).undo_label == "Change Generator set"


def test_a_tank_without_gallons_is_no_tank(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    browser.post(path, data=fields | {"tank.capacity_gal": "250"})
    fields = form_in(browser.get(path).text, path)
    assert fields["tank.reserve_share"] == "20"
    browser.post(path, data=fields | {"tank.capacity_gal": ""})
    assert sites.get(stored.id).site.generators[0].tank is None


def test_shares_are_asked_in_per_cent(browser: TestClient, sites: SiteStore, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    assert (fields["altitude_derate_per_1000ft"], fields["heat_derate_per_10f"]) == ("3.5", "1")
    fields |= {"tank.capacity_gal": "250", "heat_derate_per_10f": "1.5"}
    refused = browser.post(path, data=fields | {"tank.fill_share": "180"})
    assert refused.status_code == 422
    assert "0 to 100 % is permitted." in refused.text
    assert 'value="180"' in refused.text
    browser.post(path, data=fields | {"tank.fill_share": "75 %"})
    made = sites.get(stored.id).site.generators[0]
    assert made.tank is not None
    assert (made.heat_derate_per_10f, made.tank.fill_share) == (0.015, 0.75)


def test_more_rows_keep_what_was_typed(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path) | {"segments.0.run_ft": "77", "act": "rows"}
    page = browser.post(path, data=fields).text
    assert 'value="77"' in page
    assert 'name="segments.1.run_ft"' in page


def test_figure_that_is_no_number_is_told_beside_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path) | {"rated_kw": "lots", "inlet_a": "-3"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert problem_at(answer.text, "rated_kw") == "Write a number, such as 12.5."
    assert problem_at(answer.text, "inlet_a")
    assert 'value="lots"' in answer.text
    assert re.search(r'<details class="part more" open>', answer.text)
    assert sites.get(stored.id).revision == stored.revision


def test_panel_that_would_be_fed_by_nothing_is_refused_and_what_was_typed_kept(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path)
    answer = browser.post(path, data=fields | {"to": "throw/normal", "name": "My feeder"})
    assert answer.status_code == 422
    assert "Panel backed is fed by nothing. Draw a feeder to it." in answer.text
    assert "Double-throw already has a feeder on its normal side." in answer.text
    assert 'value="My feeder"' in answer.text
    assert '<option value="throw/normal" selected>' in answer.text
    assert sites.get(stored.id).site == stored.site


def test_feeder_that_starts_elsewhere_changes_the_bus(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path) | {"from_id": "main"}
    assert browser.post(path, data=fields).status_code == 303
    assert bus_of_panel(sites.get(stored.id).site)["backed"].kind == "normal"


def test_loop_is_refused_in_plain_words(browser: TestClient, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/grid-main"
    fields = form_in(browser.get(path).text, path) | {"from_id": "backed"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert "feeds itself through a loop" in answer.text


def test_panel_is_added_with_the_feeder_that_feeds_it(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    answer = add(
        browser, stored, "panel", name="Shed panel", fed_from="backed", feed_breaker_a="50"
    )
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/sites/{stored.id}/supply#part-shed-panel"
    site = sites.get(stored.id).site
    feeder = site.feeder_into("shed-panel")
    assert feeder is not None
    assert (feeder.from_id, feeder.breaker_a) == ("backed", 50)
    assert len(feeder.spaces) == 2
    assert feeder.figure_source == site.panel("shed-panel").figure_source == "guess"
    assert bus_of_panel(site)["shed-panel"].kind == "backed_up"
    browser.post(f"/sites/{stored.id}/undo", data={"revision": str(sites.get(stored.id).revision)})
    assert sites.get(stored.id).site == stored.site


def test_wrong_breaker_of_a_new_panel_is_told_beside_it(browser: TestClient, stored: StoredSite):
    answer = add(browser, stored, "panel", name="Shed panel", feed_breaker_a="sixty")
    assert answer.status_code == 422
    assert problem_at(answer.text, "feed_breaker_a") == "Write a number, such as 12.5."
    assert 'value="Shed panel"' in answer.text


def test_panel_from_a_full_panel_is_added_without_spaces(browser: TestClient, sites: SiteStore):
    full = double_throw_site()
    full = full.model_copy(
        update={
            "panels": (
                full.panels[0],
                full.panels[1].model_copy(update={"spaces": 7}),
                full.panels[2],
            )
        }
    )
    stored = sites.create(full)
    answer = add(browser, stored, "panel", name="Shed panel", fed_from="backed")
    assert answer.status_code == 303
    assert sites.get(stored.id).site.feeder_into("shed-panel").spaces == ()


def test_own_house_is_built_from_nothing_with_all_three_buses(
    browser: TestClient, sites: SiteStore
):
    made = sites.create(Site(name="Own house"))
    assert add(browser, made, "service", main_a="150").status_code == 303
    assert add(browser, made, "generator", rated_kw="14", **FIXED).status_code == 303
    answer = add(browser, made, "transfer-switch", feed_breaker_a="60")
    assert answer.status_code == 303
    answer = add(browser, made, "double-throw", feed_breaker_a="50")
    assert answer.status_code == 303
    assert add(browser, made, "solar", ac_kw="5").status_code == 303
    assert add(browser, made, "battery").status_code == 303
    site = sites.get(made.id).site
    kinds = {site.panel(i).name: bus.kind for i, bus in bus_of_panel(site).items()}
    assert kinds == {
        "Utility service panel": "normal",
        "Backed-up panel": "backed_up",
        "Switchable panel": "switchable",
    }
    assert site.solar[0].panel_id == "utility-service-panel"
    spaces = [s for f in site.feeders if f.from_id == "utility-service-panel" for s in f.spaces]
    spaces += site.solar[0].spaces
    assert len(set(spaces)) == len(spaces) == 6
    assert "backed-up-input-dead" not in {f.code for f in hazards(site)}


def test_switch_ahead_of_the_panel_backs_the_whole_house_up(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    answer = add(
        browser, house, "transfer-switch", ahead="main-panel", generator_from="new", rating_a="200"
    )
    assert answer.status_code == 303
    site = sites.get(house.id).site
    assert bus_of_panel(site)["main-panel"].kind == "backed_up"
    assert site.feeder_into("transfer-switch", "utility").from_id == "service"
    assert site.generators[0].figure_source == "guess"
    assert len(site.panels) == 1


def test_switch_ahead_of_a_panel_can_take_its_utility_side_from_elsewhere(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    answer = add(browser, stored, "transfer-switch", ahead="swing", utility_from="main")
    assert answer.status_code == 303
    site = sites.get(stored.id).site
    assert site.feeder_into("swing").from_id == "transfer-switch-2"
    assert bus_of_panel(site)["swing"].kind == "backed_up"


def test_handle_set_needs_only_its_generator_side(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    answer = add(browser, house, "transfer-switch", kind="handles", generator_from="new")
    assert answer.status_code == 303
    site = sites.get(house.id).site
    assert [f.to_input for f in site.feeders_into["transfer-switch"]] == ["generator"]


def test_second_service_takes_over_a_panel(
    browser: TestClient, sites: SiteStore, house: StoredSite
):
    answer = add(browser, house, "service", name="New meter", feeds="main-panel")
    assert answer.status_code == 303
    site = sites.get(house.id).site
    assert site.feeder_into("main-panel").from_id == "new-meter"
    assert len(site.feeders) == 1


def test_generator_takes_the_place_of_another(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    answer = add(browser, stored, "generator", name="Larger set", feeds="ats/generator", **FIXED)
    assert answer.status_code == 303
    assert sites.get(stored.id).site.feeder_into("ats", "generator").from_id == "larger-set"


def test_new_feeder_replaces_the_one_on_its_input(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    answer = add(
        browser, stored, "feeder", name="New run", from_id="main", to="swing", breaker_a="60"
    )
    assert answer.status_code == 303
    site = sites.get(stored.id).site
    (feeder,) = site.feeders_into["swing"]
    assert (feeder.id, len(feeder.spaces)) == ("new-run", 2)
    assert len(site.feeders) == len(stored.site.feeders)


@pytest.mark.parametrize("kind", sorted(KINDS_OF_PART))
def test_every_new_part_begins_as_a_guess_that_can_be_added(
    browser: TestClient, sites: SiteStore, stored: StoredSite, kind: str
):
    answer = add(browser, stored, kind, **(FIXED if kind == "generator" else {}))
    assert answer.status_code == 303
    group = KINDS_OF_PART[kind]
    part = getattr(sites.get(stored.id).site, group)[-1]
    if group != "batteries":
        assert part.figure_source == "guess"
    page = browser.get(f"/sites/{stored.id}/supply").text
    assert f'id="part-{part.id}"' in page


def test_names_no_form_of_ours_has_are_left_out(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/ats-backed"
    fields = form_in(browser.get(path).text, path)
    fields |= {"segments.x": "1", "segments.0": "2", "segments.0.a.b": "3", "tank": "4"}
    assert browser.post(path, data=fields).status_code == 303
    assert sites.get(stored.id).site == stored.site


def test_unknown_kind_of_part_is_not_here(browser: TestClient, stored: StoredSite):
    assert browser.get(f"/sites/{stored.id}/new-part/windmill").status_code == 404
    assert browser.get(f"/sites/{stored.id}/supply/windmill").status_code == 404


def test_part_saved_by_somebody_else_first_shows_both(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/set"
    fields = form_in(browser.get(path).text, path)
    browser.post(path, data=fields | {"rated_kw": "22"})
    answer = browser.post(path, data=fields | {"rated_kw": "18"})
    assert answer.status_code == 409
    assert "saved meanwhile: <b>22</b>" in answer.text
    again = form_in(answer.text, path)
    assert browser.post(path, data=again).status_code == 303
    assert sites.get(stored.id).site.generators[0].rated_kw == 18


def test_part_deleted_by_somebody_else_stands_as_a_new_one(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    path = f"/sites/{stored.id}/supply/swing"
    fields = form_in(browser.get(path).text, path) | {"name": "Kept panel"}
    gone = f"{path}/delete"
    assert browser.post(gone, data=form_in(browser.get(gone).text, gone)).status_code == 303
    answer = browser.post(path, data=fields)
    assert answer.status_code == 409
    assert "Kept panel was deleted meanwhile." in answer.text
    here = f"/sites/{stored.id}/new-part/panel"
    assert browser.post(here, data=form_in(answer.text, here)).status_code == 303
    assert "Kept panel" in {p.name for p in sites.get(stored.id).site.panels}


def test_spaces_are_read_as_people_list_them(browser: TestClient, stored: StoredSite):
    assert spaces_in("13 - 15; 20,22 24–25") == (13, 14, 15, 20, 22, 24, 25)
    assert spaces_in("") == ()
    assert spaces_text((22, 13, 14, 15)) == "13-15, 22"
    path = f"/sites/{stored.id}/supply/main"
    fields = form_in(browser.get(path).text, path) | {"tandem_spaces": "17 to 20"}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert "“to” is no space." in problem_at(answer.text, "tandem_spaces")


def test_names_are_escaped(browser: TestClient, sites: SiteStore):
    site = double_throw_site()
    named = site.generators[0].model_copy(update={"name": "<script>alert(1)</script>"})
    made = sites.create(site.model_copy(update={"generators": (named,)}))
    for path in ("supply", "supply/set", "supply/set/delete", "new-part/transfer-switch"):
        assert "<script>alert" not in browser.get(f"/sites/{made.id}/{path}").text


def test_a_supply_can_be_told_to_be_a_feeder_of_its_building(
    browser: TestClient, house: StoredSite, sites: SiteStore
):
    (service,) = house.site.services
    path = f"/sites/{house.id}/supply/{service.id}"
    page = browser.get(path).text
    assert "It is a feeder from the building’s service" in page
    answer = browser.post(path, data=form_in(page, path) | {"building_feeder": "on"})
    assert answer.status_code == 303
    assert sites.get(house.id).site.services[0].building_feeder
    assert "a feeder from the building’s service" in browser.get(f"/sites/{house.id}/supply").text
