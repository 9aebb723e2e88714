"""The text of each sign that is asked for."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests import builders


def signs(site, edition="2023"):
    findings = check_site(site, edition=edition).findings
    return {f.code: f.sign for f in findings if f.sign}


def test_the_emergency_disconnect_has_its_words_and_since_2023_its_colours():
    """230.85(E) (from memory); white on red: mrelectrician.tv on emergency disconnect stickers."""
    site = builders.backed_up_site(scenarios=())
    new, old = (signs(site, e)["emergency-disconnect"] for e in ("2023", "2020"))
    assert new.text == old.text == "EMERGENCY DISCONNECT,\nSERVICE DISCONNECT"
    assert "on red" in new.note
    assert "on red" not in old.note
    assert "METER DISCONNECT, NOT SERVICE EQUIPMENT" in new.note
    assert "emergency-disconnect" not in signs(site, "2017")


def test_the_standby_sign_tells_type_and_place_of_each_source():
    """702.7(A) asks for type and location (nh.gov electrical deficiencies 18, 2005); since 2020 of
    a dwelling for the disconnect or the means to stop the engine (from memory)."""
    site = builders.backed_up_site(scenarios=())
    (one,) = site.generators
    lines = signs(site)["standby-sign"].text.splitlines()
    assert lines[1] == f"{one.name.upper()}: PROPANE GENERATOR, {one.rated_kw:g} kW"
    assert lines[2].startswith("DISCONNECT OR ENGINE STOP AT: __")
    assert "LOCATED AT: __" in signs(site, "2017")["standby-sign"].text
    assert "from memory" in signs(site)["standby-sign"].note


@pytest.mark.parametrize("bonded", [True, False])
@pytest.mark.parametrize(
    ("poles", "words"),
    [
        (3, "OF A SEPARATELY DERIVED (BONDED NEUTRAL) SYSTEM ONLY"),
        (2, "OF A NONSEPARATELY DERIVED (FLOATING NEUTRAL) SYSTEM ONLY"),
    ],
)
def test_the_inlet_is_signed_by_its_wiring_and_not_by_the_set(bonded, poles, words):
    """702.7(C), words from memory: what the inlet is wired for, whichever set comes to it."""
    site = builders.interlock_site(scenarios=())
    generators = tuple(g.model_copy(update={"neutral_bonded": bonded}) for g in site.generators)
    switches = tuple(
        t.model_copy(update={"poles": poles, "switches_neutral": poles == 3})
        for t in site.transfer_switches
    )
    site = builders.with_parts(site, generators=generators, transfer_switches=switches)
    (finding,) = (f for f in check_site(site).findings if f.code == "inlet-sign")
    assert words in finding.sign.text
    assert ("is not to be plugged in" in finding.mend) == (bonded != (poles == 3))
