from __future__ import annotations

import pytest
from sqlalchemy import Engine, func, select

from server.domain.edits import remove_circuit
from server.store.history import differences
from server.store.rows import GAP, parts_of, placed, read_parts, site_from
from server.store.sites import SiteStore
from server.store.tables import PARTS
from server.store.transactions import reading
from tests.builders import EVERY_SITE, normal_only_site, with_parts
from tests.store.houses import full_site


@pytest.mark.parametrize("name", EVERY_SITE)
def test_every_way_of_feeding_a_house_survives_its_parts(name):
    site = EVERY_SITE[name]()
    assert site_from(parts_of(site)) == site


def test_a_full_site_comes_back_to_the_letter(engine):
    site = full_site()
    stored = SiteStore(engine).create(site)
    read_anew = SiteStore(engine).get(stored.id).site
    assert read_anew.model_dump_json() == site.model_dump_json()


def test_parts_read_are_the_parts_written(engine):
    site = full_site()
    stored = SiteStore(engine).create(site)
    with reading(engine) as connection:
        assert read_parts(connection, stored.id) == parts_of(site)


def test_every_table_holds_its_rows(engine: Engine):
    SiteStore(engine).create(full_site())
    with reading(engine) as connection:
        counts = {
            name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for name, table in PARTS.items()
        }
    assert counts == {
        "services": 1,
        "generators": 1,
        "transfer_switches": 1,
        "double_throws": 1,
        "panels": 5,
        "feeders": 9,
        "solar": 1,
        "batteries": 1,
        "zones": 2,
        "circuits": 66,
        "appliances": 186,
        "scenarios": 3,
    }


def test_key_figures_stand_in_columns(engine):
    SiteStore(engine).create(full_site())
    circuits = PARTS["circuits"]
    query = select(circuits.c.panel_id, circuits.c.breaker_a, circuits.c.pinned, circuits.c.body)
    with reading(engine) as connection:
        row = connection.execute(query.where(circuits.c.id == "n1")).one()
    assert row[:3] == ("wing-0", 20.0, False)
    assert "breaker_a" not in row.body
    assert "appliances" not in row.body


def test_removing_the_first_circuit_leaves_the_others_in_place():
    site = full_site()
    before = parts_of(site)
    changed = differences(before, parts_of(remove_circuit(site, "a"), before))
    assert set(changed) == {("circuits", "a"), ("appliances", "a-load")}


def test_a_new_order_is_kept():
    site = normal_only_site()
    turned = with_parts(site, circuits=tuple(reversed(site.circuits)))
    before = parts_of(site)
    after = parts_of(turned, before)
    assert [c.id for c in site_from(after).circuits] == ["c", "b", "a"]
    assert {key[0] for key in differences(before, after)} == {"circuits"}


def test_an_appliance_can_change_its_circuit():
    site = normal_only_site()
    a, b, c = site.circuits
    moved = with_parts(
        site,
        circuits=(
            a.model_copy(update={"appliances": ()}),
            b.model_copy(update={"appliances": (*a.appliances, *b.appliances)}),
            c,
        ),
    )
    before = parts_of(site)
    after = parts_of(moved, before)
    assert site_from(after) == moved
    assert {key for key in differences(before, after) if key[0] == "circuits"} == set()


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ([], []),
        ([None, None], [GAP, 2 * GAP]),
        ([None, 8], [4, 8]),
        ([5, None, 6], [GAP, 2 * GAP, 3 * GAP]),
        ([5, None, None, 9], [5, 7, 8, 9]),
        ([1, None], [1, 1 + GAP]),
        ([0, 3], [GAP, 2 * GAP]),
    ],
)
def test_positions_rise_and_change_only_where_they_must(before, after):
    assert placed(before) == after
