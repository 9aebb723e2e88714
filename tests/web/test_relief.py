"""The relief section, the next step, and the button that makes a change."""

from __future__ import annotations

import html
import re
from datetime import timedelta

from server.advise.fuel_words import gal_words, parts_wanted, short_gal
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.domain.scenario import Stop
from server.simulate.run import cached_run, simulate
from tests.advise.test_by_code import house as past_by_code
from tests.advise.test_fuel_step import house
from tests.advise.test_relief import two_ovens
from tests.builders import START, appliance, backed_up_site, circuit, with_parts
from tests.web.conftest import form_in


def add(sites):
    site, _ = two_ovens()
    return sites.create(site)


def test_the_run_page_holds_the_relief_or_the_way_to_it(browser, sites):
    stored = add(sites)
    root = f"/sites/{stored.id}/scenarios/out"
    page = browser.get(root).text
    assert f'hx-get="{root}/relief"' in page
    assert f'href="{root}?relief=1#relief"' in page
    whole = html.unescape(browser.get(f"{root}?relief=1").text)
    found = relief_of(stored.site, stored.site.scenario("out"))
    assert found is not None
    assert found.sentence in whole
    part = html.unescape(browser.get(f"{root}/relief").text)
    assert found.sentence in part
    assert "<html" not in part
    for one in found.candidates[:4]:
        assert one.words in part


def test_another_limit_can_be_asked_of(browser, sites):
    stored = add(sites)
    root = f"/sites/{stored.id}/scenarios/out"
    asked = html.unescape(browser.get(f"{root}/relief?point=circuit_breaker:one").text)
    assert re.search(r'<option value="circuit_breaker:one" selected', asked)


def test_a_change_is_made_and_undone(browser, sites):
    stored = add(sites)
    root = f"/sites/{stored.id}/scenarios/out"
    fields = form_in(browser.get(f"{root}/relief").text, f"{root}/relief")
    answer = browser.post(f"{root}/relief", data=fields)
    assert answer.status_code == 303
    assert answer.headers["location"] == root
    after = sites.get(stored.id)
    assert after.revision == stored.revision + 1
    assert after.site.scenario("out").events != stored.site.scenario("out").events
    assert "Undo takes it back" in html.unescape(browser.get(root).text)
    browser.post(f"/sites/{stored.id}/undo", data={"revision": after.revision, "back": root})
    assert sites.get(stored.id).site == stored.site


def test_the_overview_offers_the_next_step(browser, sites):
    stored = add(sites)
    root = f"/sites/{stored.id}"
    assert f'hx-get="{root}/scenarios/out/next-step"' in browser.get(root).text
    said = next_step(stored.site, stored.site.scenario("out"))
    for address in (f"{root}?step=1", f"{root}/scenarios/out/next-step"):
        page = browser.get(address).text
        assert said.sentence in html.unescape(page)
        fields = form_in(page, f"{root}/scenarios/out/relief")
        assert fields["kind"] == "later"
    assert browser.post(f"{root}/scenarios/out/relief", data=fields).status_code == 303


def test_a_stale_or_foreign_change_is_refused_in_words(browser, sites):
    stored = add(sites)
    url = f"/sites/{stored.id}/scenarios/out/relief"
    fields = form_in(browser.get(url).text, url)
    for wrong in ({"kind": "idle"}, {"kind": "burn"}, {"hours": "x"}, {"hours": "99"}):
        answer = browser.post(url, data=fields | wrong)
        assert answer.status_code == 422, wrong
        assert "none of the changes" in answer.text
    assert browser.post(url, data=fields).status_code == 303
    again = browser.post(url, data=fields)
    assert again.status_code == 303
    assert "done already" in html.unescape(browser.get(again.headers["location"]).text)
    assert sites.get(stored.id).revision == stored.revision + 1
    stale = browser.post(url, data=fields | {"back": url})
    assert stale.status_code == 409
    assert "Somebody saved first" in stale.text


def test_the_run_page_and_the_overview_tell_what_must_not_run_together(browser, sites):
    """The oven and the kiln, 25 A each, pass the 41.7 A of the set."""
    stored = add(sites)
    for address in (f"/sites/{stored.id}/scenarios/out", f"/sites/{stored.id}?scenario=out"):
        page = html.unescape(browser.get(address).text)
        assert "What must not run together on Generator set" in page
        assert 'Circuit one + Circuit two</th><td class="num hit">50.0</td>' in page
    run = html.unescape(browser.get(f"/sites/{stored.id}/scenarios/out").text)
    assert "To do before, during and after" in run
    assert "Never all at once on Generator set: Circuit one + Circuit two: 50.0 A of 41.7 A" in run


def test_relief_is_left_out_where_no_limit_comes_near_though_the_day_does_not_hold(browser, sites):
    """50 A of 250, and 50 of 58.3 beside it; a circuit that waits 10 min is dark with the set."""
    for rated_kw, offered in ((60, False), (14, True)):
        site, day = two_ovens(rated_kw=rated_kw)
        waits = site.circuits[0].model_copy(
            update={"load_class": "must_serve", "allowed_gap_min": 10.0}
        )
        stop = Stop(start=START + timedelta(hours=5), end=START + timedelta(hours=6))
        stopped = day.model_copy(update={"generator_stops": (stop,)})
        site = with_parts(site, circuits=(waits, *site.circuits[1:]), scenarios=(stopped,))
        assert not simulate(site, stopped).verdict.over
        stored = sites.create(site)
        root = f"/sites/{stored.id}/scenarios/out"
        page = browser.get(root).text
        assert "Does not hold." in page
        assert ('id="relief"' in page) == offered
        assert (
            'hx-trigger="load"' not in page.partition('id="relief"')[2].partition("</section>")[0]
        )
        assert 'id="relief"' in browser.get(f"{root}?relief=1").text


