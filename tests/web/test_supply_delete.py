from __future__ import annotations

from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import handle_set_site, interlock_site
from tests.web.conftest import form_in


def test_deleting_tells_what_hangs_on_a_part(browser: TestClient, stored: StoredSite):
    page = browser.get(f"/sites/{stored.id}/supply/main/delete").text
    assert "Transfer switch and Double-throw would be fed by nothing." in page
    assert 'value="below"' in page
    assert 'value="alone"' not in page
    assert "<b>6</b> circuits with all that is on them: Circuit a" in page
    page = browser.get(f"/sites/{stored.id}/supply/ats/delete").text
    assert "What it fed is then fed straight from Panel main." in page


def test_deleting_is_saved_and_undone(browser: TestClient, sites: SiteStore, stored: StoredSite):
    path = f"/sites/{stored.id}/supply/throw/delete"
    fields = form_in(browser.get(path).text, path)
    assert fields["then"] == "bypass"
    assert browser.post(path, data=fields).status_code == 303
    now = sites.get(stored.id)
    assert now.site.double_throws == ()
    browser.post(f"/sites/{stored.id}/undo", data={"revision": str(now.revision)})
    assert sites.get(stored.id).site == stored.site


def test_deleting_what_would_leave_a_panel_dark_is_refused(
    browser: TestClient, sites: SiteStore, stored: StoredSite
):
    fields = {"then": "alone", "revision": str(stored.revision)}
    answer = browser.post(f"/sites/{stored.id}/supply/main/delete", data=fields)
    assert answer.status_code == 422
    assert "would be fed by nothing. Feed them from elsewhere first" in answer.text
    assert sites.get(stored.id).site == stored.site


def test_a_set_is_deleted_and_the_panel_that_it_fed_stays_with_its_circuits(
    browser: TestClient, sites: SiteStore
):
    stored = sites.create(interlock_site())
    path = f"/sites/{stored.id}/supply/set/delete"
    page = browser.get(path).text
    assert "Panel main stays with its circuits, fed straight from Service grid." in page
    assert "No panel and no circuit goes" in page
    assert form_in(page, path)["then"] == "keep"
    fields = {"then": "keep", "revision": str(stored.revision)}
    assert browser.post(path, data=fields).status_code == 303
    now = sites.get(stored.id)
    assert now.site.circuits == stored.site.circuits
    assert now.site.panels == stored.site.panels
    assert now.site.generators == now.site.transfer_switches == ()
    assert [(f.from_id, f.to_id) for f in now.site.feeders] == [("grid", "main")]
    browser.post(f"/sites/{stored.id}/undo", data={"revision": str(now.revision)})
    assert sites.get(stored.id).site == stored.site


def test_what_only_a_set_feeds_cannot_be_kept(browser: TestClient, sites: SiteStore):
    stored = sites.create(handle_set_site())
    path = f"/sites/{stored.id}/supply/set/delete"
    assert 'value="keep"' not in browser.get(path).text
    fields = {"then": "keep", "revision": str(stored.revision)}
    answer = browser.post(path, data=fields)
    assert answer.status_code == 422
    assert "cannot stay" in answer.text
