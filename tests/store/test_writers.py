from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import event

from server.domain.edits import put_circuit, set_pinned
from server.domain.errors import EditError, StaleEditError
from server.store import sites
from server.store.sites import SiteStore
from server.store.transactions import WRITES
from tests.builders import circuit, normal_only_site, panel, with_parts
from tests.store.houses import full_site

WRITERS, EDITS = 6, 8


def wide_site():
    return with_parts(normal_only_site(), panels=(panel("main", spaces=80),))


def add_circuit(store, site_id, writer, number):
    """Add one circuit, beginning again for as long as somebody else was first."""
    space = 9 + writer * EDITS + number
    while True:
        now = store.get(site_id)
        edited = put_circuit(now.site, circuit(f"w{writer}-{number}", "main", space, load_w=1))
        try:
            return store.save(site_id, edited, base_revision=now.revision, label="Add").revision
        except StaleEditError:
            continue


def test_writers_on_one_site_lose_nothing(engine):
    site_id = SiteStore(engine).create(wide_site()).id

    def work(writer):
        store = SiteStore(engine)
        return [add_circuit(store, site_id, writer, number) for number in range(EDITS)]

    with ThreadPoolExecutor(WRITERS) as pool:
        revisions = [r for found in pool.map(work, range(WRITERS)) for r in found]
    stored = SiteStore(engine).get(site_id)
    added = {c.id for c in stored.site.circuits if c.id.startswith("w")}
    assert added == {f"w{w}-{n}" for w in range(WRITERS) for n in range(EDITS)}
    assert sorted(revisions) == list(range(2, 2 + WRITERS * EDITS))
    assert stored.revision == 1 + WRITERS * EDITS
    seqs = [change.seq for change in SiteStore(engine).changes(site_id)]
    assert seqs == list(range(WRITERS * EDITS, -1, -1))
    while SiteStore(engine).get(site_id).undo_label:
        last = SiteStore(engine).undo(site_id)
    assert last.site == wide_site()


def test_of_two_edits_from_one_revision_exactly_one_is_saved(engine):
    for _ in range(5):
        stored = SiteStore(engine).create(normal_only_site())

        def attempt(circuit_id, stored=stored):
            edited = set_pinned(stored.site, circuit_id, pinned=True)
            try:
                SiteStore(engine).save(stored.id, edited, base_revision=1, label=circuit_id)
            except StaleEditError:
                return None
            return circuit_id

        with ThreadPoolExecutor(3) as pool:
            saved = [c for c in pool.map(attempt, ("a", "b", "c")) if c]
        assert len(saved) == 1
        pinned = [c.id for c in SiteStore(engine).get(stored.id).site.circuits if c.pinned]
        assert pinned == saved


def test_an_edit_between_reading_and_writing_makes_a_save_stale(engine, monkeypatch):
    """The other writer gets in after the first look and before the write lock."""
    store, other = SiteStore(engine), SiteStore(engine)
    stored = store.create(normal_only_site())
    pending = [set_pinned(stored.site, "b", pinned=True)]
    writing = sites.writing

    def interrupted(on):
        if pending:
            other.save(stored.id, pending.pop(), base_revision=1, label="Other")
        return writing(on)

    monkeypatch.setattr(sites, "writing", interrupted)
    mine = set_pinned(stored.site, "a", pinned=True)
    with pytest.raises(StaleEditError) as caught:
        store.save(stored.id, mine, base_revision=1, label="Mine")
    assert caught.value.revision == 2
    assert [c.label for c in store.changes(stored.id)] == ["Other", "Created"]
    assert [c.id for c in store.get(stored.id).site.circuits if c.pinned] == ["b"]


def test_a_save_that_cannot_commit_leaves_no_trace(engine, monkeypatch):
    store = SiteStore(engine)
    stored = store.create(normal_only_site())

    def fail(*_, **__):
        raise OSError("disk full")

    with monkeypatch.context() as broken:
        broken.setattr(SiteStore, "_set", fail)
        with pytest.raises(OSError, match="disk full"):
            store.save(stored.id, full_site(), base_revision=1, label="Lost")
    assert store.get(stored.id) == stored
    mine = set_pinned(stored.site, "a", pinned=True)
    assert store.save(stored.id, mine, base_revision=1, label="Kept").site == mine
    assert store.get(stored.id).site == SiteStore(engine).get(stored.id).site == mine


def test_what_was_cached_before_a_failed_commit_is_never_shown(engine):
    store, other = SiteStore(engine), SiteStore(engine)
    stored = store.create(normal_only_site())
    lost = set_pinned(stored.site, "a", pinned=True)
    kept = set_pinned(stored.site, "b", pinned=True)

    def fail(connection):
        if WRITES in connection.get_execution_options():
            raise OSError("disk full")

    event.listen(engine, "commit", fail)
    try:
        with pytest.raises(OSError, match="disk full"):
            store.save(stored.id, lost, base_revision=1, label="Lost")
    finally:
        event.remove(engine, "commit", fail)
    other.save(stored.id, kept, base_revision=1, label="Kept")
    assert store.get(stored.id).site == kept


def test_undo_by_many_hands_takes_each_change_back_once(engine):
    store = SiteStore(engine)
    stored = store.create(normal_only_site())
    for circuit_id in ("a", "b", "c"):
        edited = set_pinned(stored.site, circuit_id, pinned=True)
        stored = store.save(stored.id, edited, base_revision=stored.revision, label=circuit_id)

    def undo(_):
        try:
            return SiteStore(engine).undo(stored.id).redo_label
        except EditError:
            return None

    with ThreadPoolExecutor(5) as pool:
        undone = [label for label in pool.map(undo, range(5)) if label]
    assert sorted(undone) == ["a", "b", "c"]
    assert store.get(stored.id).site == normal_only_site()


def test_writers_on_different_sites_do_not_disturb_each_other(engine):
    store = SiteStore(engine)
    ids = [store.create(wide_site()).id for _ in range(4)]

    def work(writer):
        return [add_circuit(store, ids[writer], writer, number) for number in range(EDITS)]

    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(work, range(4)))
    assert found == [list(range(2, 2 + EDITS))] * 4