def test_a_step_on_a_start_leads_to_the_field_where_its_mend_is_entered(browser, sites):
    read = {"locked_rotor_a": 900, "figure_source": "nameplate"}
    saw = appliance("saw", 300, volts=240, load_type="motor", **read)
    stored = sites.create(
        with_parts(backed_up_site(), circuits=(circuit("s", "backed", 1, 3, appliances=(saw,)),))
    )
    page = browser.get(f"/sites/{stored.id}/scenarios/out/next-step").text
    link = f"/sites/{stored.id}/circuits/s/appliances/saw#f-start_share"
    assert f'<a class="btn first" href="{link}">Enter the soft starter of saw</a>' in page
    assert page.count("btn first") == 1
    assert "changes the circuit, so it does so in every scenario of this site" in page
    assert 'id="f-start_share"' in browser.get(link.partition("#")[0]).text


def test_a_step_on_fuel_leads_to_the_fuel_fields_of_its_scenario(browser, sites):
    site, day = house()
    root = f"/sites/{sites.create(site).id}/scenarios/{day.id}"
    assert next_step(site, day).where == "fuel"
    link = f"{root}/edit?open=deliveries#fold-deliveries"
    assert f'href="{link}"' in html.unescape(browser.get(f"{root}/next-step").text)
    page = browser.get(f"{root}/edit?open=deliveries").text
    assert '<details class="fold" id="fold-deliveries" open>' in page
    assert '<details class="fold" id="fold-kept_off">' in page
    short = next(need for need in cached_run(site, day).fuel if short_gal(need) > 0)
    wanted = parts_wanted(site, short)
    assert f"{gal_words(wanted.each_gal)} gal" in page[page.index('id="fuel-wanted"') :]
    assert f'id="f-deliveries.{wanted.count - 1}.at"' in page
    assert f'id="f-deliveries.{wanted.count}.at"' not in page
    assert '<details class="fold" id="fold-deliveries">' in browser.get(f"{root}/edit").text


def test_a_step_on_fuel_behind_closed_roads_leads_to_what_is_at_hand_alone(browser, sites):
    site, day = house()
    shut = with_parts(site, scenarios=(day.model_copy(update={"roads": "closed"}),))
    root = f"/sites/{sites.create(shut).id}/scenarios/{day.id}"
    page = html.unescape(browser.get(f"{root}/next-step").text)
    assert "Enter fuel delivered" not in page
    assert re.search(r'<a class="btn first"[^>]*>Enter fuel kept at hand</a>', page)
    assert '<option value="closed" selected>' in browser.get(f"{root}/edit").text


def test_a_scenario_that_needs_nothing_still_names_what_the_code_wants_changed(
    browser, sites, monkeypatch
):
    site = backed_up_site(circuits=(circuit("small", "backed", 1, load_w=10),))
    root = f"/sites/{sites.create(site).id}/scenarios/day"
    assert "By the code" not in browser.get(f"{root}/next-step").text
    monkeypatch.setattr("server.web.relief.past_rating", lambda _: ("Barn",))
    page = browser.get(f"{root}/next-step").text
    assert "By the code something must be changed all the same: Barn carries more than" in page


def test_what_the_code_wants_is_entered_by_the_button_of_the_step_and_undone(browser, sites):
    stored = sites.create(past_by_code())
    root = f"/sites/{stored.id}/scenarios/out/next-step"
    page = browser.get(root).text
    assert "By the code something must be changed all the same" not in page
    fields = form_in(page, root)
    assert browser.post(root, data=fields | {"step": "Another"}).status_code == 422
    made = browser.post(root, data=fields)
    assert made.status_code == 303
    said = "entered as planned, in every scenario: until an electrician has fitted it"
    assert said in browser.get(made.headers["location"]).text
    after = sites.get(stored.id)
    assert after.site.circuit("kiln").energy_group_id is not None
    assert "only planned and not fitted: Keeps off on generator" in browser.get(root).text
    assert browser.post(root, data=fields).status_code == 303
    assert sites.get(stored.id).revision == after.revision
    assert browser.post(root, data=fields | {"back": root}).status_code == 409
    browser.post(f"/sites/{stored.id}/undo", data={"revision": after.revision, "back": root})
    assert sites.get(stored.id).site == stored.site


def test_a_circuit_moved_is_entered_as_planned_wherever_it_is_told(browser, sites):
    """A heater of must-serve class on the panel that no set feeds: the step is to move it."""
    heat = circuit(
        "heat",
        "main",
        9,
        11,
        load_w=2400,
        breaker_a=30,
        load_class="must_serve",
        allowed_gap_min=60.0,
    )
    base = backed_up_site()
    stored = sites.create(with_parts(base, circuits=(*base.circuits, heat)))
    root = f"/sites/{stored.id}/scenarios/out"
    page = html.unescape(browser.get(f"{root}/next-step").text)
    assert "Move Circuit heat to Panel backed" in page
    assert page.count("It takes an electrician; here it is only entered as planned") == 1
    made = browser.post(f"{root}/relief", data=form_in(page, f"{root}/relief"))
    told = html.unescape(browser.get(made.headers["location"]).text)
    assert "Move Circuit heat to Panel backed: entered as planned, in every scenario" in told
    assert "until an electrician has fitted it, this run is not what you have" in told
    assert ": done, in" not in told
