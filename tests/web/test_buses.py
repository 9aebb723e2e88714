from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.board import board
from server.web.board_edits import give_role, move_to, site_before
from tests.builders import (
    EVERY_SITE,
    backed_up_site,
    circuit,
    handle_set_site,
    panel,
    whole_house_site,
    with_parts,
)

HX = {"HX-Request": "true", "HX-Request-Type": "partial"}


def post(
    browser: TestClient, stored: StoredSite, where: str, *, hx: bool = False, **fields: Any
) -> Any:
    data = {"revision": str(stored.revision), "scenario": "out", **fields}
    return browser.post(f"/sites/{stored.id}/buses/{where}", data=data, headers=HX if hx else {})


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_circuit_stands_on_the_board_once_with_its_riders(
    name: str, browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(EVERY_SITE[name]())
    text = browser.get(f"/sites/{stored.id}/buses").text
    for own in stored.site.circuits:
        assert text.count(f'id="c-{own.id}"') == 1
        assert all(a.name in text for a in own.appliances)
    assert "may require new protection, wire and a permit" in text


def test_a_move_without_script_saves_and_shows_what_it_did(
    browser: TestClient, sites: SiteStore, stored: StoredSite
) -> None:
    answer = post(browser, stored, "move", circuit="d", to="panel:main")
    assert answer.status_code == 303
    assert sites.get(stored.id).site.circuit("d").panel_id == "main"
    page = browser.get(answer.headers["location"]).text
    assert "Circuit d moved to Panel main, spaces" in page
    assert 'id="outcome"' in page
    assert "Before: Holds" in page


def test_a_move_with_script_answers_with_the_board_status_and_undo(
    browser: TestClient, stored: StoredSite
) -> None:
    answer = post(browser, stored, "move", hx=True, circuit="d", to="panel:main")
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="board"')
    assert 'id="status"' in answer.text
    assert 'id="undo"' in answer.text
    assert answer.headers["HX-Push-Url"].startswith(f"/sites/{stored.id}/buses?scenario=out")
    assert "<html" not in answer.text


def test_script_and_no_script_see_the_same_outcome(browser: TestClient, stored: StoredSite) -> None:
    answer = post(browser, stored, "move", hx=True, circuit="d", to="panel:main")
    page = browser.get(answer.headers["HX-Push-Url"]).text
    tally = re.compile(r"Limits: [^<]*")
    assert tally.search(answer.text)[0] == tally.search(page)[0]


def test_a_full_panel_refuses_beside_the_circuit_and_changes_nothing(
    browser: TestClient, sites: SiteStore
) -> None:
    base = backed_up_site()
    small = tuple(panel("backed", spaces=8) if p.id == "backed" else p for p in base.panels)
    full = (*base.circuits, *(circuit(f"f{n}", "backed", n) for n in (2, 4, 6, 8)))
    stored = sites.create(with_parts(base, panels=small, circuits=full))
    answer = post(browser, stored, "move", hx=True, circuit="a", to="panel:backed")
    assert answer.status_code == 422
    row = answer.text[answer.text.index('id="c-a"') :]
    row = row[: row.index("</li>")]
    assert "Panel backed has no free place for Circuit a" in row
    assert " open>" in row
    assert sites.get(stored.id).revision == stored.revision


def test_a_target_without_room_is_shown_and_cannot_be_chosen(
    browser: TestClient, sites: SiteStore
) -> None:
    base = backed_up_site()
    small = tuple(panel("backed", spaces=8) if p.id == "backed" else p for p in base.panels)
    full = (*base.circuits, *(circuit(f"f{n}", "backed", n) for n in (2, 4, 6, 8)))
    stored = sites.create(with_parts(base, panels=small, circuits=full))
    text = browser.get(f"/sites/{stored.id}/buses").text
    assert re.search(r'value="panel:backed" disabled>.*?no free space', text)


def test_a_pinned_circuit_does_not_move_until_unpinned(
    browser: TestClient, sites: SiteStore, stored: StoredSite
) -> None:
    assert post(browser, stored, "pin", circuit="d", pinned="on").status_code == 303
    pinned = sites.get(stored.id)
    refused = post(browser, pinned, "move", circuit="d", to="panel:main")
    assert refused.status_code == 422
    assert "Circuit d is pinned. Unpin it first." in refused.text
    assert post(browser, pinned, "pin", circuit="d", pinned="off").status_code == 303
    assert not sites.get(stored.id).site.circuit("d").pinned


def test_a_multiwire_pair_moves_together_and_says_so(browser: TestClient, sites: SiteStore) -> None:
    base = backed_up_site()
    pair = (
        circuit("m1", "main", 9, load_w=100, multiwire_partner_id="m2"),
        circuit("m2", "main", 11, load_w=100, multiwire_partner_id="m1"),
    )
    stored = sites.create(with_parts(base, circuits=(*base.circuits, *pair)))
    before = browser.get(f"/sites/{stored.id}/buses").text
    assert "shares a neutral with Circuit m2" in before
    answer = post(browser, stored, "move", hx=True, circuit="m1", to="panel:backed")
    assert "moved to Panel backed together: they share a neutral" in answer.text
    moved = sites.get(stored.id).site
    assert {moved.circuit(c).panel_id for c in ("m1", "m2")} == {"backed"}


def test_a_stale_move_is_told_and_writes_nothing(
    browser: TestClient, sites: SiteStore, stored: StoredSite
) -> None:
    assert post(browser, stored, "pin", circuit="a", pinned="on").status_code == 303
    answer = post(browser, stored, "move", hx=True, circuit="d", to="panel:main")
    assert answer.status_code == 409
    assert "Somebody saved first" in answer.text
    assert sites.get(stored.id).site.circuit("d").panel_id == "backed"


def test_unknown_circuits_and_panels_are_plain_refusals(
    browser: TestClient, stored: StoredSite
) -> None:
    assert post(browser, stored, "move", circuit="no", to="panel:main").status_code == 404
    assert post(browser, stored, "move", circuit="d", to="panel:no").status_code == 404
    assert post(browser, stored, "move", circuit="d", to="").status_code == 404
    assert post(browser, stored, "role", circuit="d", role="sometimes").status_code == 422


def test_a_role_is_given_and_its_effect_compared(
    browser: TestClient, sites: SiteStore, stored: StoredSite
) -> None:
    answer = post(browser, stored, "role", hx=True, circuit="d", role="off")
    assert answer.status_code == 200
    assert sites.get(stored.id).site.circuit("d").outage_role == "off"
    assert "Circuit d is off while the generator runs." in answer.text
    assert "better" in re.search(r"Limits: [^<]*", answer.text)[0]
    assert "Circuit d asks for power and gets none" in answer.text


def test_a_house_without_a_normal_bus_offers_roles_in_the_open(
    browser: TestClient, sites: SiteStore
) -> None:
    stored = sites.create(whole_house_site())
    text = browser.get(f"/sites/{stored.id}/buses").text
    assert "Everything here moves to the generator together" in text
    assert text.count('class="inrole"') == len(stored.site.circuits)


def test_a_circuit_goes_onto_a_handle_and_off_again(browser: TestClient, sites: SiteStore) -> None:
    stored = sites.create(handle_set_site())
    on = post(browser, stored, "move", circuit="c", to="handle:handles")
    assert on.status_code == 303
    saved = sites.get(stored.id)
    assert [h.circuit_id for h in saved.site.transfer_switches[0].handles] == ["a", "b", "c"]
    off = post(browser, saved, "move", circuit="a", to="panel:main")
    assert off.status_code == 303
    handles = sites.get(stored.id).site.transfer_switches[0].handles
    assert [h.circuit_id for h in handles] == ["b", "c"]


@pytest.mark.parametrize("edit", ["move", "role", "on", "off"])
def test_the_way_back_leads_to_the_very_site_that_was_left(edit: str) -> None:
    site = handle_set_site() if edit in ("on", "off") else backed_up_site()
    made = {
        "move": lambda: move_to(site, "d", "panel:main"),
        "role": lambda: give_role(site, "d", "off"),
        "on": lambda: move_to(site, "c", "handle:handles"),
        "off": lambda: move_to(site, "b", "panel:main"),
    }[edit]()
    back = site_before(made.site, made.way_back)
    assert back is not None
    assert back[0] == site


def test_an_address_that_makes_no_sense_shows_the_board_without_a_comparison(
    browser: TestClient, stored: StoredSite
) -> None:
    for query in ("moved=no", "moved=d&from=no", "moved=d&from=main&spaces=x", "moved=d&role=no"):
        answer = browser.get(f"/sites/{stored.id}/buses?{query}")
        assert answer.status_code == 200
        assert 'id="outcome"' not in answer.text


def test_limits_that_did_not_move_have_no_ghost() -> None:
    site = backed_up_site()
    scenario = site.scenario("out")
    after = move_to(site, "d", "panel:main").site
    made = board(after, cached_run(after, scenario), cached_run(site, scenario), "d")
    bars = [bar for _, buses in made.columns for bus in buses for bar in bus.limits]
    assert any(bar.change for bar in bars)
    for bar in bars:
        assert bar.bar.has_before == bool(bar.change)


def test_a_role_goes_to_both_of_a_pair_and_a_panel_is_not_moved_to_twice(
    browser: TestClient, sites: SiteStore
):
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    stored = sites.create(farm)
    root = f"/sites/{stored.id}/buses"
    left = farm.circuit("counter-left")
    asked = {"circuit": left.id, "revision": str(stored.revision), "role": "off"}
    assert browser.post(f"{root}/role", data=asked).status_code == 303
    again = sites.get(stored.id)
    pair = (left.id, left.multiwire_partner_id)
    assert {again.site.circuit(i).outage_role for i in pair} == {"off"}
    asked = {"circuit": left.id, "revision": str(again.revision), "to": f"panel:{left.panel_id}"}
    assert "already" in browser.post(f"{root}/move", data=asked).text
    assert sites.get(stored.id).site == again.site
