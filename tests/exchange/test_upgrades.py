import json

import pytest

from server.domain.behaviour import Charger
from server.domain.errors import SiteFileError
from server.exchange.sitefile import read_site_file, write_site_file
from server.exchange.upgrades import UPGRADES, VERSION, upgraded
from server.paths import DEMOS
from server.simulate.run import simulate


def name_from_title(site):
    return {"name" if key == "title" else key: value for key, value in site.items()}


def people_counted(site):
    return site | {"people": len(site["people"])}


CHAIN = {1: name_from_title, 2: people_counted}


def test_every_version_below_the_current_has_its_upgrade():
    assert sorted(UPGRADES) == list(range(1, VERSION))


def test_an_old_file_passes_through_every_step():
    old = {"title": "House", "people": ["a", "b"]}
    assert upgraded(old, 1, upgrades=CHAIN, current=3) == {"name": "House", "people": 2}


def test_a_file_between_skips_the_steps_before_it():
    assert upgraded({"name": "House", "people": []}, 2, upgrades=CHAIN, current=3)["people"] == 0


def test_a_current_file_is_left_alone():
    site = {"name": "House"}
    assert upgraded(site, 3, upgrades=CHAIN, current=3) is site


@pytest.mark.parametrize(("version", "words"), [(4, "newer Threebus"), (0, "1 is the oldest")])
def test_a_version_outside_the_chain_is_refused(version, words):
    with pytest.raises(SiteFileError, match=words) as caught:
        upgraded({}, version, upgrades=CHAIN, current=3)
    assert caught.value.problems[0].field == "version"


NEWER = (
    *("leaves", "cycle_min", "only_below_f", "only_above_f", "full_at_f"),
    *("stands", "zone_id", "opening_btu"),
)
"""Figures of behaviours that came after the first site files."""


def test_a_file_with_a_car_from_before_weekdays_opens_and_its_car_leaves_every_day():
    document = json.loads((DEMOS / "flower-farm.json").read_bytes())
    loads = [a["behaviour"] for c in document["site"]["circuits"] for a in c["appliances"]]
    for behaviour in loads:
        if behaviour["model"] in ("charger", "cold_box", "hourly", "cycle"):
            for name in NEWER:
                behaviour.pop(name, None)
    site = read_site_file(json.dumps(document).encode())
    (car,) = [
        a.behaviour for c in site.circuits for a in c.appliances if isinstance(a.behaviour, Charger)
    ]
    assert car.leaves.days == tuple(range(7))
    assert read_site_file(write_site_file(site)) == site
    assert simulate(site, site.scenario("planned-line-work")).balance.electric_used_kwh > 0
