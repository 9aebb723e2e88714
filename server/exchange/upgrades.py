"""Upgrades of site files, one function for each step from a version to the next.

To change the form of a site file: raise ``VERSION`` by one and add, under the old number, a
function that takes the site object of that version and returns the site object of the next. Files
of any older version then pass through every step between. Version 1 is the first there is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from server.exchange.strictjson import refuse

VERSION = 1

Upgrade = Callable[[dict[str, Any]], dict[str, Any]]

UPGRADES: Mapping[int, Upgrade] = {}


def upgraded(
    site: dict[str, Any],
    version: int,
    *,
    upgrades: Mapping[int, Upgrade] = UPGRADES,
    current: int = VERSION,
) -> dict[str, Any]:
    """The site object as the current version writes it.

    Raises
    ------
    SiteFileError   When the version is newer than this program, or was never written.
    """
    if version > current:
        refuse(
            f"This file is version {version}, written by a newer Threebus; this one reads up to "
            f"version {current}. Install the newer Threebus to open it.",
            "version",
        )
    oldest = min(upgrades, default=current)
    if version < oldest:
        refuse(f"There is no version {version} of site files; {oldest} is the oldest.", "version")
    for step in range(version, current):
        site = upgrades[step](site)
    return site
