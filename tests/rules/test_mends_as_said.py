"""The re-check of a finding is of the mend that the finding names, and of no other."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from server.domain.site import Site
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.editions import site_rules
from server.rules.mends.branches import as_advised
from server.rules.mends.recheck import MENDS, offers
from tests.builders import service, with_parts
from tests.rules.check_sites import of_kind, plain, solar_site

FILES = sorted(DEMOS.glob("*.json"))
FIGURE = re.compile(r"\b(?:[\d,.]+ A|(?:\d+/0|\d+) (?:copper|aluminum))\b")
UNTOLD = {"demand-above-rating"}
"""Its mend tells the volt-amperes too much; a manager's setting is what is tried of them."""


def circuits(**changes) -> Callable[[Site], Site]:
    return lambda site: with_parts(
        site, circuits=tuple(c.model_copy(update=changes) for c in site.circuits)
    )


def twice(site: Site) -> Site:
    return with_parts(
        site,
        circuits=tuple(c.model_copy(update={"breaker_a": 2 * c.breaker_a}) for c in site.circuits),
    )


def plates(site: Site) -> Site:
    """Each 240 V appliance with a plate that its breaker is above, and another below."""
    found = []
    for i, c in enumerate(site.circuits):
        plate = {"min_circuit_a": 12, "max_device_a": 12 if i % 3 else 25, "horsepower": None}
        if i % 2:
            plate = {"min_circuit_a": c.breaker_a + 3, "max_device_a": c.breaker_a + 20}
        things = tuple(a.model_copy(update=plate) for a in c.appliances)
        found.append(c.model_copy(update={"appliances": things}))
    return with_parts(site, circuits=tuple(found))


def heavier(site: Site) -> Site:
    return with_parts(
        site,
        circuits=tuple(
            c.model_copy(
                update={
                    "appliances": tuple(
                        a.model_copy(update={"load_w": 1.6 * a.load_w}) for a in c.appliances
                    )
                }
            )
            for c in site.circuits
        ),
    )


def mains(site: Site) -> Site:
    """Mains past what the bus stands beside its solar."""
    return with_parts(
        site,
        panels=tuple(
            p.model_copy(update={"main_a": p.main_a and p.main_a + 25}) for p in site.panels
        ),
        solar=tuple(a.model_copy(update={"ac_kw": 1.4 * a.ac_kw}) for a in site.solar),
    )


def wires(**changes) -> Callable[[Site], Site]:
    """Every length of every feeder with this wire."""

    def rewired(feeder):
        parts = tuple(s.model_copy(update=changes) for s in feeder.segments)
        return feeder.model_copy(update={"segments": parts})

    return lambda site: with_parts(site, feeders=tuple(map(rewired, site.feeders)))


def bare_sets(site: Site) -> Site:
    """Sets with no breaker, and small wire from them."""
    sets = {g.id for g in site.generators}
    small = wires(size="10")(site)
    return with_parts(
        small,
        generators=tuple(g.model_copy(update={"breaker_a": None}) for g in small.generators),
        feeders=tuple(
            f.model_copy(update={"breaker_a": None}) if f.from_id in sets else f
            for f in small.feeders
        ),
    )


def stated(site: Site) -> Site:
    """Ampacities entered that are under the breaker."""
    return with_parts(
        site,
        feeders=tuple(
            f.model_copy(update={"ampacity_a": 23.0, "neutral_ampacity_a": 7.0})
            for f in site.feeders
        ),
    )


BROKEN: dict[str, Callable[[Site], Site]] = {
    "as it is": lambda site: site,
    "breakers of 15 A": circuits(breaker_a=15.0),
    "breakers twice as large": twice,
    "14 copper everywhere": circuits(wire_size="14", wire_metal="copper"),
    "10 copper behind 40 A": circuits(wire_size="10", wire_metal="copper", breaker_a=40.0),
    "8 aluminum behind 50 A": circuits(wire_size="8", wire_metal="aluminum", breaker_a=50.0),
    "plates": plates,
    "heavier loads": heavier,
    "larger mains and solar": mains,
    "thin feeders": wires(size="8"),
    "thin neutrals": wires(neutral_size="10"),
    "thin grounds": wires(ground_size="14", ground_metal="copper"),
    "long feeders": wires(run_ft=900.0),
    "long feeders with thin neutrals": wires(run_ft=300.0, neutral_size="10"),
    "sets without a breaker": bare_sets,
    "small stated ampacities": stated,
}


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
@pytest.mark.parametrize("how", BROKEN)
def test_the_re_check_names_the_figure_that_the_mend_names(path, how):
    """Of all that may be tried, not only of what came out best."""
    site = BROKEN[how](read_site_file(path.read_bytes()))
    rules = site_rules(site)[0]
    for finding in check_site(site).findings:
        tried = [] if finding.code in UNTOLD else offers(site, finding, rules)
        said = set(FIGURE.findall(finding.mend))
        for offer in tried:
            assert set(FIGURE.findall(offer.words)) <= said, (finding.mend, offer.words)
        if finding.advised is not None:
            assert str(finding.advised) in finding.mend
            assert not tried or str(finding.advised) in tried[0].words


