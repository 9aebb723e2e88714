"""The wiring bench: answers by hand, every range, nothing lost, an honest beginning."""

from __future__ import annotations

import re
from html import unescape

import pytest
from fastapi.testclient import TestClient

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.bench_fields import EXAMPLE, LABELS, MOST_ALSO, MOST_PIECES
from server.web.bench_form import read_bench
from tests.web.conftest import form_in

RULES = rulebook("2023")
BEGUN = {"noncontinuous_a": "40", "pieces.0.run_ft": "150"}
PARTIAL = {"HX-Request": "true", "HX-Request-Type": "partial"}


@pytest.fixture
def farm(sites: SiteStore) -> StoredSite:
    return sites.create(read_site_file((DEMOS / "flower-farm.json").read_bytes()))


def bench_fields(page: str, root: str) -> dict[str, str]:
    """The fields of the bench itself, past the choice of edition."""
    return form_in(page[page.index('class="benchform"') :], root)


def on_bench(browser: TestClient, farm: StoredSite, headers=None, **typed: str) -> str:
    told = {**BEGUN, **{k.replace("__", "."): v for k, v in typed.items()}}
    answer = browser.get(f"/sites/{farm.id}/wiring/bench", params=told, headers=headers)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.text)


def test_it_answers_the_hand_sum(browser: TestClient, farm: StoredSite):
    page = on_bench(
        browser, farm, PARTIAL, noncontinuous_a="80", device_a="100", terminal_c="75"
    ).lstrip()
    assert page.startswith('<div id="bench"')
    # 2 x 150 ft x 0.245 ohm/kft x 80 A / 1000 = 5.88 V, 2.45 %: 3 copper, 100 A at 75 C.
    assert "<b>3 copper</b> on a 100 A device" in page
    assert "5.88 V" in page
    assert "2.45 %" in page


def test_it_begins_empty_and_an_example_says_that_it_is_one(browser: TestClient, farm: StoredSite):
    root = f"/sites/{farm.id}/wiring/bench"
    page = browser.get(root).text
    assert "Nothing stands on the bench yet" in page
    assert 'class="lead"' not in page
    fields = bench_fields(page, root)
    assert {v for k, v in fields.items() if k in LABELS} <= {
        "", "copper", "dc", "THWN-2", "pvc40"
    }  # fmt: skip
    link = re.search(r'href="([^"]*example=on)"', page)
    assert link is not None
    example = browser.get(unescape(link[1])).text
    assert "An example, not your wire." in example
    assert 'class="lead"' in example
    typed_over = browser.get(root, params=bench_fields(example, root)).text
    assert 'class="lead"' in typed_over
    assert "not your wire" not in typed_over


def test_an_address_of_the_bench_holds_what_was_typed(browser: TestClient, farm: StoredSite):
    answer = browser.get(
        f"/sites/{farm.id}/wiring/bench",
        params={**BEGUN, "volts": "", "stranger": "1"},
        headers=PARTIAL,
    )
    address = answer.headers["HX-Replace-Url"]
    assert address == f"/sites/{farm.id}/wiring/bench?noncontinuous_a=40&pieces.0.run_ft=150"
    assert "<b>6 copper</b>" in browser.get(address).text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"noncontinuous_a": ""}, "a load, continuous or not"),
        ({"pieces__0__run_ft": ""}, "the one-way length of segment 1"),
    ],
)
def test_what_is_still_to_be_told_is_asked_and_is_no_mistake(
    browser: TestClient, farm: StoredSite, typed: dict[str, str], said: str
):
    page = on_bench(browser, farm, **typed)
    assert f"Still to be told: {said}." in page
    assert 'class="problem' not in page


