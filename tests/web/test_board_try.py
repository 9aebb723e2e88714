"""Trying moves without saving, and the preview of a change before it is made."""

from __future__ import annotations

import html
import re

import pytest

from server.domain.errors import EditError
from server.simulate.run import cached_run
from server.web.board_edits import move_to
from server.web.board_limits import touched_limits
from server.web.board_try import tried, try_one, with_one_more
from tests.builders import circuit, double_throw_site, whole_house_site, with_parts
from tests.web.conftest import form_in

HX = {"HX-Request": "true", "HX-Request-Type": "partial"}


def board_of(stored) -> str:
    return f"/sites/{stored.id}/buses"


def shown(answer) -> str:
    return html.unescape(answer.text)


def test_outside_try_mode_nothing_is_tried():
    assert tried(double_throw_site(), "") is None
    assert tried(double_throw_site(), "d~panel:main") is None


def test_moves_are_made_in_turn_and_a_role_set_again_replaces_the_one_before():
    site = double_throw_site()
    text = with_one_more("on", "d", "panel:main")
    text = with_one_more(text, "b", "role:off")
    text = with_one_more(text, "b", "role:managed")
    assert text == "on,d~panel:main,b~role:managed"
    found = tried(site, text)
    assert found is not None
    assert found.circuit_ids == ("d", "b")
    assert found.site.circuit("d").panel_id == "main"
    assert found.site.circuit("b").outage_role == "managed"
    assert site.circuit("d").panel_id == "backed"


def test_what_no_longer_fits_is_told_and_left_out():
    site = double_throw_site()
    pinned = site.circuit("d").model_copy(update={"pinned": True})
    site = with_parts(site, circuits=tuple(pinned if c.id == "d" else c for c in site.circuits))
    found = tried(site, "on,d~panel:main,gone~panel:main,b~panel:main,b~role:dancing")
    assert found is not None
    assert found.text == "on,b~panel:main"
    assert len(found.refused) == 3
    assert "pinned" in found.refused[0]
    with pytest.raises(EditError):
        try_one(site, "d", "panel:main")


def test_a_try_is_compared_with_the_saved_board_and_saves_nothing(browser, sites, stored):
    url = board_of(stored)
    page = browser.get(f"{url}?scenario=out&try=on").text
    assert "Trying, nothing is saved." in page
    assert f'action="{url}/pin"' not in page
    fields = {"revision": "1", "scenario": "out", "try": "on", "circuit": "d", "to": "panel:main"}
    answer = browser.post(f"{url}/move", data=fields)
    assert answer.status_code == 303
    assert "try=on%2Cd~panel%3Amain" in answer.headers["location"]
    assert sites.get(stored.id).revision == stored.revision
    after = shown(browser.get(answer.headers["location"]))
    assert "1 change, compared with the saved assignment" in after
    assert 'id="outcome"' in after
    assert re.search(r'class="ckt moved[^"]*" id="c-d"', after)
    partial = browser.post(f"{url}/move", data=fields, headers=HX)
    assert partial.headers["HX-Push-Url"].endswith("try=on%2Cd~panel%3Amain")


def test_a_try_is_kept_as_one_edit_or_dropped(browser, sites, stored):
    url = board_of(stored)
    text = "on,d~panel:main,b~role:off"
    page = browser.get(url, params={"scenario": "out", "try": text}).text
    assert f'action="{url}/drop"' in page
    kept = browser.post(f"{url}/keep", data=form_in(page, f"{url}/keep"))
    assert kept.status_code == 303
    assert kept.headers["location"] == f"{url}?scenario=out"
    saved = sites.get(stored.id)
    assert saved.revision == stored.revision + 1
    assert saved.site.circuit("d").panel_id == "main"
    assert saved.site.circuit("b").outage_role == "off"
    assert saved.undo_label == "Kept 2 tried changes"
    assert sites.undo(stored.id).site == stored.site


def test_a_trial_is_still_there_after_a_look_at_another_page_until_it_is_dropped(browser, stored):
    url = board_of(stored)
    text = "on,d~panel:main,b~role:off"
    browser.get(url, params={"scenario": "out", "try": text})
    browser.get(f"/sites/{stored.id}")
    back = shown(browser.get(f"{url}?scenario=out"))
    assert "Tried and not saved: 2 changes." in back
    on = re.search(r'href="([^"]+)">Go on with what you tried', back)
    assert on is not None
    assert "2 changes, compared with the saved assignment" in shown(browser.get(on[1]))
    dropped = browser.post(f"{url}/drop", data=form_in(back, f"{url}/drop"))
    assert (dropped.status_code, dropped.headers["location"]) == (303, f"{url}?scenario=out")
    after = shown(browser.get(dropped.headers["location"]))
    assert "Tried and not saved" not in after
    assert "Try without saving" in after


