"""Small aluminum branch wire, which asks for devices and splices made for it."""

from __future__ import annotations

from collections.abc import Iterator

from server.domain.finding import Finding
from server.domain.site import Site
from server.rules.checks.made import made
from server.rules.editions import Rulebook
from server.rules.words import listed

SMALL_SIZES = ("14", "12", "10")
"""Sizes of solid aluminum wire of old 15, 20 and 30 A circuits."""


def aluminum_checks(site: Site, rules: Rulebook) -> Iterator[Finding]:
    """Once for a site: branch circuits of small aluminum wire."""
    names = [
        c.name for c in site.circuits if c.wire_metal == "aluminum" and c.wire_size in SMALL_SIZES
    ]
    if not names:
        return
    yield made(
        "aluminum-branch",
        "warning",
        "",
        text=f"{'This circuit has' if len(names) == 1 else 'These circuits have'} small aluminum "
        f"wire: {listed(names)}. Plugs and switches of 20 A and less on it must be marked CO/ALR, "
        "and a splice to copper made with a connector listed for aluminum with copper.",
        mend="Have every plug, switch and splice on it looked at, and the ends repaired by a "
        "listed method, or copper run in its place.",
        figure=rules.figure("aluminum_ends"),
    )