RANGES_SAID = {
    "noncontinuous_a": "0 to 6,000 A",
    "continuous_a": "0 to 6,000 A",
    "start_a": "0 to 5,000 A",
    "neutral_a": "0 to 6,000 A",
    "volts": "12 to 600 V",
    "power_factor": "0.05 to 1",
    "device_a": "1 to 1,200 A",
    "drop_percent": "0.1 to 50 %",
    "ahead_percent": "0 to 50 %",
    "reckoning": "dc resistance, impedance at the power factor and the larger of both",
    "terminal_c": "60 °C and 75 °C",
    "use": "a branch of several receptacles and service conductors",
    "whole_dwelling": "no and yes: all of one dwelling",
    "full_rated": "no and yes",
    "ground_metal": "copper and aluminum",
}
PIECE_SAID = {
    "run_ft": "0.1 to 20,000 ft",
    "sets": "1 to 6, whole",
    "ambient_f": "−40 to 185 °F",
    "current_carrying": "1 to 1,000, whole",
    "bends": "0 to 180 °",
    "size": "find the smallest, 14 AWG",
    "metal": "copper and aluminum",
    "letters": "THWN-2; XHHW-2; THHN",
    "kind": "PVC schedule 40, EMT, PVC schedule 80 and Rigid metal conduit",
    "trade_size": "find the smallest, 1/2 in",
    "place": "dry or damp and wet, or underground",
    "nipple": "no and yes, 24 in or less",
}
ALSO_SAID = {
    "count": "1 to 200, whole",
    "size": "choose, 14 AWG",
    "letters": "bare",
    "segment": "every segment, segment 1",
}
EVERY = (
    RANGES_SAID
    | {
        f"pieces.{at}.{name}": said
        for at in range(MOST_PIECES)
        for name, said in PIECE_SAID.items()
    }
    | {f"also.{at}.{name}": said for at in range(MOST_ALSO) for name, said in ALSO_SAID.items()}
)


def test_every_field_of_the_bench_has_a_range_here(browser: TestClient, farm: StoredSite):
    root = f"/sites/{farm.id}/wiring/bench"
    names = set(bench_fields(browser.get(root).text, root)) - {"edition"}
    assert names == set(EVERY) == set(LABELS)


def test_every_number_shows_what_it_may_be_before_anything_is_wrong(
    browser: TestClient, farm: StoredSite
):
    page = on_bench(browser, farm)
    for name, said in EVERY.items():
        if " to " in said:
            hint = re.search(rf'id="h-{re.escape(name)}">([^<]*)<', page)
            assert hint is not None, name
            assert said in hint[1]


def test_a_segment_of_no_length_is_refused_with_its_range():
    bench = read_bench({**BEGUN, "pieces.0.run_ft": "0"}, RULES)
    assert bench.answer is None
    assert "0.1 to 20,000 ft" in bench.form.problem("pieces.0.run_ft")


@pytest.mark.parametrize("typed", ["minus ten", "-41", "99999999", "nan", "inf", "1e400"])
def test_what_it_does_not_know_is_refused_with_the_range(typed: str):
    for field, said in EVERY.items():
        bench = read_bench({**BEGUN, field: typed}, RULES)
        assert bench.answer is None, field
        assert said in bench.form.problem(field)
        assert bench.form.value(field) == typed


@pytest.mark.parametrize("field", ["noncontinuous_a", "pieces.2.run_ft", "pieces.0.bends"])
def test_the_range_stands_beside_the_field_and_what_was_typed_stays(
    browser: TestClient, farm: StoredSite, field: str
):
    page = on_bench(browser, farm, **{field: "-41"})
    beside = re.search(rf'id="p-{re.escape(field)}">.*?<span>(.*?)</span>', page)
    assert beside is not None
    assert EVERY[field] in beside[1]
    assert 'value="-41"' in page
    assert f'<li data-field="{field}"><a href="#f-{field}">{LABELS[field]}</a>' in page


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"device_a": "30"}, "device_a", "asks for 40 A"),
        ({"noncontinuous_a": "1500"}, "noncontinuous_a", "end at 1,200 A"),
        ({"neutral_a": "50"}, "neutral_a", "never more than the load of 40 A"),
        ({"pieces.0.sets": "2.5"}, "pieces.0.sets", "whole"),
        ({"pieces.0.bends": "90 90 200"}, "pieces.0.bends", "0 to 180 °"),
        ({"pieces.0.bends": "1 " * 41}, "pieces.0.bends", "at most 40 bends"),
        ({"pieces.3.size": "4"}, "pieces.3.run_ft", "needs its length"),
        ({"pieces.3.run_ft": "3", "pieces.3.nipple": "on"}, "pieces.3.run_ft", "24 in or less"),
        ({"pieces.2.run_ft": "9", "pieces.2.size": "14", "pieces.2.metal": "aluminum"},
         "pieces.2.size", "no 14 aluminum"),
        ({"pieces.0.ambient_f": "150", "pieces.0.letters": "TW"}, "pieces.0.ambient_f",
         "131 °F (55 °C); 150 °F (65.6 °C) was given"),
        ({"pieces.0.trade_size": "6"}, "pieces.0.trade_size", "Choose one"),
        ({"also.1.count": "3"}, "also.1.size", "Choose the size"),
        ({"also.1.size": "12"}, "also.1.count", "Say how many"),
    ],
)  # fmt: skip
def test_what_cannot_be_worked_out_is_told_at_its_field(
    typed: dict[str, str], field: str, said: str
):
    bench = read_bench({**BEGUN, **typed}, RULES)
    assert bench.answer is None
    assert list(bench.form.problems) == [field]
    assert said in bench.form.problem(field)
    for name, text in typed.items():
        assert bench.form.value(name) == text


