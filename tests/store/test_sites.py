from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import partial

import pytest
from sqlalchemy import func, select

from server.domain.edits import set_pinned, with_changes
from server.domain.errors import EditError, NotFoundError, SiteFileError, StaleEditError
from server.exchange.photo import read_photo
from server.store.database import migrate, open_engine
from server.store.photos import PhotoStore
from server.store.sites import SiteStore, new_site_id
from server.store.tables import CHANGES, PARTS, PHOTOS
from tests.builders import circuit, double_throw_site, normal_only_site, with_parts
from tests.photos import png
from tests.store.houses import full_site


def renamed(site, name):
    return with_parts(site, name=name)


def test_a_new_site_is_listed_with_what_a_card_shows(store):
    stored = store.create(full_site())
    (card,) = store.list_sites()
    assert (card.id, card.name, card.place) == (stored.id, "Ω house № 7", "Fern Hollow")
    assert (card.revision, card.circuits) == (1, 66)
    assert datetime.now(UTC) - card.saved_at < timedelta(minutes=1)


def test_sites_are_listed_by_name_whatever_their_capitals(store):
    for name in ("birch", "Alder", "Cedar"):
        store.create(normal_only_site(name=name))
    assert [card.name for card in store.list_sites()] == ["Alder", "birch", "Cedar"]


def test_two_sites_of_one_name_have_their_own_ids(store):
    ids = {store.create(normal_only_site()).id for _ in range(3)}
    assert len(ids) == 3
    assert all(i.startswith("normal-only-") for i in ids)


def test_sites_with_the_same_part_ids_do_not_touch_each_other(store):
    first, second = store.create(normal_only_site()), store.create(normal_only_site())
    store.save(first.id, set_pinned(first.site, "a", pinned=True), base_revision=1, label="Pin")
    assert store.get(second.id) == second


def test_a_name_without_letters_still_gives_an_id():
    assert new_site_id("№ — ☂")[:2] == "no"
    assert new_site_id("☂☂").startswith("site-")


def test_a_saved_edit_is_read_by_another_store(engine, store):
    stored = store.create(normal_only_site())
    saved = store.save(stored.id, renamed(stored.site, "New"), base_revision=1, label="Renamed")
    assert saved.revision == 2
    assert saved.undo_label == "Renamed"
    assert SiteStore(engine).get(stored.id) == saved == store.get(stored.id)


def test_a_store_sees_what_another_one_saved_after_it_read(engine, store):
    stored = store.create(normal_only_site())
    store.get(stored.id)
    other = SiteStore(engine)
    other.save(stored.id, renamed(stored.site, "Elsewhere"), base_revision=1, label="Renamed")
    assert store.get(stored.id).site.name == "Elsewhere"


def test_a_save_without_a_change_leaves_no_mark(store):
    stored = store.create(normal_only_site())
    assert store.save(stored.id, stored.site, base_revision=1, label="Nothing") == stored
    assert [c.label for c in store.changes(stored.id)] == ["Created"]


def test_a_stale_edit_is_told_the_current_revision_and_writes_nothing(store):
    stored = store.create(normal_only_site())
    store.save(stored.id, renamed(stored.site, "First"), base_revision=1, label="First")
    with pytest.raises(StaleEditError) as caught:
        store.save(stored.id, renamed(stored.site, "Second"), base_revision=1, label="Second")
    assert caught.value.revision == 2
    assert store.get(stored.id).site.name == "First"
    assert [c.label for c in store.changes(stored.id)] == ["First", "Created"]


@pytest.mark.parametrize("ahead", [0, 2, 99])
def test_a_revision_that_never_was_is_stale(store, ahead):
    stored = store.create(normal_only_site())
    with pytest.raises(StaleEditError):
        store.save(stored.id, renamed(stored.site, "X"), base_revision=ahead, label="X")