def test_a_kept_trial_is_no_longer_offered_and_one_site_does_not_see_anothers(
    browser, sites, stored
):
    url = board_of(stored)
    other = sites.create(double_throw_site())
    page = browser.get(url, params={"scenario": "out", "try": "on,d~panel:main"}).text
    assert "Tried and not saved" not in browser.get(board_of(other)).text
    browser.post(f"{url}/keep", data=form_in(page, f"{url}/keep"))
    assert "Tried and not saved" not in browser.get(url).text


def test_the_last_tried_change_is_taken_back_and_the_scenario_changed_within_a_trial(
    browser, stored
):
    url = board_of(stored)
    page = browser.get(url, params={"scenario": "out", "try": "on,d~panel:main,b~role:off"}).text
    assert form_in(page, url)["try"] == "on,d~panel:main,b~role:off"
    back = re.search(r'href="([^"]+)">Take back the last', html.unescape(page))
    assert back is not None
    page = shown(browser.get(back[1]))
    assert "1 change, compared with the saved assignment" in page
    back = re.search(r'href="([^"]+)">Take back the last', page)
    assert back is not None
    page = shown(browser.get(back[1]))
    assert "Trying, nothing is saved." in page
    assert "Tried and not saved" not in browser.get(url).text


def test_a_board_with_nowhere_to_move_a_circuit_does_not_speak_of_moving(browser, sites):
    url = board_of(sites.create(whole_house_site()))
    page = shown(browser.get(url))
    assert "There is no other panel or transfer handle here" in page
    assert "open Move" not in page
    assert ">Move</summary>" not in page


def test_keeping_is_refused_when_somebody_saved_first_or_a_move_no_longer_fits(
    browser, sites, stored
):
    url = board_of(stored)
    stale = {"revision": "0", "scenario": "out", "try": "on,d~panel:main"}
    answer = browser.post(f"{url}/keep", data=stale)
    assert answer.status_code == 409
    assert "Trying, nothing is saved." in answer.text
    wrong = {"revision": "1", "scenario": "out", "try": "on,d~panel:main,gone~panel:main"}
    answer = browser.post(f"{url}/keep", data=wrong)
    assert answer.status_code == 422
    assert "Not everything fits any more" in shown(answer)
    nothing = browser.post(f"{url}/keep", data={"revision": "1", "try": "on"})
    assert nothing.status_code == 303
    assert sites.get(stored.id).revision == stored.revision


def test_a_refused_try_is_told_beside_its_circuit(browser, sites):
    site = double_throw_site()
    pinned = site.circuit("d").model_copy(update={"pinned": True})
    stored = sites.create(
        with_parts(site, circuits=tuple(pinned if c.id == "d" else c for c in site.circuits))
    )
    fields = {"revision": "1", "scenario": "out", "try": "on", "circuit": "d", "to": "panel:main"}
    answer = browser.post(f"{board_of(stored)}/move", data=fields)
    assert answer.status_code == 422
    assert "is pinned. Unpin it first." in answer.text


def test_the_preview_shows_every_shared_limit_a_move_touches_with_both_figures(browser, stored):
    site, day = stored.site, stored.site.scenario("out")
    before, after = cached_run(site, day), cached_run(move_to(site, "d", "panel:main").site, day)
    bars = touched_limits(before, after)
    assert bars
    touched = {bar.id for bar in bars}
    for result in before.limits:
        then = after.limit(result.point.id)
        moved = abs(then.worst.percent - result.worst.percent) >= 0.5
        if result.point.kind != "circuit_breaker":
            assert (result.point.id in touched) == moved, result.point.id
    answer = browser.get(
        f"{board_of(stored)}/preview?scenario=out&circuit=d&to=panel:main", headers=HX
    )
    assert answer.status_code == 200
    text = shown(answer)
    assert "Not done yet." in text
    assert "Circuit d on Panel main:" in text
    assert after.verdict.sentence in text
    first = bars[0]
    assert f'data-limit="{first.id}"' in text
    assert f'<span class="vh">then </span>{first.bar.l1.before_amps}' in text
    assert "<html" not in text


def test_the_preview_of_a_role_and_of_a_refusal(browser, stored):
    url = f"{board_of(stored)}/preview?scenario=out&circuit=d"
    role = shown(browser.get(f"{url}&to=role:off"))
    assert "Circuit d off while the generator runs:" in role
    wrong = browser.get(f"{url}&to=role:dancing")
    assert wrong.status_code == 200
    assert "Choose one of the roles in the list." in wrong.text
    assert browser.get(f"{url}&to=panel:none").status_code == 404


