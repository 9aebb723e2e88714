"""What cuts off another building is rated no less than 225.39 has it, however small its feeder.

225.39(A) 15 A for one circuit, (B) 30 A for two of two wires, (C) 100 A for a one-family dwelling,
(D) 60 A for all others; several switches or breakers are summed (225.40). Sources:
forums.mikeholt.com posts 2857619 and 2857996; (A) and (C) from memory. The same in all editions.
"""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders
from tests.builders import circuit, with_parts

CODE = "detached-disconnect-small"


def shed(
    breakers_a: tuple[int, ...], *, main_a: float | None, feeder_a: float = 20, pairs=(), **changes
):
    base = builders.normal_only_site(scenarios=())
    own = [
        circuit(f"s{n}", "shed", 2 * n + 1, load_w=300, breaker_a=a)
        for n, a in enumerate(breakers_a)
    ]
    for one, other in pairs:
        for a, b in ((one, other), (other, one)):
            own[a] = own[a].model_copy(update={"multiwire_partner_id": f"s{b}"})
    panel = {"rating_a": 100, "main_a": main_a, "detached_building": True} | changes
    return with_parts(
        base,
        panels=(*base.panels, builders.panel("shed", **panel)),
        feeders=(*base.feeders, builders.feeder("main", "shed", breaker_a=feeder_a)),
        circuits=(*base.circuits, *own),
    )


def told(site, edition: str = "2023"):
    found = check_site(site, edition=edition, recheck=False).findings
    return [(f.section, f.value, f.limit) for f in found if f.code == CODE]


@pytest.mark.parametrize("edition", ["2017", "2020", "2023", "2026"])
@pytest.mark.parametrize(
    ("breakers_a", "main_a", "answer"),
    [
        ((15,), 20, []),
        ((15, 20), 20, [("225.39(B)", 20, 30)]),
        ((15, 20), 30, []),
        ((15, 20), None, []),  # 35 A together
        ((10, 15), None, [("225.39(B)", 25, 30)]),
        ((15, 20, 20, 20), 30, [("225.39(D)", 30, 60)]),
        ((15, 20, 20, 20), 60, []),
        ((15, 20, 20, 20), None, []),  # 75 A together
        ((15, 15, 20), None, [("225.39(D)", 50, 60)]),
    ],
)
def test_the_main_or_the_breakers_together(edition, breakers_a, main_a, answer):
    assert told(shed(breakers_a, main_a=main_a), edition) == answer


def test_its_feeder_may_be_smaller():
    """60 A main on a 20 A feeder: the rule is of the disconnect, not of the circuit."""
    site = shed((15, 20, 20), main_a=30, feeder_a=20)
    (one,) = [f for f in check_site(site, recheck=False).findings if f.code == CODE]
    assert "may stay as it is" in one.mend
    assert told(shed((15, 20, 20), main_a=60, feeder_a=20)) == []


def test_two_that_share_a_neutral_are_three_wires_and_one_handle():
    assert told(shed((20, 20), main_a=None, pairs=((0, 1),))) == [("225.39(D)", 20, 60)]


def test_a_dwelling_of_its_own():
    assert told(shed((15, 20, 20), main_a=60, dwelling="Cottage")) == [("225.39(C)", 60, 100)]
    assert told(shed((15, 20, 20), main_a=100, dwelling="Cottage")) == []


@pytest.mark.parametrize(
    ("edition", "asked"), [("2017", False), ("2020", False), ("2023", True), ("2026", True)]
)
def test_a_dwelling_on_a_feeder_asks_for_an_emergency_disconnect_since_2023(edition, asked):
    """225.41, new in 2023: outdoors, within reach, marked (from memory)."""
    found = check_site(shed((20,), main_a=100, dwelling="Cottage"), edition=edition, recheck=False)
    told_of = [f for f in found.findings if f.code == "emergency-disconnect-feeder"]
    assert [(f.element_id, f.section) for f in told_of] == ([("shed", "225.41")] if asked else [])


def test_a_shed_asks_for_no_emergency_disconnect():
    found = check_site(shed((20,), main_a=100), recheck=False).findings
    assert "emergency-disconnect-feeder" not in {f.code for f in found}


def test_a_panel_in_the_same_building_is_let_be():
    assert told(shed((15, 20, 20), main_a=30, detached_building=False)) == []
    first = shed((15, 20, 20), main_a=60)
    second = builders.panel("loft", rating_a=60, main_a=20, detached_building=True)
    site = with_parts(
        first,
        panels=(*first.panels, second),
        feeders=(*first.feeders, builders.feeder("shed", "loft", breaker_a=30)),
        circuits=(*first.circuits, circuit("l", "loft", 1), circuit("m", "loft", 3)),
    )
    assert told(site) == []


def test_a_panel_that_feeds_nothing_is_let_be():
    assert told(shed((), main_a=15)) == []


def test_what_a_switch_feeds_is_let_be():
    """A transfer switch may stand in that building, as its disconnect."""
    base = builders.backed_up_site(scenarios=())
    away = tuple(
        p.model_copy(update={"detached_building": True, "main_a": 20}) if p.id == "backed" else p
        for p in base.panels
    )
    assert told(with_parts(base, panels=away)) == []


@pytest.mark.parametrize(("onward_a", "answer"), [(30, []), (10, [("225.39(D)", 25, 60)])])
def test_a_feeder_onward_is_one_of_its_breakers(onward_a, answer):
    """A feeder onward is no branch circuit, so 60 A are asked: 15 + 20 + 30 A, and 15 + 10 A."""
    first = shed((15, 20) if onward_a == 30 else (15,), main_a=None)
    site = with_parts(
        first,
        panels=(*first.panels, builders.panel("loft", rating_a=60, detached_building=True)),
        feeders=(*first.feeders, builders.feeder("shed", "loft", breaker_a=onward_a)),
        circuits=(*first.circuits, circuit("l", "loft", 1)),
    )
    assert told(site) == answer


def test_a_circuit_of_two_legs_and_a_neutral_has_three_wires():
    """225.39(B) is of two-wire circuits."""
    base = shed((), main_a=30)
    kinds = {"": [], "part": [("225.39(D)", 30, 60)], "120": [("225.39(D)", 30, 60)]}
    for kind, answer in kinds.items():
        load = builders.appliance(
            "r", 2000, volts=120 if kind == "120" else 240, part_120_w=100 if kind == "part" else 0
        )
        own = circuit("r", "shed", 1, 3, breaker_a=15, appliances=(load,))
        assert told(with_parts(base, circuits=(*base.circuits, own))) == answer


def test_the_words_say_why_it_is_60_a():
    def text(site):
        found = check_site(site, edition="2023", recheck=False).findings
        return next(f.text for f in found if f.code == CODE)

    load = builders.appliance("r", 2000, volts=240, part_120_w=100)
    own = circuit("r", "shed", 1, 3, breaker_a=15, appliances=(load,))
    base = shed((), main_a=30)
    dryer = with_parts(base, circuits=(*base.circuits, own))
    assert "a building with a circuit of two hot wires and a neutral is rated 60 A" in text(dryer)
    assert "a building of 4 circuits is rated 60 A" in text(shed((15, 20, 20, 20), main_a=30))
