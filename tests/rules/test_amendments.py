from __future__ import annotations

from server.domain.site import LocalAmendment
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import site_rules
from tests.builders import with_parts

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())


def amended(**changes):
    local = {"figure": "lighting_va_per_ft2", "value": 4.0, "reason": "Ordinance 12"} | changes
    return with_parts(FARM, amendments=(LocalAmendment(**local),))


def lighting(report):
    (line,) = (x for x in report.demand[0].sheets[0].lines if x.label.startswith("Lighting"))
    return line


def test_amended_figure_is_used_and_its_reason_stands_at_the_line():
    before, after = lighting(check_site(FARM)), lighting(check_site(amended()))
    assert after.connected_va == before.connected_va / 3.0 * 4.0
    assert "Ordinance 12" in after.cite.section


def test_amendment_of_no_figure_is_left_out_and_told():
    report = check_site(amended(figure="no_such_figure"))
    (finding,) = (f for f in report.findings if f.code == "amendment-left-out")
    assert "no_such_figure" in finding.text
    assert lighting(report) == lighting(check_site(FARM))


def test_site_without_amendments_shares_one_rulebook():
    assert site_rules(FARM)[0] is site_rules(FARM)[0]


def test_area_told_at_the_panels_answers_the_question():
    assert not any("Floor area served" in q for q in check_site(FARM).missing)
    panels = tuple(p.model_copy(update={"floor_area_ft2": None}) for p in FARM.panels)
    untold = check_site(with_parts(FARM, panels=panels))
    assert any("Floor area served" in q for q in untold.missing)
