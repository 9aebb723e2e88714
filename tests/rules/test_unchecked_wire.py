"""What the tables do not know of a feeder's wire is said, and hides nothing of the rest."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import rulebook
from server.rules.wiring.raceway import Wires
from server.rules.wiring.segment import segment_ampacity
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())
SHED = "feeder-shed"


def of_shed(*, breaker_a: float = 400.0, **segment):
    """Findings of the farm's long feeder behind a breaker far above its 2 AWG aluminum."""
    feeders = tuple(
        f.model_copy(
            update={
                "breaker_a": breaker_a,
                "ampacity_a": None,
                "segments": (f.segments[0].model_copy(update=segment),),
            }
        )
        if f.id == SHED
        else f
        for f in FARM.feeders
    )
    report = check_site(with_parts(FARM, feeders=feeders))
    return {f.code: f for f in report.findings if f.element_id == SHED}, report.missing


@pytest.mark.parametrize("letters", ["SER", "SEU", "UF-B", "THW", "TW"])
def test_wire_without_an_area_is_still_held_to_its_breaker(letters):
    found, missing = of_shed(insulation=letters)
    assert found["wire-too-small"].severity == "blocking"
    assert "ground-too-small" in found
    # Chapter 9 Table 5 has THW and TW; a cable's area is its maker's.
    unfilled = [m for m in missing if m.startswith("Fill of the raceway of Feeder to potting shed")]
    assert bool(unfilled) == (letters not in ("THW", "TW"))


def unfilled(**segment):
    return [m for m in of_shed(**segment)[1] if m.startswith("Fill of the raceway of Feeder to")]


def test_a_cable_in_no_raceway_has_no_fill_to_be_told():
    assert not unfilled(insulation="SER", raceway="", raceway_trade_size="")
    (words,) = unfilled(insulation="SER", raceway="PVC", raceway_trade_size="2")
    assert "as they carry other amps" in words


@pytest.mark.parametrize("word", ["fmc", "lfnc", "zzz"])
def test_a_raceway_outside_the_tables_is_named_with_those_in_them(word):
    (words,) = unfilled(raceway=word, raceway_trade_size="1/2")
    assert f"{word!r} is no raceway here" in words
    assert "EMT, PVC schedule 40, PVC schedule 80, Rigid metal conduit" in words
    assert not unfilled(raceway="Schedule 40", raceway_trade_size="2")


@pytest.mark.parametrize("field", ["ground_size", "neutral_size"])
def test_a_size_that_cannot_be_read_hides_neither_wire_nor_breaker(field):
    found, _ = of_shed(**{field: "#8"})
    assert found["wire-too-small"].severity == "blocking"
    assert found["feeder-wire-unchecked"].severity == "warning"
    assert "'#8'" in found["feeder-wire-unchecked"].text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sets": 2}, "in parallel start at 1/0"),
        ({"ambient_f": 200.0}, "lies in air from"),
        ({"insulation": "NM-B", "size": "1"}, "NM-B of aluminum comes in 12 to 2"),
        ({"insulation": "rubber"}, "Insulation 'rubber' is not here"),
        ({"insulation": "SIS"}, "Insulation 'SIS' is the wiring inside switchboards"),
        ({"insulation": "FEPB"}, "Insulation 'FEPB' has no figures here"),
        ({"insulation": "RHH/RHW-2/USE-2"}, "that holds where it lies, RHH or RHW-2 or USE-2"),
        ({"size": "14"}, "14"),
    ],
)
def test_wire_that_is_in_no_table_is_a_warning(changes, words):
    found, _ = of_shed(**changes)
    assert found["feeder-wire-unchecked"].severity == "warning"
    assert words in found["feeder-wire-unchecked"].text


@pytest.mark.parametrize("breaker_a", [1250.0, 2000.0, 6000.0])
def test_a_breaker_past_the_tables_does_not_hide_the_wire_behind_it(breaker_a):
    found, _ = of_shed(breaker_a=breaker_a)
    assert found["wire-too-small"].severity == "blocking"
    assert f"{breaker_a:,g} A is past" in found["feeder-wire-unchecked"].text
    assert found["feeder-wire-unchecked"].mend == "Read the rating on the breaker again."


