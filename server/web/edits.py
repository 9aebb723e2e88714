"""Saving what a form made of a site, with every refusal turned back into the form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from server.domain.errors import EditError, Problem, SiteFileError, StaleEditError, StorageError
from server.domain.site import Site
from server.store.cards import StoredSite
from server.store.sites import SiteStore
from server.web.forms import Form, problems_of, revision_of, with_problems
from server.web.meanwhile import merged
from server.web.pressed import pressed_twice, remember

STALE = (
    "Somebody saved first, or you did on another page or device. Nothing you typed is lost and "
    "nothing was saved yet."
)
SAVED_ALREADY = (
    "This was saved already, by a first press of the button. Save again only to do the same once "
    "more."
)
_AT_FIELDS = (
    " Where what is saved now differs, it stands under the field: mend the field or leave it as "
    "you typed it, then save."
)
_NAMED = " What differs is named here: look at it, then save."
_ELSEWHERE = " No field of this form was changed by it: save again."


def try_save(
    store: SiteStore,
    stored: StoredSite,
    values: Mapping[str, str],
    edit: Callable[[Site], Site],
    *,
    label: str,
    saved: Mapping[str, str] | None = None,
    strip: str = "",
    aliases: Mapping[str, str] | None = None,
) -> Form | None:
    """Save the edit on the revision the form began from.

    ``saved`` is the form of what is saved now; a stale form takes it over in the fields that were
    left alone, and shows where it differs in the others.

    Returns
    -------
    None when it was saved, or stands saved already as this form has it: a button pressed twice
    sends it twice. Else the form as typed, with what keeps it from being saved. A stale
    form carries the newer revision, so sending it again applies it there.
    """
    try:
        site = edit(stored.site)
    except (SiteFileError, EditError) as error:
        return with_problems(values, problems_of(error), strip=strip, aliases=aliases)
    try:
        store.save(stored.id, site, base_revision=revision_of(values), label=label)
    except StaleEditError as error:
        now = store.get(stored.id)
        if site == now.site:
            return None
        if pressed_twice(stored.id, values, now.revision):
            return _saved_already(values, now.revision)
        return _on_newer(values, saved, error.revision, now.undo_label)
    except SiteFileError as error:
        return with_problems(values, error.problems, strip=strip, aliases=aliases)
    except StorageError as error:
        kept = f"{error} Nothing was saved, and nothing you typed is lost: save again later."
        return replace(with_problems(values, (Problem("", kept),)), unsaved=True)
    remember(stored.id, values)
    return None


def _saved_already(values: Mapping[str, str], revision: int) -> Form:
    """The form of something added, sent a second time."""
    fresh = {**values, "revision": str(revision)}
    return replace(with_problems(fresh, (Problem("", SAVED_ALREADY),)), stale=True)


def _on_newer(
    values: Mapping[str, str], saved: Mapping[str, str] | None, revision: int, label: str | None
) -> Form:
    """The form on the newer version, with what was saved meanwhile in the fields left alone."""
    both = merged(values, saved or {})
    if both.both is None or saved is None:
        kept, told = dict(saved or {}), _AT_FIELDS
    else:
        kept = {name: saved.get(name, "") for name in sorted(both.both)}
        told = _NAMED if both.both or both.taken else _ELSEWHERE
    last = f" Last saved: {label}." if label else ""
    fresh = {**both.values, "revision": str(revision)}
    form = with_problems(fresh, (Problem("", STALE + told + last),))
    return replace(form, stale=True, saved=kept, taken=both.taken)


def status_of(form: Form) -> int:
    """The status of an answer that shows this form.

    503 when the database could not take it, 409 stale, 422 with problems, else 200.
    """
    if form.unsaved:
        return 503
    if form.stale:
        return 409
    return 422 if form.wrong else 200
