"""Every page, file and form with hostile text and impossible figures in every field."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from fastapi.testclient import TestClient

from server.domain.site import Site
from server.exchange.sitefile import read_site_file, site_schema
from server.guard import HEADERS
from server.paths import DEMOS, STATIC
from tests.addresses import addresses_of
from tests.store.houses import full_site
from tests.web.conftest import form_in

LONG = "\"'><xss-x onxss=1>&{{7*7}}\\"
MIDDLE = "\"'><xss-x onxss>"
SHORT = "\"'><x>"
TEXTS = {
    "name": LONG,
    "note": LONG,
    "location": LONG,
    "area": LONG,
    "proves": LONG,
    "reason": LONG,
    "dwelling": LONG,
    "insulation": MIDDLE,
    "raceway": MIDDLE,
    "neutral_size": SHORT,
    "ground_size": SHORT,
    "raceway_trade_size": SHORT,
}
"""What is put into every text field of a site, by the field's name."""
ODD_FIGURES = ("inf", "NaN", "1e308", "1e-320", "9" * 4000)
_QUERY = (
    "scenario",
    "find",
    "load_class",
    "outage_role",
    "panel",
    "kind",
    "at",
    "seed",
    "edition",
    "moved",
    "from",
    "spaces",
    "zoom",
    "back",
    "method",
    "sort",
    "feeder",
    "element",
    "series",
)


class Reader(HTMLParser):
    """Notes every tag and attribute a browser would see."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes.update(name for name, _ in attrs)
        for name, value in attrs:
            if name in {"href", "action", "src", "formaction"}:
                assert not (value or "").lower().lstrip().startswith(("javascript:", "data:"))


def assert_harmless(path: str, answer: Any) -> None:
    """No element, attribute or header that the text of a site brought in."""
    assert answer.status_code < 500, (path, answer.text[:500])
    for name, value in HEADERS.items():
        assert answer.headers[name] == value, (path, name)
    kept = answer.headers.get("content-disposition", "")
    assert re.fullmatch(r'(attachment; filename="[a-z0-9.-]+")?', kept), (path, kept)
    kind = answer.headers.get("content-type", "")
    if kind.startswith("image/svg"):
        ET.fromstring(answer.content)
    if kind.startswith(("text/html", "image/svg")):
        seen = Reader()
        seen.feed(answer.text)
        assert not seen.tags & {"xss-x", "x"}, path
        assert not [a for a in seen.attributes if a.startswith("on")], path
        assert "49" not in re.findall(r"&amp;(\d+)", answer.text), path
    elif "json" in kind and answer.content:
        json.loads(answer.content)
    elif kind.startswith("text/csv"):
        for row in csv.reader(io.StringIO(answer.text)):
            assert not any(cell[:1] in {"=", "+", "@", "\t"} for cell in row), path


def hostile(document: Any) -> Any:
    """A site's document with hostile text in every field that takes any text."""
    if isinstance(document, list):
        return [hostile(part) for part in document]
    if not isinstance(document, dict):
        return document
    return {
        name: TEXTS[name] if name in TEXTS and isinstance(value, str | None) else hostile(value)
        for name, value in document.items()
    }


def test_every_field_that_takes_any_text_is_tried():
    free = set()
    for part in site_schema()["$defs"].values():
        for name, field in part.get("properties", {}).items():
            for option in field.get("anyOf", [field]):
                plain = option.get("type") == "string" and not option.keys() & {"enum", "const"}
                if plain and "pattern" not in option:
                    free.add(name)
    assert free - {"time_zone"} == set(TEXTS)


@pytest.fixture(scope="module")
def hostile_site() -> Site:
    farm = read_site_file((DEMOS / "flower-farm.json").read_bytes())
    document = hostile(farm.model_dump(mode="json"))
    document["scenarios"] = document["scenarios"][:1]
    for feeder in document["feeders"]:
        feeder["segments"] = []
    return Site.model_validate(document)


def test_no_text_of_a_site_becomes_markup_anywhere(browser: TestClient, hostile_site: Site, sites):
    made = sites.create(hostile_site, label=LONG)
    for path in ("/sites", "/help", *addresses_of(made.id, hostile_site)):
        assert_harmless(path, browser.get(path))
    sites.delete(made.id)
    assert_harmless("/sites", browser.get("/sites"))