def test_a_wet_length_takes_the_wet_column_and_refuses_dry_wire():
    """XHHW is of 90 °C dry and of 75 °C wet (Table 310.4(1)): 2 aluminum, 100 and 90 A."""
    rules = rulebook("2023")
    wire = FARM.feeder_into("shed").segments[0].model_copy(update={"insulation": "XHHW"})
    dry = segment_ampacity(wire.model_copy(update={"wet": False}), terminal_c=75, rules=rules)
    wet = segment_ampacity(wire.model_copy(update={"wet": True}), terminal_c=75, rules=rules)
    assert (dry.adjusted_a, wet.adjusted_a) == (100, 90)
    found, _ = of_shed(insulation="THHN", wet=True)
    assert "THHN is not for wet" in found["feeder-wire-unchecked"].text


@pytest.mark.parametrize(
    ("letters", "dry_a", "wet_a", "area_in2"),
    [
        ("RHW-2", 100, 100, 0.1333),
        ("RHW", 90, 90, 0.1333),
        ("RHH", 100, None, 0.1333),
        ("THW-2", 100, 100, 0.1333),
        ("THHW", 100, 90, 0.1333),
        ("XHH", 100, None, 0.1146),
    ],
)
def test_other_insulations_of_the_table_are_taken(letters, dry_a, wet_a, area_in2):
    """Table 310.4(1) and Table 310.16, from memory: 2 aluminum is of 90 A at 75 °C and 100 A at
    90 °C. Chapter 9 Table 5, buildmyowncabin.com: 2 AWG of RHH* and THW 0.1333 in², XHH 0.1146.
    """
    rules = rulebook("2023")
    wire = FARM.feeder_into("shed").segments[0].model_copy(update={"insulation": letters})
    dry = segment_ampacity(wire.model_copy(update={"wet": False}), terminal_c=75, rules=rules)
    assert dry.adjusted_a == dry_a
    assert Wires("2", 1, letters).area_in2 == area_in2
    if wet_a is None:
        found, _ = of_shed(insulation=letters, wet=True)
        assert f"{letters} is not for wet" in found["feeder-wire-unchecked"].text
    else:
        wet = segment_ampacity(wire.model_copy(update={"wet": True}), terminal_c=75, rules=rules)
        assert wet.adjusted_a == wet_a


@pytest.mark.parametrize(
    ("letters", "told"), [("THHN", True), ("nm-b", True), ("THWN-2", False), ("XHHW", False)]
)
def test_wire_for_dry_places_to_another_building_is_told(letters, told):
    """300.9: in wet places above grade the inside of a raceway is wet; 300.5(B) in the ground."""
    found, _ = of_shed(insulation=letters)
    assert ("dry-wire-outdoors" in found) == told


@pytest.mark.parametrize(
    ("letters", "told"),
    [("SER", True), ("SEU", True), ("UF-B", False), ("THWN-2", False), ("THHN", False)],
)
@pytest.mark.parametrize("raceway", ["", "PVC40"])
def test_service_cable_to_another_building_may_not_be_buried(letters, told, raceway):
    """338.12(A)(2), from memory: not underground, with or without a raceway."""
    found, _ = of_shed(insulation=letters, raceway=raceway)
    assert ("service-cable-underground" in found) == told
    if told:
        finding = found["service-cable-underground"]
        assert (finding.severity, finding.section) == ("note", "338.12(A)(2)")
        assert f"entered as {letters}." in finding.text


def test_no_drop_is_spoken_of_where_no_length_is_told():
    feeders = tuple(
        f.model_copy(update={"segments": ()}) if f.id == SHED else f for f in FARM.feeders
    )
    wiring = check_site(with_parts(FARM, feeders=feeders)).wiring
    advice = next(w.advice for w in wiring if w.feeder_id == SHED)
    assert advice.reason == f"{advice.size} is the smallest that carries it; no length is told"


def test_a_cable_that_ends_below_1_0_is_not_to_be_laid_in_parallel():
    """Aluminum NM-B ends at 2 (334.104), parallel wires begin at 1/0 (310.10(G))."""
    found, _ = of_shed(breaker_a=400, insulation="NM-B", size="8", wet=False)
    assert "Use wire of another kind" in found["wire-too-small"].mend