def test_temperatures_are_in_fahrenheit_with_celsius_beside(browser: TestClient, farm: StoredSite):
    page = on_bench(browser, farm, pieces__0__ambient_f="104")
    assert "104 °F (40 °C)" in page
    # 40 C: 0.91 of 75 A, 6 copper at 90 C
    assert ">68.2<" in page
    assert "86 °F (30 °C)" in on_bench(browser, farm)


@pytest.mark.parametrize(
    ("ambient_f", "factor"),
    [("86", 1.0), ("95", 0.96), ("95.1", 0.91), ("104", 0.91), ("122", 0.82)],
)
def test_a_band_in_fahrenheit_ends_where_the_table_says(ambient_f: str, factor: float):
    answer = read_bench({**BEGUN, "pieces.0.ambient_f": ambient_f}, RULES).answer
    assert answer is not None
    assert answer.pieces[0].ampacity.ambient_factor == factor


def test_other_wires_lie_in_the_segment_that_is_named():
    typed = {
        **BEGUN,
        "pieces.1.run_ft": "20",
        "also.0.count": "4",
        "also.0.size": "12",
        "also.0.segment": "2",
        "also.1.count": "1",
        "also.1.size": "8",
        "also.1.letters": "bare",
    }
    answer = read_bench(typed, RULES).answer
    assert answer is not None
    assert [p.counted for p in answer.pieces] == [2, 6]
    assert [len(p.piece.also) for p in answer.pieces] == [1, 2]


def test_an_empty_segment_between_is_passed_over():
    typed = {**BEGUN, "pieces.4.run_ft": "20", "pieces.4.ambient_f": "200"}
    assert "185 °F" in read_bench(typed, RULES).form.problem("pieces.4.ambient_f")
    typed |= {"pieces.4.ambient_f": "150", "pieces.4.letters": "TW"}
    assert "131 °F" in read_bench(typed, RULES).form.problem("pieces.4.ambient_f")


def test_the_answer_tells_pulls_boxes_nipples_and_what_is_ahead(
    browser: TestClient, farm: StoredSite
):
    page = on_bench(
        browser,
        farm,
        noncontinuous_a="100",
        ahead_percent="3",
        pieces__0__run_ft="200",
        pieces__0__bends="90, 90, 90, 90, 30",
        pieces__1__run_ft="2",
        pieces__1__nipple="on",
        pieces__1__trade_size="3/4",
    )
    assert "390° of bends. A pull point is needed at the latest after bend 4" in page
    assert "a nipple, no bundling" in page
    assert "3/4 in as given" in page
    assert "too small" in page
    assert "over the 5 % advised" in page
    assert "in along a straight pull (314.28(A)(1))" in page
    assert "in apart (314.28(A)(2))" in page


def test_a_cable_in_a_size_it_does_not_have_is_told_beside_its_wire(
    browser: TestClient, farm: StoredSite
):
    page = on_bench(
        browser, farm, noncontinuous_a="60", pieces__0__size="1/0", pieces__0__letters="NM-B"
    )
    assert "NM-B of copper comes in 14 to 2 AWG (334.104)" in page
    assert 'data-field="pieces.0.size"' in page


def test_thhn_in_a_wet_place_is_told_beside_its_insulation(browser: TestClient, farm: StoredSite):
    page = on_bench(
        browser, farm, noncontinuous_a="60", pieces__0__letters="THHN", pieces__0__place="wet"
    )
    assert "THHN is not for wet or underground places (Table 310." in page
    assert 'data-field="pieces.0.letters"' in page


