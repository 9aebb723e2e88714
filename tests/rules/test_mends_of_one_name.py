"""The re-check of a finding is of its own part, whatever the parts are called."""

from __future__ import annotations

import pytest

from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import site_rules
from server.rules.mends import recheck
from tests.builders import with_parts

BUNGALOW = read_site_file((DEMOS / "bungalow.json").read_bytes())
TOO_LARGE = {"lights-front": 20.0, "lights-back": 25.0, "living": 20.0, "office": 25.0}


def named(names: dict[str, str]) -> Site:
    """The bungalow with four breakers above their wire, on circuits of these names."""
    wire = {"wire_size": "14", "wire_metal": "copper"}
    circuits = (
        c.model_copy(update=wire | {"breaker_a": TOO_LARGE[c.id], "name": names[c.id]})
        if c.id in TOO_LARGE
        else c
        for c in BUNGALOW.circuits
    )
    return with_parts(BUNGALOW, circuits=tuple(circuits))


@pytest.mark.parametrize(
    "names",
    [
        pytest.param({i: i for i in TOO_LARGE}, id="four names"),
        pytest.param(dict.fromkeys(TOO_LARGE, "Plugs"), id="one name"),
    ],
)
def test_each_of_four_breakers_is_tried_on_its_own_circuit(names):
    findings = check_site(named(names), recheck=True).findings
    tried = {f.element_id: f.recheck for f in findings if f.code == "breaker-above-wire"}
    assert tried.keys() == TOO_LARGE.keys()
    for circuit_id, one in tried.items():
        assert one.change == f"a 15 A breaker on {names[circuit_id]}"
        assert one.clears, one.said


def test_after_so_many_checks_a_mend_says_that_it_was_not_tried(monkeypatch):
    monkeypatch.setattr(recheck, "CIRCUITS_CHECKED", 0)
    monkeypatch.setattr(recheck, "FEWEST_CHECKS", 2)
    site = named(dict.fromkeys(TOO_LARGE, "Plugs"))
    checked: list[Site] = []

    def check(changed: Site):
        checked.append(changed)
        return check_site(changed).findings

    rules, _ = site_rules(site, site.code_edition)
    findings = check_site(site).findings
    told = recheck.rechecked(site, findings, check=check, rules=rules)
    assert 2 <= len(checked) < 2 + recheck.MOST_OFFERS
    untried = [f for f in told if f.recheck and f.recheck.said.startswith("Not tried: ")]
    assert untried
    assert all(f.code in recheck.MENDS and not f.recheck.clears for f in untried)
    assert [f.key for f in told] == [f.key for f in findings]