def test_a_site_that_cannot_be_computed_is_not_saved(store):
    stored = store.create(normal_only_site())
    broken = stored.site.model_copy(update={"circuits": (circuit("lost", "nowhere", 1),)})
    with pytest.raises(SiteFileError, match="nowhere"):
        store.save(stored.id, broken, base_revision=1, label="Break")
    with pytest.raises(SiteFileError, match="nowhere"):
        store.create(broken)
    assert store.get(stored.id) == stored
    assert len(store.list_sites()) == 1


def test_all_parts_can_be_taken_away_and_come_back(engine, store):
    stored = store.create(full_site())
    lists = [name for name, value in stored.site if isinstance(value, tuple)]
    bare = with_parts(stored.site, **dict.fromkeys(lists, ()))
    store.save(stored.id, bare, base_revision=1, label="Cleared")
    assert SiteStore(engine).get(stored.id).site == bare
    store.undo(stored.id)
    assert SiteStore(engine).get(stored.id).site == stored.site


def test_a_panel_can_go_while_its_circuits_move(engine, store):
    stored = store.create(full_site(circuits=60))
    moved = tuple(
        c.model_copy(update={"panel_id": "wing-0", "spaces": (41,), "half": "a"})
        if c.id == "n40"
        else c
        for c in stored.site.circuits
        if c.panel_id != "wing-1" or c.id == "n40"
    )
    smaller = with_parts(
        stored.site,
        panels=tuple(p for p in stored.site.panels if p.id != "wing-1"),
        feeders=tuple(f for f in stored.site.feeders if f.to_id != "wing-1"),
        circuits=moved,
    )
    store.save(stored.id, smaller, base_revision=1, label="Wing removed")
    assert SiteStore(engine).get(stored.id).site == smaller


def test_a_deleted_site_is_gone_until_it_is_restored(store):
    stored = store.create(normal_only_site())
    saved = store.save(stored.id, renamed(stored.site, "Kept"), base_revision=1, label="Renamed")
    store.delete(stored.id)
    assert store.list_sites() == ()
    assert [card.id for card in store.deleted_sites()] == [stored.id]
    for call in (
        lambda: store.get(stored.id),
        lambda: store.delete(stored.id),
        lambda: store.undo(stored.id),
        lambda: store.changes(stored.id),
        lambda: store.duplicate(stored.id),
        lambda: store.save(stored.id, stored.site, base_revision=2, label="X"),
    ):
        with pytest.raises(NotFoundError):
            call()
    assert store.restore(stored.id) == saved
    assert store.deleted_sites() == ()
    assert store.undo(stored.id).site == stored.site


def test_restoring_a_site_that_is_there_changes_nothing(store):
    stored = store.create(normal_only_site())
    assert store.restore(stored.id) == stored


def with_photo(site, photo):
    first, *others = site.circuits
    return with_changes(site, circuits=(first.model_copy(update={"photo": photo}), *others))


def taken_in(engine, *, days_ago):
    with engine.begin() as connection:
        at = datetime.now(UTC) - timedelta(days=days_ago)
        connection.execute(PHOTOS.update().values(taken_in_at=at))


def deleted_at(store):
    (card,) = store.deleted_sites()
    return card.deleted_at


def forgotten(store):
    return partial(store.forget, deleted_at=None)


def test_a_photo_of_the_last_day_outlives_its_site_for_forms_that_hold_it(store, engine):
    photos = PhotoStore(engine)
    going = store.create(double_throw_site())
    photo = photos.keep(read_photo(png(8, 8)))
    store.save(going.id, with_photo(going.site, photo), base_revision=1, label="Photo")
    taken_in(engine, days_ago=2)
    assert photos.keep(read_photo(png(8, 8))) == photo  # another site's form, not yet saved
    store.delete(going.id)
    store.forget(going.id, deleted_at=deleted_at(store))
    assert photos.size(photo) == (8, 8)
    other = store.create(with_photo(normal_only_site(), photo))
    taken_in(engine, days_ago=2)
    photos.sweep()
    assert photos.size(photo) == (8, 8)
    store.save(other.id, normal_only_site(), base_revision=1, label="Photo taken away")
    photos.sweep()
    assert photos.size(photo) == (8, 8), "undo comes back to it"


