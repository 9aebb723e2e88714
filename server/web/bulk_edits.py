"""One change to many circuits: another panel, another role or class, or away with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from server.domain.edits import move_circuit, with_changes, without_circuits
from server.domain.errors import EditError
from server.domain.pairs import pair_of
from server.domain.site import Site
from server.web import words
from server.web.format import count

ACTS = ("move", "role", "class", "delete")


def changed(site: Site, picked: Sequence[str], values: Mapping[str, str]) -> tuple[Site, str]:
    """The site with the change made to every circuit picked, and a sentence that tells of it.

    All of them are changed or none.

    Raises
    ------
    EditError       When nothing was picked, or one of them cannot take it; the message says which.
    SiteFileError   When the site cannot take it.
    """
    ids = tuple(dict.fromkeys(i for i in picked if i in site.circuit_by_id))
    if not ids:
        raise EditError("Choose one circuit or more first, at the left of its row.")
    some = count(len(ids), "circuit", "circuits")
    act = values.get("act", "")
    if act == "move":
        return _moved(site, ids, values.get("to_panel", ""), some)
    if act == "role":
        role = values.get("to_role", "")
        said = words.said(words.OUTAGE_ROLES, role)
        both = tuple(dict.fromkeys(c.id for i in ids for c in pair_of(site, i)))
        more = len(both) - len(ids)
        with_pairs = f", and for {count(more, 'circuit', 'circuits')} on one handle with them"
        return _each(site, both, "outage_role", role, words.OUTAGE_ROLES), (
            f"In an outage: {said}, for {some}{with_pairs if more else ''}."
        )
    if act == "class":
        load_class = values.get("to_class", "")
        said = words.said(words.LOAD_CLASSES, load_class)
        return _each(site, ids, "load_class", load_class, words.LOAD_CLASSES), (
            f"Class {said}, for {some}."
        )
    if act == "delete":
        return with_changes(site, **without_circuits(site, frozenset(ids))), (
            f"Deleted {some}. Undo brings them back."
        )
    raise EditError("Choose what to do with the circuits.")


def _moved(site: Site, ids: Sequence[str], panel_id: str, some: str) -> tuple[Site, str]:
    if panel_id not in site.panel_by_id:
        raise EditError("Choose the panel they go to.", field="to_panel")
    for circuit_id in ids:
        if site.circuit(circuit_id).panel_id != panel_id:
            site = move_circuit(site, circuit_id, panel_id)
    return site, f"Moved {some} to {site.panel(panel_id).name}."


def _each(site: Site, ids: Sequence[str], name: str, value: str, options: words.Options) -> Site:
    if value not in dict(options):
        raise EditError("Choose what it shall be.", field=name)
    circuits = tuple(
        c.model_copy(update={name: value}) if c.id in ids else c for c in site.circuits
    )
    return with_changes(site, circuits=circuits)
