"""The back-fed breaker of an interlock stands in the panel: it takes two spaces there."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from server.domain.edits import free_spaces, move_circuit
from server.domain.errors import EditError
from server.domain.site import Site
from server.domain.space_edits import put_in_space
from server.web.drawing.panel_spaces import panel_faces
from tests import builders
from tests.builders import with_parts
from tests.rules.check_sites import codes, found


def locked(*spaces: int, **changes) -> Site:
    """The interlock site, 1, 3, 5 and 7 taken, with the back-fed breaker in these spaces."""
    base = builders.interlock_site(scenarios=(), **changes)
    (switch,) = base.transfer_switches
    return with_parts(base, transfer_switches=(switch.model_copy(update={"spaces": spaces}),))


def test_its_two_spaces_are_not_free():
    panel = locked().panel("main")
    before = free_spaces(locked(), panel)
    assert before - free_spaces(locked(2, 4), panel) == {2, 4}


def test_another_breaker_cannot_stand_there():
    with pytest.raises(ValidationError, match="both in space 3"):
        locked(3, 5)
    with pytest.raises(EditError, match="stands in space 2, 4"):
        put_in_space(locked(2, 4), "a", "main", 2)
    assert move_circuit(locked(2, 4), "a", "main").circuit("a").spaces not in {(2,), (4,)}


@pytest.mark.parametrize("spaces", [(2,), (2, 6), (2, 3)])
def test_it_takes_two_spaces_under_each_other(spaces):
    with pytest.raises(ValidationError, match="two spaces under each other"):
        locked(*spaces)


def test_the_panel_sheet_shows_it_with_its_amps_and_what_holds_it():
    (face,) = panel_faces(locked(2, 4))
    slot = next(row.right for row in face.rows if row.right and row.right.space == 2)
    assert slot.others == (("lock", "Interlock: back-fed breaker 30 A, held by the interlock"),)
    assert slot.rows == 2


def test_spaces_left_count_it_whether_its_place_was_read_or_not():
    """Eight spaces with 1, 3, 5 and 7 taken leave four, and two beside the back-fed breaker.

    With space 8 taken as well one is left, under the two to keep.
    """
    small = tuple(p.model_copy(update={"spaces": 8}) for p in builders.interlock_site().panels)
    assert "few-spare-spaces" not in codes(locked(2, 4, panels=small))
    assert "few-spare-spaces" not in codes(locked(panels=small))
    taken = builders.circuit("d", "main", 8)
    full = (*builders.interlock_site().circuits, taken)
    for site in (locked(2, 4, panels=small, circuits=full), locked(panels=small, circuits=full)):
        finding = found(site, "few-spare-spaces")
        assert (finding.value, finding.limit) == (1, 2)
    assert "kept for the back-fed breaker of Interlock" in finding.text


def test_its_place_is_asked_only_until_it_was_entered():
    taken = tuple(builders.circuit(f"t{n}", "main", n) for n in (2, 4))
    circuits = (*builders.interlock_site().circuits, *taken)
    assert "interlock-place-taken" in codes(locked(circuits=circuits))
    assert "interlock-place-taken" not in codes(locked(6, 8, circuits=circuits))
