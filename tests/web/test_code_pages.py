from __future__ import annotations

import re
from html import escape, unescape

import pytest
from fastapi.testclient import TestClient

from server.domain.supply import Segment
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.wiring.feeder import governing
from server.simulate.kept import size_of
from server.simulate.run import cached_run
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.code_choice import EDITIONS
from server.web.demand import shown_sheets
from server.web.findings import all_found
from server.web.some_runs import some_runs
from tests.builders import backed_up_site, normal_only_site, scenario, with_parts
from tests.web.conftest import form_in


@pytest.fixture
def farm(sites: SiteStore) -> StoredSite:
    return sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))


def test_demand_sheet_shows_the_amps_that_the_check_gives(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    report = check_site(farm.site)
    assert report.demand
    for element in report.demand:
        sheet = governing(element)
        row = page[page.index(f'href="#el-{element.element_id}"') :]
        row = row[: row.index("</tr>")]
        assert f">{sheet.leg_a:.1f}<" in row
        assert f">{sheet.total_va:,.0f}<" in row
    assert "Simulation never replaces this calculation" in page


def test_demand_sheet_shows_the_leg_that_decides(browser: TestClient, farm: StoredSite):
    panel = next(d for d in check_site(farm.site).demand if d.element_id == "shed")
    sheet = governing(panel)
    assert sheet.leg_a > sheet.amps + 0.1
    page = browser.get(f"/sites/{farm.id}/demand").text
    row = page[page.index('href="#el-shed"') :]
    assert f'data-head="Heavier leg A">{sheet.leg_a:.1f}</td>' in row[: row.index("</tr>")]
    assert "On the heavier leg, L" in page
    assert "A 120 V load lies on one leg" in page


def test_the_room_on_the_page_is_held_back_to_the_source(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    assert "You can still add, calculated VA" in page
    row = page[page.index('href="#el-shed"') :]
    row = row[: row.index("</tr>")]
    # The shed's own 60 A feeder is nearly empty; the set ahead of it is over.
    assert "the limit is Generator, 16 kW propane" in row
    assert 'data-head="You can still add VA">0<small>at 120 V 0 on L1, 0 on L2</small>' in row
    assert "Left on the fuller leg of each: Potting-shed panel 42.0 A" in page


def test_a_finding_says_why_it_matters_and_who_mends_it(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/findings", params={"severity": "warning"}).text
    first = page[page.index('id="finding-demand-above-rating-') :]
    first = first[: first.index("</li>")]
    assert "It is rated 100 A." in first
    assert "overheats or trips" in first
    assert "Who mends it: You choose" in first
    shown, opened = first.split("<dl>")
    assert "NEC 2023, 110.3(B), 702.5" in shown
    assert "from memory" in opened
    assert "from memory" not in shown


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_edition_renders_and_only_the_unprinted_one_is_provisional(
    browser: TestClient, farm: StoredSite, edition: str
):
    for sheet in ("demand", "wiring", "findings"):
        answer = browser.get(f"/sites/{farm.id}/{sheet}", params={"edition": edition})
        assert answer.status_code == 200
        assert ("Provisional." in answer.text) == (edition == "2026")


@pytest.mark.parametrize("sheet", ["demand", "wiring", "wiring/bench", "findings"])
def test_an_edition_that_is_not_here_is_refused_with_those_that_are(
    browser: TestClient, farm: StoredSite, sheet: str
):
    answer = browser.get(f"/sites/{farm.id}/{sheet}?edition=1999")
    assert answer.status_code == 422
    assert "There is no edition &#39;1999&#39; here; choose 2017, 2020, 2023, 2026." in answer.text


def test_two_editions_stand_side_by_side(browser: TestClient, farm: StoredSite):
    page = browser.get(
        f"/sites/{farm.id}/demand", params={"edition": "2023", "against": "2026"}
    ).text
    assert "By 2026 A" in page


def test_every_worksheet_line_names_its_section(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    for element in check_site(farm.site).demand:
        for sheet in element.sheets:
            for line in sheet.lines:
                assert line.cite.section
                assert line.cite.section in page


def test_findings_filter_by_severity_and_words(browser: TestClient, farm: StoredSite):
    report = check_site(farm.site)
    warnings = [f for f in report.findings if f.severity == "warning"]
    assert warnings
    every = browser.get(f"/sites/{farm.id}/findings").text
    page = browser.get(f"/sites/{farm.id}/findings", params={"severity": "warning"}).text
    assert len(warnings) <= page.count('id="finding-') < every.count('id="finding-')
    assert all(escape(f.text) in page for f in warnings)
    none = browser.get(f"/sites/{farm.id}/findings", params={"find": "zzz"}).text
    assert "Nothing matches." in none


def test_site_without_circuits_teaches_on_every_code_sheet(browser: TestClient, sites: SiteStore):
    empty = sites.create(normal_only_site(circuits=(), scenarios=()))
    for sheet in ("demand", "wiring", "findings"):
        assert browser.get(f"/sites/{empty.id}/{sheet}").status_code == 200


def test_amendment_typed_in_the_settings_reaches_the_worksheet(
    browser: TestClient, sites: SiteStore, farm: StoredSite
):
    action = f"/sites/{farm.id}/settings"
    fields = form_in(browser.get(action).text, action) | {
        "amendments.0.figure": "lighting_va_per_ft2",
        "amendments.0.value": "4",
        "amendments.0.reason": "Ordinance 12",
    }
    assert browser.post(action, data=fields).status_code == 303
    page = browser.get(f"/sites/{farm.id}/demand").text
    assert "local amendment: Ordinance 12" in page
    again = form_in(browser.get(action).text, action)
    assert browser.post(action, data=again).status_code == 303
    assert len(sites.get(farm.id).site.amendments) == 1


def test_a_finding_says_that_its_mend_was_tried_when_that_is_done(
    browser: TestClient, farm: StoredSite
):
    here, warnings = f"/sites/{farm.id}/findings", {"severity": "warning"}
    plain = browser.get(here, params=warnings).text
    waited = re.search(rf'hx-get="({here}/tried[^"]*)" hx-trigger="load"', plain)
    assert waited
    told = browser.get(unescape(waited[1])).text
    whole = browser.get(here, params=warnings | {"tried": "yes"}).text
    report = check_site(farm.site, recheck=True)
    tried = [f for f in report.findings if f.severity == "warning" and f.recheck]
    assert tried
    for finding in tried:
        assert escape(finding.recheck.said) not in plain
        assert escape(finding.recheck.said) in told
        assert escape(finding.recheck.said) in whole
    assert "Re-checked with Clothes dryer moved to Main panel: this finding is gone" in whole
    # Every place that comes has one that waits for it, and none is left waiting.
    places = re.compile(r'<p class="recheck[^"]*" id="(tried-[^"]+)"')
    assert places.findall(told) == places.findall(plain) == places.findall(whole)


def test_another_method_stands_beside_with_the_difference_or_the_reason(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/demand", params={"method": "standard"}).text
    service = next(d for d in check_site(farm.site).demand if d.element_id == "grid")
    by, here = service.sheet("standard"), governing(service)
    assert by is not None
    assert "By standard method A" in page
    row = page[page.index('href="#el-grid"') :]
    row = row[: row.index("</tr>")]
    assert f"{by.leg_a:.1f}<small>+{by.leg_a - here.leg_a:.1f}</small>" in row

    page = browser.get(f"/sites/{farm.id}/demand", params={"method": "optional"}).text
    row = page[page.index('href="#el-backed"') :]
    assert "not permitted" in row[: row.index("</tr>")]
    reasons = page[page.index('id="refused-backed"') :]
    assert "is only for conductors that carry the whole dwelling" in reasons[:400]


def test_feeder_schedule_shows_the_neutral_and_its_least_size(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/wiring").text
    for wired in check_site(farm.site).wiring:
        row = page[page.index(f'id="w-{wired.feeder_id}"') :]
        row = row[: row.index("</tbody>")]
        assert wired.demand.legs is not None
        assert f"{wired.neutral_a:.1f} A" in row


def test_every_sheet_can_be_opened_without_script(browser: TestClient, farm: StoredSite):
    folded = browser.get(f"/sites/{farm.id}/demand").text
    opened = browser.get(f"/sites/{farm.id}/demand", params={"open": "all"}).text
    sheets = sum(len(d.sheets) for d in check_site(farm.site).demand)
    open_sheet = re.compile('<details class="sheet(?: same)?" open>')
    assert len(open_sheet.findall(opened)) == sheets
    assert len(open_sheet.findall(folded)) == 1
    assert "Open every sheet" in folded
    assert "Close all but the first sheet" in opened


def test_lines_carried_on_say_so_and_amounts_are_whole(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    first = page[page.index('<caption class="vh">Utility service, standard method') :]
    first = first[: first.index("</table>")]
    assert first.count("in the sum </span>below") == 3
    assert "1 circuit<" in first
    assert ">1,924<" in first or ">1,923<" in first
    assert not re.search(r"num[^>]*>[\d,]{3,}\.\d+<", first[: first.index("<tfoot>")])


def test_every_feeder_tells_how_it_was_worked_out_with_sections(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/wiring").text
    for wired in check_site(farm.site).wiring:
        part = page[page.index(f"How {wired.name} was worked out") :]
        part = part[: part.index("</details>")]
        assert "Table 310.16" in part
        assert ("230.42(A)" if wired.service else "215.2(A)(1)") in part
        assert ("215.2(A)(1), 240.4" in part) != wired.service
        assert f"#el-{wired.feeder_id}" in part
    heads = page[page.index("<thead>") : page.index("</thead>")]
    for section in ("Table 310.16", "110.14(C)", "220.61", "250.122", "240.4"):
        assert section in heads


def test_the_electrodes_are_told_of_where_the_disconnect_is_ahead_of_the_panel(
    browser: TestClient, sites: SiteStore
):
    base = normal_only_site()
    laid = (Segment(run_ft=25, size="2/0", metal="aluminum", ground_size="4"),)
    for breaker_a, words in (
        (150, "for wire as large as this one 6 copper (Table 250.66)"),
        (None, "; 6 copper to the electrodes"),
    ):
        runs = tuple(
            f.model_copy(update={"breaker_a": breaker_a, "segments": laid}) for f in base.feeders
        )
        kept = sites.create(with_parts(base, feeders=runs))
        page = browser.get(f"/sites/{kept.id}/wiring").text
        assert words in page
        assert ("from its disconnect, by the conductors ahead of it" in page) is bool(breaker_a)


def test_a_drop_says_which_legs_are_on_and_a_start_what_comes_ahead(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/wiring").text
    row = page[page.index('id="w-feeder-shed"') :]
    row = row[: row.index("</tbody>")]
    shed = next(w for w in check_site(farm.site).wiring if w.feeder_id == "feeder-shed")
    assert shed.one_leg_drop is not None
    assert shed.path_start_share is not None
    assert "on its heavier leg, both legs on" in row
    assert f"{shed.one_leg_drop.dc_share * 100:.2f} % with one leg’s 120 V loads only" in row
    assert "this run alone" in row
    assert f"{shed.path_start_share * 100:.2f} % from the source" in row
    assert "calculated load, its device at most" in page
    assert "With the 120 V loads of the other leg off" in page


def test_the_schedule_says_what_a_neutral_not_entered_is_taken_as(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/wiring").text
    shed = page[page.index('id="w-feeder-shed"') :]
    assert "4 or larger; taken as 2" in shed[: shed.index("</tbody>")]
    assert ">8 copper</td>" in shed[: shed.index("</tbody>")]


def test_what_fails_in_the_simulation_leads_the_findings_labelled_as_such(
    browser: TestClient, sites: SiteStore
):
    base = backed_up_site()
    needed = base.circuit("a").model_copy(update={"load_class": "must_serve"})
    stored = sites.create(with_parts(base, circuits=(needed, *base.circuits[1:])))
    text = browser.get(f"/sites/{stored.id}/findings").text
    head = text.index("From the simulation")
    assert head < text.index('id="note"')
    section = text[head:].partition('<form class="picker')[0]
    assert "1 of 2 scenarios with something that fails" in section
    assert "it does not replace the demand calculation" in section
    assert "Circuit a is without power for 3 h; it can wait 2 min." in section
    for day in stored.site.scenarios:
        assert f"/sites/{stored.id}/scenarios/{day.id}" in section


def test_a_page_runs_few_scenarios_and_names_those_it_left(
    browser: TestClient, sites: SiteStore, monkeypatch
):
    base = backed_up_site(name="Not run before")
    days = tuple(scenario(f"day-{n}", seed=90_000 + n) for n in range(4))
    stored = sites.create(with_parts(base, scenarios=days))
    cells = 2 * days[0].steps * len(base.circuits)
    usual = some_runs.__kwdefaults__
    monkeypatch.setattr(some_runs, "__kwdefaults__", usual | {"cells": cells})
    here = f"/sites/{stored.id}"
    first, last = f'href="{here}/scenarios/day-0"', f"{here}/scenarios/day-3"
    text = browser.get(f"{here}/findings").text
    section = text[text.index("From the simulation") :].partition('<form class="picker')[0]
    assert section.count("not run yet</span>") == 2
    assert f'<a href="{last}">Run ' in section
    assert f"<a {first}>" in section
    assert f"<a {first}>Run " not in section
    assert browser.get(last).status_code == 200
    assert set(some_runs(stored.site, cells=0)) == {"day-0", "day-1", "day-3"}
    assert "not run yet" not in browser.get(f"{here}/demand").text
    assert "not run yet" not in browser.get(f"{here}/findings").text


def test_a_finding_of_a_run_names_the_scenario_it_is_from(browser: TestClient, farm: StoredSite):
    found = all_found(farm.site, farm.id, farm.site.code_edition, some_runs(farm.site))
    rules = {f.key for f in check_site(farm.site).findings}
    of_runs = [f for f in found if f.simulated]
    assert of_runs
    assert not any(f.finding.key in rules for f in of_runs)
    names = {s.name for s in farm.site.scenarios}
    assert all(set(f.simulated) <= names for f in of_runs)
    assert "simulated</span>" in browser.get(f"/sites/{farm.id}/findings").text


def test_the_simulated_peak_names_its_scenario(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    row = page[page.index('href="#el-generator"') :]
    row = row[: row.index("</tr>")]
    assert any(f"<small>{escape(s.name)}</small>" in row for s in farm.site.scenarios)


def test_print_sets_each_sheet_once_and_the_governing_one_first(farm: StoredSite):
    """A feeder and the panel it ends at have the same lines; one names the other, none is lost."""
    demand = check_site(farm.site).demand
    shown = shown_sheets(demand)
    for element in demand:
        mine = shown[element.element_id]
        assert {id(s.sheet) for s in mine} == {id(s) for s in element.sheets}
        assert mine[0].sheet == governing(element)
    printed = {
        (s.sheet.lines, s.sheet.legs) for own in shown.values() for s in own if not s.same_as
    }
    every = {(s.lines, s.legs) for element in demand for s in element.sheets}
    assert printed == every
    (shed,) = shown["shed"]
    (first,) = (s for own in shown.values() for s in own if s.anchor == shed.same_anchor)
    assert (first.sheet.lines, first.sheet.legs) == (shed.sheet.lines, shed.sheet.legs)
    assert shed.same_as
    assert not first.same_as


def test_a_sheet_that_repeats_says_which_one_it_repeats(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    part = page[page.index('id="el-shed"') :]
    part = part[: part.index("</section>")]
    assert 'class="sheet same"' in part
    place = re.search(r'as the sheet of <a href="#(sheet-[^"]+)">', part)
    assert place
    assert "outlets for plugs" not in part
    assert part.count("<tbody>") == 0
    assert "table below" not in part
    assert '<th scope="row" colspan="5">Total</th>' in part
    there = page[page.index(f'id="{place[1]}"') :]
    assert "outlets for plugs" in there[: there.index("</table>")]


def test_a_sign_that_is_asked_for_can_be_copied(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/findings").text
    assert '<pre class="sign">EMERGENCY DISCONNECT,\nSERVICE DISCONNECT</pre>' in page
    assert "DISCONNECT OR ENGINE STOP AT: __" in page
    assert "Words from memory: read 230.85." in page


def test_runs_that_would_push_each_other_out_are_not_made_at_every_look():
    days = tuple(scenario(f"packed-{n}", seed=700 + n) for n in range(6))
    site = backed_up_site(scenarios=days)
    room = 5 * size_of(cached_run(site, days[0]))
    first = some_runs(site, room_bytes=room)
    assert 1 < len(first) < len(days)
    assert list(first) == [day.id for day in days[: len(first)]]
    again = some_runs(site, room_bytes=room)
    assert again.keys() == first.keys()
    assert all(again[day] is first[day] for day in first)
    assert some_runs(site).keys() == {day.id for day in days}


def test_what_is_decided_locally_is_told_once_under_a_sheet(browser: TestClient, farm: StoredSite):
    page = browser.get(f"/sites/{farm.id}/demand").text
    sheet = page.partition('<details class="sheet')[2].partition("</details>")[0]
    assert sheet.count("an authority may leave those out") <= 1
    assert "an authority may leave those out" in page
