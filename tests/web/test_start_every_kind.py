"""A house begun with any kind that is offered answers on all of its pages."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest
from fastapi.testclient import TestClient

from server.advise.begin.choices import WAY_IDS, Choices, Thing, offered_kinds
from server.advise.begin.site import begin_site
from server.domain.behaviour import RoomUnit
from server.domain.catalogue import KINDS
from server.domain.site import Site
from server.simulate.harms import harms
from server.simulate.levels import levels
from server.simulate.results import Run
from server.simulate.run import simulate
from server.store.sites import SiteStore

TODAY = date(2026, 1, 1)
EVERY = tuple(kind.id for kind in offered_kinds())
OWN_ROOM = tuple(
    one
    for one in EVERY
    if isinstance(unit := KINDS[one].behaviour, RoomUnit) and unit.own_room_share > 0.0
)


def begun(way: str, kinds: tuple[str, ...]) -> Site:
    things = tuple(Thing(kind_id=one) for one in kinds)
    return begin_site(Choices(way=way, name="My house", things=things), today=TODAY)


def pages_of(site: Site, root: str) -> Iterator[str]:
    """Its runs first, so that the pages after them show what came of each."""
    for scenario in site.scenarios:
        yield f"{root}/scenarios/{scenario.id}"
        yield f"{root}?scenario={scenario.id}"
    for page in ("/findings", "/scenarios", "/compare", "/buses", "/demand"):
        yield root + page


@pytest.mark.parametrize("way", WAY_IDS)
def test_all_kinds_ticked_answer_on_every_page(browser: TestClient, sites: SiteStore, way: str):
    said = {"way": way, "name": "My house", "solar": "none", "people": "3", "seen": "on"}
    said |= {"bedrooms": "3", "bathrooms": "3"} | {f"have.{one}": "on" for one in EVERY}
    answer = browser.post("/start", data=said)
    assert answer.status_code == 303
    (card,) = sites.list_sites()
    site = sites.get(card.id).site
    made = {a.kind for c in site.circuits for a in c.appliances}
    assert set(EVERY) <= made
    for page in pages_of(site, f"/sites/{card.id}"):
        assert browser.get(page).status_code == 200, page


@pytest.mark.parametrize("kind", OWN_ROOM)
def test_one_unit_with_a_room_of_its_own_answers(browser: TestClient, sites: SiteStore, kind: str):
    site = begun("backed-up-panel", (kind,))
    for page in pages_of(site, f"/sites/{sites.create(site).id}"):
        assert browser.get(page).status_code == 200, page


def holds(run: Run) -> None:
    """Each zone once, over every step, and harms wherever there is an outage to count from."""
    assert run.zone_f.shape == (len(run.site.zones), run.steps)
    stored = levels(run)
    assert {zone.id for zone in run.site.zones} <= {one.id for one in stored}
    assert all(one.values.shape == (run.steps,) for one in stored)
    assert bool(harms(run)) is bool(run.served.outages)


@pytest.mark.parametrize("way", WAY_IDS)
def test_kinds_by_the_handful_run_with_what_they_store(way: str):
    for first in range(0, len(EVERY), 12):
        kinds = EVERY[first : first + 12]
        site = begun(way, kinds)
        for scenario in site.scenarios:
            holds(simulate(site, scenario))
