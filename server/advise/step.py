"""The step that is named as the next one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from server.advise.levers import Lever
from server.advise.start_findings import Place
from server.domain.site import Site

Where = Literal[
    "findings", "supply", "fuel", "tank", "stops", "buses", "roles", "run", "source", "day", ""
]


@dataclass(frozen=True)
class NextStep:
    """A sentence, and either a lever that does what it says or a sheet where it can be done.

    ``caution`` stands beside a sentence that tells of fuel to bring. ``circuit_id`` names the
    circuit of a medical device whose own battery can be entered; ``places`` are fields of
    appliances where what the sentence asks for is entered. ``changed`` is the site with a change
    made that is more than one lever; ``settled`` is of a run in which nothing fails, and
    ``names_code`` of a sentence that tells what the code wants changed. ``planned`` is a change
    that is only entered until an electrician has fitted it. ``set_id`` is the set whose tank is
    asked for.
    """

    sentence: str
    command: str = ""
    lever: Lever | None = None
    where: Where = ""
    caution: str = ""
    circuit_id: str = ""
    places: tuple[Place, ...] = ()
    changed: Site | None = None
    settled: bool = False
    names_code: bool = False
    planned: bool = False
    set_id: str = ""