def test_a_saved_move_shows_a_bar_for_every_shared_limit_it_touched(browser, stored):
    site, day = stored.site, stored.site.scenario("out")
    bars = touched_limits(
        cached_run(site, day), cached_run(move_to(site, "d", "panel:main").site, day)
    )
    fields = {"revision": "1", "scenario": "out", "circuit": "d", "to": "panel:main"}
    page = browser.post(f"{board_of(stored)}/move", data=fields, headers=HX).text
    for bar in bars:
        assert f'data-limit="{bar.id}"' in page


def test_the_preview_names_a_panel_that_is_given_alone(browser, stored):
    url = f"{board_of(stored)}/preview?scenario=out&circuit=d"
    alone, prefixed = (browser.get(f"{url}&to={to}", headers=HX) for to in ("main", "panel:main"))
    assert (alone.status_code, alone.text) == (200, prefixed.text)


def long_names_site():
    """A site with 45 movable circuits, whose ids are as long as they may be."""
    base = double_throw_site()
    text = base.model_dump_json().replace('"backed"', f'"{"k" * 48}"')
    site = type(base).model_validate_json(text)
    panels = tuple(p.model_copy(update={"spaces": 60}) for p in site.panels)
    taken = {s for c in site.circuits if c.panel_id == "main" for s in c.spaces}
    taken |= {s for f in site.feeders if f.from_id == "main" for s in f.spaces}
    free = [s for s in range(1, 61) if s not in taken][:45]
    more = tuple(circuit(f"c{at:02}" + "x" * 45, "main", at) for at in free)
    return with_parts(site, panels=panels, circuits=(*site.circuits, *more))


def test_the_longest_trial_outlives_a_look_elsewhere_and_is_kept_whole(browser, sites):
    site = long_names_site()
    stored = sites.create(site)
    url = board_of(stored)
    ids = [c.id for c in site.circuits if c.id.startswith("c") and len(c.id) == 48]
    moves = [f"{circuit_id}~panel:{'k' * 48}" for circuit_id in ids[:44]]
    text = ",".join(["on", *moves])
    assert len(text) > 4_500
    browser.get(url, params={"scenario": "out", "try": text})
    browser.get(f"/sites/{stored.id}")
    back = shown(browser.get(f"{url}?scenario=out"))
    assert "Tried and not saved: 44 changes." in back
    on = re.search(r'href="([^"]+)">Go on with what you tried', back)
    assert on is not None
    page = browser.get(on[1]).text
    fields = {"revision": "1", "scenario": "out", "try": text}
    more = browser.post(
        f"{url}/move", data=fields | {"circuit": ids[44], "to": f"panel:{'k' * 48}"}
    )
    assert more.headers["location"].count("panel%3A") == 45
    browser.post(f"{url}/keep", data=form_in(page, f"{url}/keep"))
    saved = sites.get(stored.id).site
    assert {saved.circuit(i).panel_id for i in ids[:44]} == {"k" * 48}
    assert "Tried and not saved" not in browser.get(url).text


def test_a_shorter_trial_takes_the_place_of_a_longer_one(browser, sites):
    site = long_names_site()
    stored = sites.create(site)
    url = board_of(stored)
    ids = [c.id for c in site.circuits if len(c.id) == 48]
    moves = [f"{circuit_id}~panel:{'k' * 48}" for circuit_id in ids[:44]]
    browser.get(url, params={"scenario": "out", "try": ",".join(["on", *moves])})
    browser.get(url, params={"scenario": "out", "try": ",".join(["on", *moves[:2]])})
    assert "Tried and not saved: 2 changes." in shown(browser.get(f"{url}?scenario=out"))


def test_one_change_more_than_a_trial_holds_is_refused_and_told(browser, stored):
    full = ",".join(["on", *["d~panel:main", "d~panel:backed"] * 30])
    fields = {"revision": "1", "scenario": "out", "try": full}
    answer = browser.post(
        f"{board_of(stored)}/move", data=fields | {"circuit": "d", "to": "panel:main"}
    )
    assert answer.status_code == 422
    assert "A trial holds 60 changes. Keep these or take some back, then go on." in answer.text
    found = tried(stored.site, f"{full},d~panel:main")
    assert found is not None
    assert len(found.moves) == 60
    assert found.refused == ("A trial holds 60 changes. What came after them is not among them.",)
