from __future__ import annotations

import pytest

from server.rules.check import check_site
from server.rules.hazards import hazards
from tests.builders import double_throw_site, generator, two_services_site, with_parts


@pytest.mark.parametrize(("from_id", "warned"), [("backed", False), ("main", True)])
def test_a_backed_up_input_that_no_generator_reaches_warns(from_id: str, warned: bool) -> None:
    site = double_throw_site()
    feeders = tuple(
        f.model_copy(update={"from_id": from_id, "spaces": (14, 16)})
        if f.to_input == "backed_up"
        else f
        for f in site.feeders
    )
    found = [(f.code, f.severity) for f in hazards(with_parts(site, feeders=feeders))]
    assert found == ([("backed-up-input-dead", "warning")] if warned else [])


@pytest.mark.parametrize("unopened", [("ats-east", "ats-west"), ("ats-east",), ()])
def test_one_set_behind_two_services_joins_their_neutrals(unopened: tuple[str, ...]) -> None:
    """250.6, 310.10(G), 300.3(B): one return path, where no switch opens the neutral."""
    base = two_services_site()
    switches = tuple(
        t.model_copy(update={"poles": 2, "switches_neutral": False}) if t.id in unopened else t
        for t in base.transfer_switches
    )
    bonded = generator(neutral_bonded=not unopened)
    site = with_parts(base, transfer_switches=switches, generators=(bonded,))
    found = [f for f in hazards(site) if f.code == "neutrals-joined-by-set"]
    assert [(f.severity, f.element_id) for f in found] == (
        [("warning", "set")] if len(unopened) > 1 else []
    )


def test_three_poles_and_a_bonded_set_part_the_neutrals() -> None:
    """250.30(A)(1): the set is then a source of its own, with one bond."""
    base = two_services_site()
    two_pole = tuple(
        t.model_copy(update={"poles": 2, "switches_neutral": False}) for t in base.transfer_switches
    )
    site = with_parts(base, transfer_switches=two_pole, generators=(generator(),))
    (found,) = [
        f for f in check_site(site, recheck=True).findings if f.code == "neutrals-joined-by-set"
    ]
    assert found.recheck is not None
    assert found.recheck.clears
    assert not found.recheck.brings
