from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from sqlalchemy import func, select

from server.domain.edits import remove_circuit, set_pinned
from server.domain.errors import EditError, StaleEditError
from server.store.database import migrate, open_engine
from server.store.history import MAX_LABEL
from server.store.sites import SiteStore
from server.store.tables import CHANGES
from server.store.transactions import reading, writing
from tests.builders import circuit, normal_only_site, with_parts
from tests.store.houses import full_site


def pin(store, stored, circuit_id, *, pinned=True):
    edited = set_pinned(stored.site, circuit_id, pinned=pinned)
    label = f"Pin {circuit_id}"
    return store.save(stored.id, edited, base_revision=stored.revision, label=label)


def test_undo_and_redo_walk_the_whole_history(store):
    states = [store.create(normal_only_site())]
    for circuit_id in ("a", "b", "c"):
        states.append(pin(store, states[-1], circuit_id))
    labels = [s.undo_label for s in states]
    for i in (2, 1, 0):
        undone = store.undo(states[0].id)
        assert undone.site == states[i].site
        assert (undone.undo_label, undone.redo_label) == (labels[i], labels[i + 1])
    for i in (1, 2, 3):
        assert store.redo(states[0].id).site == states[i].site
    assert store.get(states[0].id).redo_label is None


def test_every_step_has_a_new_revision(store):
    stored = pin(store, store.create(normal_only_site()), "a")
    assert store.undo(stored.id).revision == 3
    assert store.redo(stored.id).revision == 4


def test_nothing_to_undo_or_redo_is_said(store):
    stored = store.create(normal_only_site())
    with pytest.raises(EditError, match="nothing to undo"):
        store.undo(stored.id)
    with pytest.raises(EditError, match="nothing to redo"):
        store.redo(stored.id)
    assert store.get(stored.id) == stored


def test_an_edit_after_undo_passes_the_undone_ones_by(store):
    first = pin(store, store.create(normal_only_site()), "a")
    pin(store, first, "b")
    other = pin(store, store.undo(first.id), "c")
    assert other.redo_label is None
    with pytest.raises(EditError, match="redo"):
        store.redo(first.id)
    states = [(c.seq, c.label, c.state) for c in store.changes(first.id)]
    assert states == [
        (3, "Pin c", "done"),
        (2, "Pin b", "dropped"),
        (1, "Pin a", "done"),
        (0, "Created", "done"),
    ]
    assert store.undo(first.id).undo_label == "Pin a"
    assert [c.state for c in store.changes(first.id)] == ["undone", "dropped", "done", "done"]
    assert store.redo(first.id).site == other.site


def test_a_stale_undo_or_redo_is_refused(store):
    stored = pin(store, store.create(normal_only_site()), "a")
    for step in (store.undo, store.redo):
        with pytest.raises(StaleEditError) as caught:
            step(stored.id, base_revision=1)
        assert caught.value.revision == 2
    assert store.undo(stored.id, base_revision=2).revision == 3


def test_an_edit_begun_before_an_undo_is_stale(store):
    stored = pin(store, store.create(normal_only_site()), "a")
    store.undo(stored.id)
    with pytest.raises(StaleEditError):
        pin(store, stored, "b")


def test_history_survives_another_store(engine, store):
    stored = pin(store, store.create(full_site()), "n1")
    undone = SiteStore(engine).undo(stored.id)
    assert undone.site == full_site()
    assert SiteStore(engine).redo(stored.id).site == stored.site


def test_removing_a_circuit_and_all_it_touched_can_be_undone(engine, store):
    site = full_site()
    stored = store.create(site)
    store.save(stored.id, remove_circuit(site, "n3"), base_revision=1, label="Removed")
    assert SiteStore(engine).undo(stored.id).site.model_dump_json() == site.model_dump_json()


def test_history_holds_only_what_changed(engine, store):
    stored = pin(store, store.create(full_site()), "n1")
    query = select(CHANGES.c.parts).where((CHANGES.c.site_id == stored.id) & (CHANGES.c.seq == 1))
    with reading(engine) as connection:
        (part,) = connection.execute(query).scalar_one()
    assert (part["table"], part["id"]) == ("circuits", "n1")
    assert (part["before"]["pinned"], part["after"]["pinned"]) == (False, True)