def test_no_text_of_the_conductors_becomes_markup(browser: TestClient, sites):
    site = Site.model_validate(hostile(full_site(circuits=4).model_dump(mode="json")))
    made = sites.create(site)
    for path in ("", "/wiring", "/findings", "/supply", "/demand"):
        assert_harmless(path, browser.get(f"/sites/{made.id}{path}"))
    for feeder in site.feeders[:3]:
        assert_harmless(feeder.id, browser.get(f"/sites/{made.id}/supply/{feeder.id}"))


def test_no_query_becomes_markup_or_a_fault(browser: TestClient, stored):
    for value in (LONG, "-1", "\u0000"):
        query = dict.fromkeys(_QUERY, value)
        for path in addresses_of(stored.id, stored.site):
            assert_harmless(path, browser.get(path, params=query))


@pytest.mark.parametrize(
    "path",
    [
        "/%22%3E%3Cxss-x%3E",
        "/sites/%3Cxss-x%3E",
        "/sites/a%00b",
        "/sites/%ff%fe",
        "/api/v1/sites/%3Cxss-x%3E",
        "/static/%3Cxss-x%3E",
        "/static/css/tokens.css",
        "/static/",
        "/api/v1/openapi.json",
    ],
)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "TRACE"])
def test_every_answer_of_any_method_is_harmless(browser: TestClient, path: str, method: str):
    assert_harmless(path, browser.request(method, path))


def test_every_static_file_is_what_its_name_says(browser: TestClient):
    kinds = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
    files = [p for p in STATIC.rglob("*") if p.is_file()]
    assert len(files) > 10
    for file in files:
        answer = browser.get(f"/static/{file.relative_to(STATIC).as_posix()}")
        assert answer.status_code == 200
        for name, value in HEADERS.items():
            assert answer.headers[name] == value
        wanted = kinds.get(file.suffix)
        assert wanted is None or answer.headers["content-type"].startswith(wanted)


def forms_of(browser: TestClient, site_id: str, site: Site) -> dict[str, dict[str, str]]:
    """Every form of every page of a site: its fields by its action."""
    found: dict[str, dict[str, str]] = {}
    for path in ("/sites", *addresses_of(site_id, site, heavy=False)):
        answer = browser.get(path)
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        for action in re.findall(r'<form[^>]*method="post"[^>]*action="([^"]+)"', answer.text):
            found.setdefault(action, form_in(answer.text, action))
    return found


@pytest.fixture
def forms(browser: TestClient, sites):
    """Forms of a full house, and that house anew for each that is sent."""
    site = full_site(circuits=4)
    made = sites.create(site)
    found = forms_of(browser, made.id, site)
    assert len(found) > 20
    return made.id, site, found


def _kept(fields: dict[str, str]) -> dict[str, str]:
    return {
        name: text
        for name, text in fields.items()
        if name in {"revision", "back", "theme", "act"} or name.endswith((".model", "panel_id"))
    }


@pytest.mark.parametrize("text", [LONG, "\u202e\u200b", "x" * 3000])
def test_no_form_turns_hostile_text_into_markup_or_a_fault(browser, sites, forms, text):
    for site_id, action, fields in fresh(sites, forms):
        sent = dict.fromkeys(fields, text) | _kept(fields)
        answer = browser.post(action, data=sent)
        assert_harmless(action, answer)
        assert answer.status_code in {200, 303, 404, 409, 422}, (action, answer.status_code)
        assert sites.get(site_id)


@pytest.mark.parametrize("figure", ODD_FIGURES, ids=lambda f: f[:8])
def test_no_form_takes_a_figure_that_is_none(browser, sites, forms, figure):
    for site_id, action, fields in fresh(sites, forms):
        figures = {n: figure for n, t in fields.items() if re.fullmatch(r"-?[\d.]+", t)}
        if not figures:
            continue
        answer = browser.post(action, data=fields | figures | _kept(fields))
        assert_harmless(action, answer)
        assert answer.status_code in {303, 404, 409, 413, 422}, (action, answer.status_code)
        text = json.dumps(sites.get(site_id).site.model_dump(mode="json"), allow_nan=False)
        assert "1e+308" not in text


def fresh(sites, forms):
    """Each form with a house that nobody has changed since it was shown."""
    first_id, site, found = forms
    site_id = first_id
    for action, fields in found.items():
        if action.startswith("/theme") or action.endswith(("/delete", "/restore")):
            continue
        if sites.get(site_id).revision != 1:
            site_id = sites.create(site).id
        yield site_id, action.replace(first_id, site_id), fields
