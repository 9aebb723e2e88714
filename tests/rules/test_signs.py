"""The text of each sign that is asked for."""

from __future__ import annotations

import pytest

from server.domain.supply import SolarArray
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


DERIVED = "OF A SEPARATELY DERIVED (BONDED NEUTRAL) SYSTEM ONLY"
JOINED = "OF A NONSEPARATELY DERIVED (FLOATING NEUTRAL) SYSTEM ONLY"


@pytest.mark.parametrize("set_bonded", [True, False])
@pytest.mark.parametrize(
    ("poles", "house_bonded", "words"),
    [(2, True, JOINED), (2, False, JOINED), (3, False, DERIVED), (3, True, JOINED)],
)
def test_the_inlet_is_signed_by_its_wiring_and_not_by_the_set(
    set_bonded, poles, house_bonded, words
):
    """702.7(C), words from memory: what the inlet is wired for, whichever set comes to it.

    A house that joins neutral and ground behind a switch that opens the neutral has the one bond.
    """
    site = builders.interlock_site(scenarios=())
    site = builders.with_parts(
        site,
        generators=tuple(
            g.model_copy(update={"neutral_bonded": set_bonded}) for g in site.generators
        ),
        transfer_switches=tuple(
            t.model_copy(update={"poles": poles, "switches_neutral": poles == 3})
            for t in site.transfer_switches
        ),
        panels=tuple(p.model_copy(update={"neutral_bonded": house_bonded}) for p in site.panels),
    )
    (finding,) = (f for f in check_site(site).findings if f.code == "inlet-sign")
    assert words in finding.sign.text
    assert ("is not to be plugged in" in finding.mend) == (set_bonded != (words == DERIVED))


def solar(panel_id: str = "main") -> SolarArray:
    return SolarArray(
        id="roof", name="Roof", panel_id=panel_id, dc_kw=6, ac_kw=5, breaker_a=30, spaces=(18, 20)
    )


def test_solar_without_a_set_asks_for_the_directory_and_its_shutdown():
    """705.10 and 690.12; the label's section moved from 690.56(C) to 690.12(D) (from memory)."""
    site = builders.normal_only_site(scenarios=())
    assert not {"power-source-directory", "rapid-shutdown"} & signs(site).keys()
    site = builders.with_parts(site, solar=(solar(),))
    found = {f.code: f for f in check_site(site, edition="2023").findings}
    directory, shutdown = found["power-source-directory"], found["rapid-shutdown"]
    assert (directory.element_id, directory.section) == (site.services[0].id, "705.10")
    assert (shutdown.element_id, shutdown.section) == ("roof", "690.12, 690.12(D)")
    assert directory.severity == shutdown.severity == "note"
    assert directory.sign.text.splitlines() == [
        "CAUTION: MULTIPLE SOURCES OF POWER",
        "ROOF: SOLAR, 5 kW",
        "DISCONNECT AT: ____________________",
    ]
    assert signs(site, "2017")["rapid-shutdown"].text.startswith("PHOTOVOLTAIC SYSTEM EQUIPPED")
    assert signs(site, "2020")["rapid-shutdown"].text.startswith("SOLAR PV SYSTEM EQUIPPED")
    old = {f.code: f.section for f in check_site(site, edition="2020").findings}
    assert old["rapid-shutdown"] == "690.12, 690.56(C)"


def test_the_directory_lists_sets_too_and_stands_at_the_service_that_solar_ties_to():
    site = builders.backed_up_site(scenarios=())
    site = builders.with_parts(site, solar=(solar(),))
    (one,) = [f for f in check_site(site).findings if f.code == "power-source-directory"]
    assert f"{site.generators[0].name.upper()}: STANDBY GENERATOR" in one.sign.text
    assert one.sign.text.index("ROOF") < one.sign.text.index("STANDBY")
