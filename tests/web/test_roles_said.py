"""What a circuit does while a set feeds it stands on the board, in print too."""

from __future__ import annotations

from datetime import timedelta

from server.domain.scenario import HandWindow, KeptOff, Window
from server.domain.supply import EnergyGroup
from server.web.roles_said import roles_said
from tests.builders import START, circuit, scenario, whole_house_site, with_parts


def house():
    roles = ("on", "off", "managed", "by_hand", "by_hand", "on")
    six = [
        circuit(f"c{i}", "main", 2 * i + 1, load_w=100, outage_role=role)
        for i, role in enumerate(roles)
    ]
    six[2] = six[2].model_copy(update={"energy_group_id": "m"})
    evening = Window(start=START + timedelta(hours=2), end=START + timedelta(hours=3))
    day = scenario(
        "out",
        outage_h=(1, 5),
        hand_windows=(HandWindow(circuit_id="c3", window=evening),),
        kept_off=(KeptOff(circuit_id="c5"),),
    )
    group = EnergyGroup(id="m", name="House manager", setting_a=40, watch_id="set")
    return with_parts(
        whole_house_site(), circuits=tuple(six), energy_groups=(group,), scenarios=(day,)
    )


def test_each_role_is_said_with_its_manager_and_its_hours():
    site = house()
    said = roles_said(site, site.scenario("out"))
    assert "c0" not in said
    assert said["c1"] == "off in an outage"
    assert said["c2"] == "managed in an outage, by House manager"
    assert said["c3"].startswith("by hand in an outage: ")
    assert said["c3"].endswith("14:00 to 15:00")
    assert said["c4"] == "by hand in an outage: never in Scenario out"
    assert said["c5"] == "kept off in Scenario out"


def test_a_board_of_roles_alone_prints_them_where_the_screen_has_its_choice(browser, sites):
    stored = sites.create(house())
    page = browser.get(f"/sites/{stored.id}/buses?scenario=out").text
    assert '<small class="rolesaid printonly">off in an outage</small>' in page
    assert page.count("rolesaid printonly") == 5
