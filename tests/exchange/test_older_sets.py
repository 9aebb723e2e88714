"""Site files of before a set could tell its gas meter open as they did."""

from __future__ import annotations

import json

from server.exchange.sitefile import read_site_file, site_schema
from server.paths import DEMOS

FIELDS = ("gas_meter_btu_h", "other_gas_btu_h")


def test_a_file_without_the_gas_meter_opens_as_the_same_site():
    data = (DEMOS / "two-family.json").read_bytes()
    document = json.loads(data)
    (made,) = document["site"]["generators"]
    for name in FIELDS:
        del made[name]
    assert read_site_file(json.dumps(document).encode()) == read_site_file(data)


def test_the_schema_tells_both_fields():
    assert all(name in json.dumps(site_schema()) for name in FIELDS)