@pytest.mark.parametrize(
    ("segment", "place", "told"),
    [("", "wet", True), ("1", "wet", True), ("2", "wet", False), ("", "", False)],
)
def test_thhn_beside_the_run_in_a_wet_place_is_told_beside_its_own_insulation(
    browser: TestClient, farm: StoredSite, segment: str, place: str, told: bool
):
    page = on_bench(
        browser,
        farm,
        noncontinuous_a="60",
        pieces__0__place=place,
        pieces__1__run_ft="20",
        also__0__count="1",
        also__0__size="10",
        also__0__letters="bare",
        also__1__count="3",
        also__1__size="12",
        also__1__letters="THHN",
        also__1__segment=segment,
    )
    assert ("THHN is not for wet or underground places" in page) is told
    assert ('data-field="also.1.letters"' in page) is told


@pytest.mark.parametrize(
    ("use", "carries", "neutral"),
    [
        ("", "215.2(A)(1), 240.4", "220.61, 215.2(B)"),
        ("branch", "210.19(A), 240.4(B), 240.4(D)", "210.19(A)"),
        ("receptacles", "210.19(A), 240.4(B)(1), 240.4(D)", "210.19(A)"),
        ("service", "230.42(A), 230.90(A)", "220.61, 230.42(C), 250.24(D)"),
    ],
)
def test_each_use_of_a_run_cites_its_own_sections(
    browser: TestClient, farm: StoredSite, use: str, carries: str, neutral: str
):
    page = on_bench(browser, farm, use=use, noncontinuous_a="12", volts="120", edition="2023")
    assert f">Carries<small>{carries}</small>" in page
    assert f">Neutral<small>{neutral}</small>" in page
    # 250.102(C) sizes a supply-side bonding jumper, 250.142(A)(1) lets the neutral stand for it.
    ground = "250.142(A)(1), 250.102(C)" if use == "service" else "250.122"
    assert f">Ground<small>{ground}</small>" in page


def test_service_conductors_show_the_electrode_and_no_ground(browser: TestClient, farm: StoredSite):
    page = on_bench(
        browser, farm, use="service", noncontinuous_a="150", device_a="200",
        pieces__0__size="4/0", pieces__0__metal="aluminum",
    )  # fmt: skip
    assert "Grounding electrode, copper</dt><dd>4</dd>" in page
    assert "6 to rods, 4 to concrete-encased" in page
    assert "service conductors</small>" in page


def test_areas_are_whole_and_the_83_percent_rule_ends_where_it_does(
    browser: TestClient, farm: StoredSite
):
    page = on_bench(browser, farm, device_a="80", start_a="48", whole_dwelling="on")
    assert "on an 80 A device" in page
    assert "e+04" not in page
    assert "The 83 % rule is not used: it is for devices from 100 A to 400 A" in page
    assert "While the motor starts, running by dc" in page
    assert "is not used" not in on_bench(browser, farm, device_a="100", whole_dwelling="on")


def test_every_feeder_of_the_schedule_can_be_put_on_the_bench(
    browser: TestClient, farm: StoredSite
):
    page = browser.get(f"/sites/{farm.id}/wiring").text
    wiring = check_site(farm.site).wiring
    links = [unescape(link) for link in re.findall(r'href="([^"]*)">[^<]* on the bench<', page)]
    assert len(links) == len(wiring) > 5
    for wired, link in zip(wiring, links, strict=True):
        bench = re.sub(r"\s+", " ", browser.get(link).text)
        assert 'class="lead"' in bench, wired.name
        first = wired.segments[0].segment
        assert f"1: {first.size} {first.metal}, given" in bench or (f"{first.run_ft:g} ft" in bench)
        assert wired.drop is not None


def test_the_example_is_worked_out_in_every_edition(browser: TestClient, farm: StoredSite):
    for edition in ("2017", "2020", "2023", "2026"):
        page = browser.get(
            f"/sites/{farm.id}/wiring/bench", params={**EXAMPLE, "edition": edition}
        ).text
        assert 'class="lead"' in page
        assert ("Provisional." in page) == (edition == "2026")


def test_another_edition_keeps_what_stands_on_the_bench(browser: TestClient, farm: StoredSite):
    root = f"/sites/{farm.id}/wiring/bench"
    picker = form_in(browser.get(root, params=BEGUN).text, root)
    page = browser.get(root, params=picker | {"edition": "2017"}).text
    assert "<b>6 copper</b>" in page
    assert "Table 310.15(B)(16)" in page
