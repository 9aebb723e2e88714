from __future__ import annotations

import re

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.store.sites import SiteStore
from tests.builders import double_throw_site
from tests.planner import one_planner, planner

__all__ = ["one_planner", "planner"]

ADDRESS = "http://127.0.0.1:8400"


@pytest.fixture
def browser(planner: FastAPI) -> TestClient:
    """A browser that keeps cookies and does not follow redirects by itself."""
    return TestClient(planner, base_url=ADDRESS, follow_redirects=False)


@pytest.fixture
def sites(planner: FastAPI) -> SiteStore:
    return planner.state.store


@pytest.fixture
def stored(sites: SiteStore) -> StoredSite:
    """A house with a normal, a backed-up and a switchable panel."""
    return sites.create(double_throw_site())


def form_in(page: str, action: str) -> dict[str, str]:
    """The fields of a page's form as a browser without script would send them."""
    start = page.index(f'action="{action}"')
    body = page[start : page.index("</form>", start)]
    fields: dict[str, str] = {}
    for tag in re.finditer(r"<input\b[^>]*>", body):
        attributes = dict(re.findall(r'([\w-]+)="([^"]*)"', tag[0]))
        ticked = attributes.get("type") != "checkbox" or " checked" in tag[0]
        if "name" in attributes and ticked:
            fields[attributes["name"]] = attributes.get("value", "")
    for name, inner in re.findall(
        r'<select\b[^>]*\bname="([^"]+)"[^>]*>(.*?)</select>', body, re.S
    ):
        options = re.findall(r'<option value="([^"]*)"( selected)?', inner)
        chosen = [value for value, selected in options if selected]
        fields[name] = (chosen or [options[0][0]])[0]
    texts = re.findall(r'<textarea\b[^>]*\bname="([^"]+)"[^>]*>(.*?)</textarea>', body, re.S)
    return fields | dict(texts)


def problem_at(page: str, field: str) -> str:
    """The problem shown beside a field, tied to it for a screen reader."""
    found = re.search(rf'id="p-{re.escape(field)}">.*?<span>(.*?)</span>', page, re.S)
    if found is None:
        return ""
    entry = re.search(rf'id="f-{re.escape(field)}"[^>]*>', page)
    assert entry is not None
    assert 'aria-invalid="true"' in entry[0]
    assert f"p-{field}" in entry[0]
    return found[1]