def test_a_photo_nothing_came_of_goes_after_a_day(store, engine):
    photos = PhotoStore(engine)
    photo = photos.keep(read_photo(png(8, 8)))
    photos.sweep()
    assert photos.size(photo) == (8, 8)
    taken_in(engine, days_ago=2)
    assert photos.hold(photo)
    photos.sweep()
    assert photos.size(photo) == (8, 8)
    taken_in(engine, days_ago=2)
    photos.sweep()
    assert photos.size(photo) is None
    assert not photos.hold(photo)


def test_a_site_brought_back_and_deleted_again_is_not_forgotten_from_an_old_list(store):
    stored = store.create(normal_only_site())
    store.delete(stored.id)
    shown = deleted_at(store)
    store.restore(stored.id)
    store.delete(stored.id)
    for moment in (shown, None):
        with pytest.raises(StaleEditError, match="nothing was removed"):
            store.forget(stored.id, deleted_at=moment)
    assert store.restore(stored.id).site == stored.site


def test_a_forgotten_site_leaves_no_byte_in_a_sqlite_file(tmp_path):
    file = tmp_path / "planner.db"
    engine = open_engine(f"sqlite:///{file}")
    migrate(engine)
    store = SiteStore(engine)
    stored = store.create(normal_only_site(name="Heron croft"))
    store.delete(stored.id)
    store.forget(stored.id, deleted_at=deleted_at(store))
    for kept in tmp_path.iterdir():
        assert b"Heron croft" not in kept.read_bytes(), kept.name
    engine.dispose()


def test_a_forgotten_site_leaves_no_row_and_no_photo_of_its_own(store, engine):
    photos = PhotoStore(engine)
    alone, shared = photos.keep(read_photo(png(8, 8))), photos.keep(read_photo(png(9, 9)))
    going = store.create(double_throw_site())
    other = store.create(with_photo(normal_only_site(), shared))
    store.save(other.id, normal_only_site(), base_revision=1, label="Photo taken away")
    for revision, photo in enumerate((alone, shared), start=1):
        taken = with_photo(going.site, photo)
        store.save(going.id, taken, base_revision=revision, label="Photo")
    with pytest.raises(EditError, match="Delete the site first"):
        store.forget(going.id, deleted_at=None)
    store.delete(going.id)
    taken_in(engine, days_ago=2)
    assert store.forget(going.id, deleted_at=deleted_at(store)) == going.site.name
    assert store.deleted_sites() == ()
    for call in (store.restore, forgotten(store), store.get):
        with pytest.raises(NotFoundError):
            call(going.id)
    assert photos.size(alone) is None
    assert photos.size(shared) == (9, 9)
    with engine.connect() as connection:
        for table in (CHANGES, *PARTS.values()):
            rows = connection.execute(select(func.count()).where(table.c.site_id == going.id))
            assert rows.scalar() == 0, table.name
    assert store.undo(other.id).site == other.site


def test_an_unknown_site_is_named(store):
    for call in (
        store.get, store.undo, store.redo, store.delete, store.restore, forgotten(store),
        store.duplicate,
    ):  # fmt: skip
        with pytest.raises(NotFoundError, match="no-such"):
            call("no-such")


def test_a_copy_has_its_own_name_history_and_edits(store):
    stored = store.create(normal_only_site())
    copy = store.duplicate(stored.id)
    assert copy.id != stored.id
    assert copy.site == renamed(stored.site, "Copy of Normal only")
    assert [c.label for c in store.changes(copy.id)] == ["Copied from Normal only"]
    store.save(copy.id, renamed(copy.site, "Other"), base_revision=1, label="Renamed")
    assert store.get(stored.id) == stored


def test_a_copy_of_the_longest_name_fits(store):
    stored = store.create(normal_only_site(name="n" * 80))
    assert len(store.duplicate(stored.id).site.name) == 80
