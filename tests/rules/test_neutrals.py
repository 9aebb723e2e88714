"""The neutral on every worksheet, and the neutral conductor of every feeder."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import EDITIONS, rulebook
from server.rules.wiring.feeder import feeder_wiring
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run, smallest_neutral
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, codes, found, wired_shed


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_every_worksheet_of_a_demo_tells_its_neutral_with_a_section_on_each_row(path):
    for element in check_site(read_site_file(path.read_bytes())).demand:
        for sheet in element.sheets:
            assert sheet.legs is not None
            assert all(row.section for row in sheet.legs.rows)
            assert sheet.legs.neutral_a >= 0
            assert sum(row.neutral_a for row in sheet.legs.rows) == pytest.approx(
                sheet.legs.neutral_a
            )


@pytest.mark.parametrize(("edition", "section"), [("2023", "220.61(A)"), ("2026", "120.61(A)")])
def test_neutral_rows_cite_their_edition(edition, section):
    report = check_site(builders.backed_up_site(scenarios=()), edition=edition)
    rows = [r for d in report.demand for s in d.sheets if s.legs for r in s.legs.rows]
    assert section in {r.section for r in rows}
    assert edition in EDITIONS


def test_a_set_of_120_v_says_what_its_neutral_carries():
    (sheet,) = next(
        d.sheets
        for d in check_site(builders.set_120_only_site(scenarios=())).demand
        if d.kind == "generator"
    )
    assert sheet.legs is None
    assert any(f"the same {sheet.amps:.1f} A" in note for note in sheet.notes)


def test_a_neutral_smaller_than_its_load_asks_for_is_found():
    # The shed's feeder is behind 100 A: 8 AWG copper, 6 AWG aluminum is the least (250.122).
    finding = found(wired_shed("1/0", neutral_size="8"), "neutral-too-small")
    assert "asks for" in finding.text.replace("ask for", "asks for")
    assert finding.section == "220.61, 215.2(B)"  # renumbered in 2023: mynfpa70.com
    old = found(wired_shed("1/0", neutral_size="8"), "neutral-too-small", edition="2020")
    assert old.section == "220.61, 215.2(A)(2)"
    assert finding.element_id
    assert "neutral-too-small" not in codes(wired_shed("1/0", neutral_size="1/0"))


def test_a_neutral_that_is_not_entered_is_as_large_as_the_legs():
    assert "neutral-too-small" not in codes(wired_shed("1/0"))


def test_a_neutral_as_large_as_its_legs_is_never_too_small():
    site = read_site_file((DEMOS / "bungalow.json").read_bytes())
    (drop,) = (w for w in check_site(site).wiring if w.feeder_id == "service-drop")
    assert drop.demand.legs is not None
    # Its rows by the standard method come to more than the leg by the optional one.
    assert drop.demand.legs.neutral_a > drop.demand.leg_a == drop.neutral_a
    assert [s.neutral_size for s in drop.segments] == ["2"]
    assert [s.neutral_enough for s in drop.segments] == [True]
    assert "neutral-too-small" not in codes(site)
    stated = tuple(
        f.model_copy(update={"neutral_ampacity_a": 90}) if f.id == "service-drop" else f
        for f in site.feeders
    )
    assert "neutral-too-small" not in codes(with_parts(site, feeders=stated))


def test_a_stated_neutral_is_held_against_its_load():
    base = wired_shed("1/0")

    def stated(amps):
        return with_parts(
            base,
            feeders=tuple(
                f.model_copy(update={"neutral_ampacity_a": amps}) if f.segments else f
                for f in base.feeders
            ),
        )

    (wired,) = (w for w in feeder_wiring(base, rules=RULES) if w.segments)
    load_a = wired.demand.legs.neutral_a
    assert load_a > 2
    finding = found(stated(load_a - 1.5), "neutral-too-small")
    assert finding.value == pytest.approx(load_a)
    assert "neutral-too-small" not in codes(stated(load_a + 1))


def test_a_neutral_in_a_hot_place_is_derated_as_its_legs_are():
    def least(ambient_c):
        run = Run(100, 100, neutral_a=90, device_a=100, terminal_c=75, ambient_c=ambient_c)
        return smallest_neutral(run, device_a=100, hot_size="3", rules=rulebook("2023"))

    # 4 AWG copper carries 85 A at 75 C and 95 A at 90 C; 3 AWG 100 A and 115 A.
    assert least(30) == "3"
    # At 50 C 0.82: 3 AWG 115 x 0.82 = 94.3 A still carries it; at 60 C 0.71 takes 2 AWG: 92.3 A.
    assert least(50) == "3"
    assert least(60) == "2"


def test_a_neutral_grows_as_its_ground_does_where_the_hots_are_larger():
    """8 aluminum behind 50 A: 16,510 x 83,690 / 41,740 = 33,103, 4 AWG (215.2, 250.122(B))."""
    run = Run(180, 40, neutral_a=10, device_a=50, metal="aluminum")
    sizes = {
        hot: smallest_neutral(run, device_a=50, hot_size=hot, rules=RULES) for hot in ("4", "1")
    }
    assert sizes == {"4": "8", "1": "4"}


def test_a_feeder_s_neutral_is_never_under_its_ground():
    answer = size_run(Run(50, 90, neutral_a=1, device_a=100, terminal_c=75), rulebook("2023"))
    assert (answer.neutral_size, answer.ground_size) == ("8", "8")


def test_the_switchable_panel_says_it_is_the_same_in_both_positions():
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    swing = next(d for d in check_site(site).demand if d.element_id == "swing")
    for sheet in swing.sheets:
        assert (
            "The same with Double-throw switch on NORMAL (80 A ahead) and on BACKED-UP "
            "(80 A ahead); it must fit on either side." in sheet.notes
        )
    main = next(d for d in check_site(site).demand if d.element_id == "main")
    assert not any("it must fit on either side" in n for s in main.sheets for n in s.notes)


def test_the_neutral_of_two_wires_is_the_size_of_the_hot():
    """16 A, 70 ft, 120 V at 3 %: 12 copper loses 2 x 16 x 1.98 x 0.07 = 4.44 V, 3.7 %; 10 does.

    With a neutral of 12 beside 10 it would be 16 x 0.07 x (1.24 + 1.98) = 3.61 V, over 3.6 V.
    """
    for neutral_a in (None, 16):
        answer = size_run(Run(70, 16, volts=120, neutral_a=neutral_a), RULES)
        assert (answer.size, answer.neutral_size) == ("10", "10")
    assert size_run(Run(70, 16, volts=240, neutral_a=16), RULES).neutral_size == "12"


def test_a_smaller_neutral_is_never_asked_to_pass_its_hots():
    """Entered 4 aluminum under hots of 2: it is asked to be 2, and no more."""
    site = read_site_file((DEMOS / "bungalow.json").read_bytes())

    def with_neutral(feeder):
        wire = tuple(s.model_copy(update={"neutral_size": "4"}) for s in feeder.segments)
        return feeder.model_copy(update={"segments": wire})

    feeders = tuple(with_neutral(f) if f.id == "service-drop" else f for f in site.feeders)
    finding = found(with_parts(site, feeders=feeders), "neutral-too-small")
    assert "is 4 aluminum; its neutral load of 90 A and its device ask for 2." in finding.text


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_no_neutral_carries_more_than_its_leg_or_device(path):
    for one in check_site(read_site_file(path.read_bytes())).wiring:
        assert one.neutral_a <= one.demand.leg_a
        assert one.neutral_a <= one.device_a
