"""A site with more circuits than it has: for large houses in the browser and on the clock."""

from __future__ import annotations

from server.domain.edits import free_spaces
from server.domain.site import Site
from tests.builders import with_parts

_SPACES_MOST = 84


def grown(site: Site, *, circuits: int, name: str = "") -> Site:
    """The site with copies of its circuits in panels of 84 spaces until it has so many.

    ``name`` is put after the name of every copy, to see what long names do. Stops early where
    every panel is full.
    """
    panels = tuple(p.model_copy(update={"spaces": _SPACES_MOST}) for p in site.panels)
    wide = with_parts(site, panels=panels)
    free = {p.id: sorted(free_spaces(wide, p)) for p in wide.panels}
    made = list(site.circuits)
    handles = {h.circuit_id for t in site.transfer_switches for h in t.handles}
    originals = [c for c in made if not c.multiwire_partner_id and c.id not in handles]
    turn = 0
    while len(made) < circuits and any(len(spaces) > 3 for spaces in free.values()):
        base = originals[turn % len(originals)]
        turn += 1
        spaces = _taken(free[base.panel_id], base.poles)
        if not spaces:
            continue
        mark = f"copy-{turn}"
        loads = tuple(a.model_copy(update={"id": f"{a.id}-{mark}"}) for a in base.appliances)
        update = {
            "id": f"{base.id}-{mark}",
            "name": f"{base.name} {turn} {name}".strip()[:80],
            "spaces": spaces,
            "half": None,
            "pinned": False,
            "appliances": loads,
        }
        made.append(base.model_copy(update=update))
    return with_parts(wide, circuits=tuple(made))


def _taken(free: list[int], poles: int) -> tuple[int, ...]:
    """The first places of a panel that fit, taken out of what is free."""
    for space in free:
        wanted = (space,) if poles == 1 else (space, space + 2)
        if all(s in free for s in wanted):
            for taken in wanted:
                free.remove(taken)
            return wanted
    return ()