def test_a_breaker_or_branch_wire_is_tried_only_as_its_finding_advises():
    """No maker of these works out a figure of its own."""
    own = {code for code, maker in MENDS.items() if maker is as_advised}
    assert own >= {
        "breaker-above-wire",
        "branch-wire-small",
        "cooling-device-large",
        "cooling-device-small",
        "motor-device-large",
    }


@pytest.mark.parametrize(
    ("system", "breaker_a", "asked_a"),
    [("120/240", 15, 40), ("120/208", 15, 50), ("120/240", 200, 40), ("120/208", 200, 50)],
)
def test_a_solar_breaker_is_tried_at_the_volts_of_its_panel(system, breaker_a, asked_a):
    """125 % of 7.6 kW is 39.6 A at 240 V and 45.7 A at 208 V."""
    site = with_parts(solar_site(breaker_a=breaker_a), services=(service(system=system),))
    finding = next(
        f
        for f in check_site(site, recheck=True).findings
        if f.code in {"solar-breaker-small", "solar-breaker-large"}
    )
    assert f"{asked_a} A" in finding.mend
    assert finding.recheck.change == f"a {asked_a} A breaker for Solar"
    assert finding.recheck.clears


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("10", "a 40 A breaker and 8 copper wire on Circuit range"),
        ("8", "a 40 A breaker on Circuit range"),
    ],
)
def test_a_larger_breaker_is_tried_with_the_wire_it_asks_for(size, words):
    """A 12 kW range asks for 40 A, 8 copper at 60 °C (Table 310.16); 10 copper is read there."""
    own = of_kind("range", "main", (1, 3), "range-oven", load_w=12_000, breaker_a=30)
    site = plain(own.model_copy(update={"wire_size": size}))
    (finding,) = (f for f in check_site(site, recheck=True).findings
                  if f.code == "device-below-load")  # fmt: skip
    assert "a 40 A breaker with wire for it" in finding.mend
    assert ("8 copper" in finding.mend) == (size == "10")
    assert finding.recheck is not None
    assert finding.recheck.change == words
    assert finding.recheck.clears
    assert not finding.recheck.brings


def test_wire_run_anew_to_an_old_three_wire_circuit_has_a_ground():
    """An old cable may stay (250.140); the one that takes its place has four wires."""
    kiln = of_kind("range", "main", (1, 3), "range-oven", load_w=8000, breaker_a=50)
    old = kiln.model_copy(update={"grounding": "three_wire_old", "wire_size": "10"})
    site = plain(old)
    finding = next(f for f in check_site(site).findings if f.code == "breaker-above-wire")
    made = [o for o in offers(site, finding, site_rules(site)[0]) if "four-wire cable" in o.words]
    assert made
    assert made[0].site.circuit("range").grounding == "four_wire"


def test_a_new_circuit_of_its_own_has_wire_for_its_breaker():
    unit = of_kind("beds", "main", (1,), "room-air", load_w=1300, breaker_a=15)
    plugs = of_kind("x", "main", (9,), "plugs", load_w=300).appliances
    both = unit.model_copy(
        update={"appliances": (*unit.appliances, *plugs), "wire_size": "14", "breaker_a": 20.0}
    )
    site = plain(both)
    for finding in check_site(site).findings:
        for offer in offers(site, finding, site_rules(site)[0]):
            if "of its own" in offer.words:
                assert offer.site.circuit("beds-own").wire_size == "12"
                return
    raise AssertionError("no circuit of its own was offered")
