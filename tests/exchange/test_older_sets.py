"""Site files of before a set told its gas meter, or a tank its vessels, open as they did."""

from __future__ import annotations

import json

from server.exchange.sitefile import read_site_file, site_schema
from server.paths import DEMOS

FIELDS = ("gas_meter_btu_h", "other_gas_btu_h")
TANK_FIELDS = ("vessels", "other_btu_h")


def test_a_file_without_the_gas_meter_opens_as_the_same_site():
    data = (DEMOS / "two-family.json").read_bytes()
    document = json.loads(data)
    (made,) = document["site"]["generators"]
    untold = document | {"site": document["site"] | {"generators": [made | dict.fromkeys(FIELDS)]}}
    expected = read_site_file(json.dumps(untold).encode())
    for name in FIELDS:
        del made[name]
    older = read_site_file(json.dumps(document).encode())
    assert older == expected
    assert older.generators[0].gas_meter_btu_h is None


def test_a_tank_without_vessels_and_other_appliances_opens_as_one_vessel_for_the_set_alone():
    data = (DEMOS / "flower-farm.json").read_bytes()
    document = json.loads(data)
    (made,) = document["site"]["generators"]
    for name in TANK_FIELDS:
        made["tank"].pop(name, None)
    older = read_site_file(json.dumps(document).encode())
    assert older == read_site_file(data)
    tank = older.generators[0].tank
    assert tank is not None
    assert (tank.vessels, tank.other_btu_h) == (1, 0.0)


def test_the_schema_tells_every_one_of_them():
    assert all(name in json.dumps(site_schema()) for name in (*FIELDS, *TANK_FIELDS))
