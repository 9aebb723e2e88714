"""Which conductors carry a whole dwelling while a part of it is thrown to another source."""

from __future__ import annotations

from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.demand.report import demand_report
from server.rules.editions import rulebook

TWO_FAMILY = read_site_file((DEMOS / "two-family.json").read_bytes())


def test_every_service_qualifies_for_the_optional_method_in_every_position():
    services = [d for d in demand_report(TWO_FAMILY, rules=rulebook("2023")) if d.kind == "service"]
    assert len(services) == len(TWO_FAMILY.services)
    assert any(len({s.position for s in d.sheets}) > 1 for d in services)
    for one in services:
        positions = {s.position for s in one.sheets}
        assert {s.position for s in one.sheets if s.method == "optional"} == positions
