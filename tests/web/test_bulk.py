from __future__ import annotations

import html
from typing import Any

import pytest
from fastapi.testclient import TestClient

from server.domain.edits import free_spaces, set_pinned
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import circuit, double_throw_site, with_parts


def change(browser: TestClient, stored: StoredSite, picked: list[str], **values: str) -> Any:
    data = {"revision": str(stored.revision), "pick": picked, **values}
    return browser.post(f"/sites/{stored.id}/bulk-circuits", data=data)


def test_many_are_moved_in_one_step(browser: TestClient, sites: SiteStore, stored: StoredSite):
    answer = change(browser, stored, ["a", "b"], act="move", to_panel="swing")
    assert answer.headers["location"] == f"/sites/{stored.id}/circuits"
    site = sites.get(stored.id).site
    assert {site.circuit(i).panel_id for i in "ab"} == {"swing"}
    assert "Moved 2 circuits to Panel swing." in browser.get(f"/sites/{stored.id}/circuits").text
    assert sites.undo(stored.id).site == stored.site


@pytest.mark.parametrize(
    ("act", "field", "value"),
    [("role", "outage_role", "off"), ("class", "load_class", "important")],
)
def test_many_get_a_role_or_class(
    browser: TestClient, sites: SiteStore, stored: StoredSite, act: str, field: str, value: str
):
    change(browser, stored, ["a", "c"], act=act, **{f"to_{act}": value})
    site = sites.get(stored.id).site
    assert [getattr(site.circuit(i), field) for i in "ac"] == [value, value]
    others = [c for c in site.circuits if c.id not in "ac"]
    assert others == [c for c in stored.site.circuits if c.id not in "ac"]


def test_many_are_deleted_and_come_back(browser: TestClient, sites: SiteStore, stored: StoredSite):
    change(browser, stored, ["a", "b", "b"], act="delete")
    assert set("ab").isdisjoint(sites.get(stored.id).site.circuit_by_id)
    assert sites.undo(stored.id).site == stored.site


@pytest.mark.parametrize(
    ("picked", "values", "words"),
    [
        ([], {"act": "delete"}, "Choose one circuit or more"),
        (["gone"], {"act": "delete"}, "Choose one circuit or more"),
        (["a"], {"act": "move", "to_panel": "gone"}, "Choose the panel"),
        (["a"], {"act": "role", "to_role": "perhaps"}, "Choose what it shall be"),
        (["a"], {"act": "dance"}, "Choose what to do"),
    ],
)
def test_what_cannot_be_done_is_told_and_nothing_changes(
    browser: TestClient,
    sites: SiteStore,
    stored: StoredSite,
    picked: list[str],
    values: dict[str, str],
    words: str,
):
    answer = change(browser, stored, picked, **values)
    assert answer.status_code == 422
    assert words in answer.text
    assert sites.get(stored.id).revision == stored.revision


def test_all_or_none_are_moved_and_the_choice_stays(browser: TestClient, sites: SiteStore):
    site = with_parts(
        double_throw_site(), circuits=(circuit("a", "main", 9), circuit("b", "main", 11))
    )
    made = sites.create(set_pinned(site, "b", pinned=True))
    answer = change(browser, made, ["a", "b"], act="move", to_panel="backed")
    assert answer.status_code == 422
    assert "Circuit b is pinned" in answer.text
    assert sites.get(made.id).site == made.site
    assert answer.text.count('name="pick"') == 2
    assert answer.text.count('form="bulk" checked') == 2


def test_full_panel_is_told(browser: TestClient, sites: SiteStore):
    site = with_parts(double_throw_site(), circuits=())
    full = tuple(circuit(f"s{n}", "swing", n) for n in free_spaces(site, site.panel("swing")))
    made = sites.create(with_parts(site, circuits=(*full, circuit("a", "main", 9))))
    answer = change(browser, made, ["a"], act="move", to_panel="swing")
    assert answer.status_code == 422
    assert "Panel swing has no free place for Circuit a" in html.unescape(answer.text)


def test_stale_change_is_refused_and_the_choice_stays(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    sites.save(
        stored.id, with_parts(stored.site, people=9), base_revision=stored.revision, label="Else"
    )
    answer = change(browser, stored, ["a"], act="delete")
    assert answer.status_code == 409
    assert "Somebody saved first" in answer.text
    assert f'name="revision" value="{stored.revision + 1}"' in answer.text
    assert answer.text.count('form="bulk" checked') == 1


def test_a_role_for_one_of_a_pair_is_for_both(browser: TestClient, sites: SiteStore):
    """One handle opens and closes both."""
    farm = sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))
    change(browser, farm, ["counter-left"], act="role", to_role="off")
    site = sites.get(farm.id).site
    roles = {site.circuit(i).outage_role for i in ("counter-left", "counter-right")}
    assert roles == {"off"}