def test_only_the_newest_changes_are_listed_when_asked(store):
    stored = pin(store, pin(store, store.create(normal_only_site()), "a"), "b")
    assert [c.label for c in store.changes(stored.id, limit=1)] == ["Pin b"]


def test_a_label_of_any_length_is_kept_as_far_as_it_fits(store):
    stored = store.create(normal_only_site(), label="c" * 500)
    edited = set_pinned(stored.site, "a", pinned=True)
    saved = store.save(stored.id, edited, base_revision=1, label="e" * 500)
    assert saved.undo_label == "e" * MAX_LABEL
    assert store.get(stored.id) == saved


def test_a_change_that_no_longer_fits_is_refused_and_leaves_the_site(engine, store):
    stored = pin(store, store.create(normal_only_site()), "a")
    with writing(engine) as connection:
        (part,) = connection.execute(select(CHANGES.c.parts).where(CHANGES.c.seq == 1)).scalar_one()
        old = part | {"before": part["before"] | {"a_field_of_old": 1}}
        connection.execute(CHANGES.update().where(CHANGES.c.seq == 1).values(parts=[old]))
    with pytest.raises(EditError, match="older version"):
        store.undo(stored.id)
    assert store.get(stored.id) == stored


class Histories(RuleBasedStateMachine):
    """Edits, undo and redo in any order agree with two plain stacks."""

    @initialize()
    def create(self):
        self.engine = open_engine("sqlite://")
        migrate(self.engine)
        self.store = SiteStore(self.engine)
        self.stored = self.store.create(normal_only_site())
        self.past, self.future = [], []

    def edit(self, site):
        before = self.stored
        revision = before.revision
        self.stored = self.store.save(before.id, site, base_revision=revision, label="Edit")
        if site == before.site:
            assert self.stored == before
        else:
            assert self.stored.revision == revision + 1
            self.past.append(before.site)
            self.future.clear()
        assert self.stored.site == site

    @rule(number=st.integers(1, 8), breaker_a=st.sampled_from([15, 20]))
    def put(self, number, breaker_a):
        kept = [c for c in self.stored.site.circuits if c.id != f"x{number}"]
        extra = circuit(f"x{number}", "main", 2 * number + 2, load_w=number, breaker_a=breaker_a)
        self.edit(with_parts(self.stored.site, circuits=(*kept, extra)))

    @precondition(lambda self: self.stored.site.circuits)
    @rule(data=st.data())
    def remove(self, data):
        gone = data.draw(st.sampled_from(self.stored.site.circuits))
        self.edit(remove_circuit(self.stored.site, gone.id))

    @rule(data=st.data())
    def reorder(self, data):
        order = data.draw(st.permutations(self.stored.site.circuits))
        self.edit(with_parts(self.stored.site, circuits=tuple(order)))

    @rule(name=st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1))
    def note(self, name):
        self.edit(with_parts(self.stored.site, note=name[:50]))

    @precondition(lambda self: self.past)
    @rule()
    def undo(self):
        self.future.append(self.stored.site)
        self.stored = self.store.undo(self.stored.id, base_revision=self.stored.revision)
        assert self.stored.site == self.past.pop()

    @precondition(lambda self: self.future)
    @rule()
    def redo(self):
        self.past.append(self.stored.site)
        self.stored = self.store.redo(self.stored.id, base_revision=self.stored.revision)
        assert self.stored.site == self.future.pop()

    @invariant()
    def is_stored(self):
        assert SiteStore(self.engine).get(self.stored.id) == self.stored
        assert (self.stored.undo_label is None) == (not self.past)
        assert (self.stored.redo_label is None) == (not self.future)

    def teardown(self):
        if hasattr(self, "engine"):
            with reading(self.engine) as connection:
                count = connection.execute(select(func.count()).select_from(CHANGES)).scalar_one()
            assert count > len(self.past) + len(self.future)
            self.engine.dispose()


Histories.TestCase.settings = settings(
    max_examples=20,
    stateful_step_count=15,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
TestHistories = Histories.TestCase
