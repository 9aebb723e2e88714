"""Wire from a set to the first device: 115 % of the set, whatever the load (445.13(A))."""

from __future__ import annotations

import pytest

from server.domain.supply import Segment
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.mends.recheck import offers
from server.rules.wiring.set_wire import set_wire_a
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import RULES, codes, found


def from_set(kva, segment, breaker_a=None, portable=False, ampacity_a=None):
    """A set of this size with no breaker of its own, and the wire that leaves it."""
    base = builders.backed_up_site(scenarios=())
    (one,) = base.generators
    bare = one.model_copy(
        update={"kva": kva, "rated_kw": kva, "breaker_a": None, "portable": portable}
    )
    feeders = tuple(
        f.model_copy(
            update={"segments": (segment,), "breaker_a": breaker_a, "ampacity_a": ampacity_a}
        )
        if f.from_id == one.id
        else f
        for f in base.feeders
    )
    return with_parts(base, generators=(bare,), feeders=feeders)


def wire(size, **changes):
    return Segment(run_ft=30, size=size, metal="copper", **changes)


def test_a_set_s_wire_is_sized_by_the_set_and_not_by_what_is_behind_it():
    """16 kVA / 240 V = 66.7 A, 76.7 A at 115 %; 2 copper carries 95 A at 60 °C (445.13(A))."""
    site = from_set(16, wire("2"))
    feeder = next(f for f in site.feeders if f.from_id == site.generators[0].id)
    needed = set_wire_a(site, feeder, RULES)
    assert needed.value == pytest.approx(76.67, abs=0.01)
    assert not {"wire-too-small", "generator-conductors"} & codes(site)


@pytest.mark.parametrize(
    ("size", "terminal_c", "code"),
    [
        ("3", None, "terminals-asked"),  # 85 A at 60 °C, 100 A at 75 °C
        ("2", None, "terminals-asked"),  # 95 A at 60 °C
        ("1", None, None),  # 110 A at 60 °C
        ("3", 75, None),  # 100 A
        ("4", 75, "generator-conductors"),  # 85 A
    ],
)
def test_20_kva_asks_for_95_8_a_by_the_marking_of_its_terminals(size, terminal_c, code):
    """83.3 A at 115 %: 1 copper where terminals are not read, 3 copper marked 75 °C."""
    site = from_set(20, wire(size, terminal_c=terminal_c))
    of_the_wire = {"terminals-asked", "generator-conductors", "wire-too-small"} & codes(site)
    assert of_the_wire == ({code} if code else set())


def test_wire_marked_75_is_mended_by_the_size_of_that_column():
    site = from_set(20, wire("4", terminal_c=75))
    finding = next(
        f for f in check_site(site, recheck=True).findings if f.code == "generator-conductors"
    )
    assert finding.limit == pytest.approx(95.83, abs=0.01)
    assert finding.section == "445.13(A)"
    assert finding.mend.startswith("Use 3 copper, or put an 80 A breaker")
    assert finding.recheck.change.startswith("3 copper")
    assert finding.recheck.clears


def test_small_wire_from_a_set_is_mended_by_1_copper_where_terminals_are_not_read():
    finding = next(
        f
        for f in check_site(from_set(20, wire("10")), recheck=True).findings
        if f.code == "generator-conductors"
    )
    assert "terminals carry 30 A, 95.8 A needed" in finding.text
    assert "need 115 % of its 83.3 A" in finding.text
    assert finding.mend == "Use 1 copper, or put a 30 A breaker or a smaller one at the set."
    assert finding.recheck.change.startswith("1 copper the whole length")
    assert finding.recheck.clears


@pytest.mark.parametrize(
    ("size", "entered_a", "told", "mend"),
    [
        ("10", 70, "terminals carry 30 A", "Use 1 copper, or put a 30 A breaker"),
        ("10", 20, "entered as carrying 20 A", "Use 1 copper, or put a 20 A breaker"),
        ("1", 70, "entered as carrying 70 A", "Enter 110 A, which the tables give its wire"),
    ],
)
def test_tables_and_entered_amps_are_one_finding_by_the_lesser(size, entered_a, told, mend):
    """10 copper 30 A and 1 copper 110 A at 60 °C (Table 310.16), against 95.8 A."""
    site = from_set(20, wire(size), ampacity_a=entered_a)
    (finding,) = [
        f for f in check_site(site, recheck=True).findings if f.code == "generator-conductors"
    ]
    assert told in finding.text
    assert finding.mend.startswith(mend)
    assert finding.recheck.clears


def test_new_wire_is_tried_without_the_amps_entered_for_the_old():
    site = from_set(20, wire("10"), ampacity_a=70)
    finding = found(site, "generator-conductors")
    first = offers(site, finding, RULES)[0]
    wired = next(f for f in first.site.feeders if f.id == finding.element_id)
    assert (wired.segments[0].size, wired.ampacity_a) == ("1", None)


@pytest.mark.parametrize(
    ("breaker_a", "portable", "asked"),
    [(None, False, True), (60, False, False), (None, True, False)],
)
def test_a_set_that_nothing_protects_is_asked_about(breaker_a, portable, asked):
    """445.12: by inherent design or by a device; from memory."""
    site = from_set(16, wire("2"), breaker_a=breaker_a, portable=portable)
    assert ("generator-overload" in codes(site)) == asked
    if asked:
        finding = found(site, "generator-overload")
        assert (finding.severity, finding.section) == ("note", "445.12")


def test_the_farm_s_set_without_its_breaker_keeps_its_2_copper():
    """16 kW behind nothing: 76.7 A, and not the 151.9 A of all that transfers."""
    site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    bare = with_parts(
        site,
        generators=tuple(g.model_copy(update={"breaker_a": None}) for g in site.generators),
        feeders=tuple(
            f.model_copy(update={"breaker_a": None})
            if f.from_id in {g.id for g in site.generators}
            else f
            for f in site.feeders
        ),
    )
    of_set = [f for f in bare.feeders if f.from_id in {g.id for g in bare.generators}]
    report = check_site(bare)
    assert not [
        f for f in report.findings
        if f.element_id in {o.id for o in of_set} and f.code == "wire-too-small"
    ]  # fmt: skip
    (wiring,) = [w for w in report.wiring if w.feeder_id == of_set[0].id]
    assert wiring.design_a == pytest.approx(76.67, abs=0.01)
    assert wiring.set_working.source.startswith("445.13(A)")
    assert "generator-overload" in {f.code for f in report.findings}
