"""Which conductors carry a whole dwelling while a part of it is thrown to another source."""

from __future__ import annotations

import pytest

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.demand.reach import carried_by
from server.rules.demand.watched import demand_report
from server.rules.editions import rulebook
from server.rules.reach import above
from server.rules.wiring.run import Run
from server.rules.wiring.sizing import size_run
from tests import builders

TWO_FAMILY = read_site_file((DEMOS / "two-family.json").read_bytes())


def test_every_service_qualifies_for_the_optional_method_in_every_position():
    services = [d for d in demand_report(TWO_FAMILY, rules=rulebook("2023")) if d.kind == "service"]
    assert len(services) == len(TWO_FAMILY.services)
    assert any(len({s.position for s in d.sheets}) > 1 for d in services)
    for one in services:
        positions = {s.position for s in one.sheets}
        assert {s.position for s in one.sheets if s.method == "optional"} == positions


def test_the_optional_sheet_says_what_several_dwellings_share():
    """220.82(A) is for one dwelling unit; what hangs on its meter and is shared is told apart."""
    report = {d.element_id: d for d in demand_report(TWO_FAMILY, rules=rulebook("2023"))}
    for method in ("optional", "existing"):
        sheet = report["meter-down"].sheet(method)
        (note,) = (n for n in sheet.notes if n.startswith("Several dwellings share"))
        assert "Clothes dryer" in note
        plain = next(
            s
            for s in report["meter-down"].sheets
            if (s.method, s.position) == ("standard", sheet.position)
        )
        assert f"By the standard method all of it comes to {plain.total_va:,.0f} VA" in note
    assert not any("share" in n for n in report["meter-down"].sheet("standard").notes)


@pytest.mark.parametrize(("device_a", "holds"), [(30, False), (100, True), (400, True)])
def test_the_83_percent_rule_is_for_devices_from_100_a(device_a, holds):
    """310.12: 30 A on 10 copper at 60 °C, not on the 83 % of a dwelling's 75 °C terminals."""
    answer = size_run(Run(20, 25, whole_dwelling=True, device_a=device_a), rulebook("2023"))
    assert answer.dwelling_share is holds
    if not holds:
        assert {c.ampacity.terminal_c for c in answer.candidates} == {60}


def test_circuits_and_feeders_are_filed_by_where_they_stand():
    site = builders.backed_up_site(scenarios=())
    assert sum(map(len, site.circuits_in.values())) == len(site.circuits)
    assert all(c.panel_id == panel for panel, own in site.circuits_in.items() for c in own)
    assert sum(map(len, site.feeders_from.values())) == len(site.feeders)
    assert all(f.from_id == start for start, own in site.feeders_from.items() for f in own)


def test_what_an_element_carries_follows_a_changed_site():
    site = builders.backed_up_site(scenarios=())
    before = {c.circuit.id for c in carried_by(site, "grid", {})}
    less = builders.with_parts(site, circuits=site.circuits[1:])
    assert {c.circuit.id for c in carried_by(less, "grid", {})} == before - {site.circuits[0].id}
    assert "grid" in above(less, "backed")
