"""Amps entered for a feeder's wire against those of its size, place and terminals."""

from __future__ import annotations

from server.rules.check import check_site
from server.simulate.limits import limit_points
from tests.builders import with_parts
from tests.rules.check_sites import wired_shed


def shed(typed_a, neutral_a=None, **segment):
    """A 100 A feeder of 2 copper (Table 310.16: 95 A at 60 °C, 115 A at 75 °C), amps entered."""
    site = wired_shed("2", metal="copper", run_ft=30, load_w=10_000, **segment)
    typed = {"ampacity_a": typed_a, "neutral_ampacity_a": neutral_a}
    feeders = (f.model_copy(update=typed if f.segments else {}) for f in site.feeders)
    return with_parts(site, feeders=tuple(feeders))


def said(site):
    return [f for f in check_site(site).findings if f.code == "typed-above-tables"]


def test_more_than_the_tables_is_said_with_both_figures():
    finding = said(shed(115.0, 115.0))[0]
    assert (finding.value, finding.limit, finding.severity) == (115.0, 95.0, "note")
    assert "wire and neutral of 115 A where the tables give 95 A" in finding.text
    assert "terminals were not read" in finding.text


def test_no_more_than_the_tables_is_not_said():
    assert not said(shed(95.0, 95.0))
    assert not said(shed(115.0, 115.0, terminal_c=75))


def test_above_even_75_degree_terminals_warns():
    finding = said(shed(130.0))[0]
    assert (finding.severity, finding.limit) == ("warning", 95.0)
    assert said(shed(130.0, terminal_c=75))[0].limit == 115.0


def test_the_neutral_alone_is_named():
    assert "with neutral of 115 A" in said(shed(95.0, 115.0))[0].text


def test_a_smaller_neutral_has_its_own_figure_in_the_mend():
    """2 copper carries 95 A and 10 copper 30 A at 60 °C (Table 310.16)."""
    (one,) = said(shed(130.0, 130.0, neutral_size="10"))
    assert one.mend == "Enter 95 A for the wire and 30 A for the neutral, or correct the size."


def test_the_limit_of_a_run_says_whose_amps_it_holds():
    points = limit_points(shed(115.0, 115.0), outdoor_high_f=90.0)
    kinds = {p.kind: p.working.source for p in points}
    for kind in ("feeder_conductor", "feeder_neutral"):
        assert "Wiring works out" in kinds[kind]


def test_feeders_of_the_same_wire_with_the_same_amps_are_one_finding():
    site = shed(115.0, 115.0)
    wired = next(f for f in site.feeders if f.segments)
    behind = next(f for f in site.feeders if f.to_id == "backed")

    def both(typed_a):
        same = behind.model_copy(
            update={"segments": wired.segments, "ampacity_a": typed_a, "neutral_ampacity_a": None}
        )
        first = wired.model_copy(update={"neutral_ampacity_a": None})
        swapped = {behind.id: same, wired.id: first}
        return with_parts(site, feeders=tuple(swapped.get(f.id, f) for f in site.feeders))

    (one,) = said(both(115.0))
    assert f"{wired.name} and {behind.name} are each entered with wire of 115 A" in one.text
    assert one.element_id == wired.id
    assert len(said(both(110.0))) == 2
