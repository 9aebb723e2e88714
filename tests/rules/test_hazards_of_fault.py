from __future__ import annotations

import pytest

from server.rules.editions import rulebook
from server.rules.hazards import hazards
from tests.builders import backed_up_site, panel, service, with_parts


@pytest.mark.parametrize(
    ("main_ka", "backed_ka", "switch_ka", "weak"),
    [
        (22, 22, 22, []),
        (22, 10, 22, ["backed"]),
        (22, 22, 10, ["ats"]),
        (10, 10, None, ["main", "backed"]),
    ],
)
def test_every_panel_and_switch_below_is_held_against_the_fault_current(
    main_ka: float, backed_ka: float, switch_ka: float | None, weak: list[str]
) -> None:
    site = backed_up_site(services=(service(fault_current_a=18_000),))
    switch = site.transfer_switches[0].model_copy(
        update={"withstand_a": None if switch_ka is None else switch_ka * 1000}
    )
    site = with_parts(
        site,
        panels=(
            panel("main", main_a=200, neutral_bonded=True, interrupting_a=main_ka * 1000),
            panel("backed", rating_a=125, interrupting_a=backed_ka * 1000),
        ),
        transfer_switches=(switch,),
    )
    found = hazards(site)
    assert [(f.element_id, f.severity) for f in found] == [(e, "warning") for e in weak]
    for finding in found:
        assert "18,000 A" in finding.text
        assert "10,000 A" in finding.text
        assert ("wire between" in finding.text) is (finding.element_id != "main")
        assert finding.section == "110.9, 110.10"


def test_the_marking_that_dwellings_are_free_of_is_not_cited() -> None:
    assert rulebook("2023").figure("interrupting_rating").cite.section == "110.9, 110.10"
