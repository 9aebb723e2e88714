"""A valid site at the edges of what may be entered gets results or plain words, nowhere a fault."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from server.app import create_app
from server.cli import app
from server.domain.errors import Problem, SiteFileError
from server.domain.site import Site
from server.exchange.sitefile import read_site_file, site_schema
from server.paths import DEMOS
from server.settings import Settings
from tests.addresses import addresses_of
from tests.builders import EVERY_SITE
from tests.property.effort import effort
from tests.store.houses import full_site

TINY = 5e-324
_NO_FIGURE = re.compile(r"(?<![\w-])[+\-\N{MINUS SIGN}]?(nan|inf|infinity)(?![\w-])", re.IGNORECASE)
_TAG = re.compile(r"<[^>]*>")
_KEPT = frozenset({"id", "spaces", "steps", "format", "version", "model", "step_s"})

some = effort(10)

Place = tuple[tuple[str | int, ...], tuple[Any, ...]]


def edges(schema: dict[str, Any], parts: dict[str, Any]) -> tuple[Any, ...]:
    """Every value at an edge of what a field may hold, as its published schema says."""
    if "$ref" in schema:
        schema = parts[schema["$ref"].rsplit("/", 1)[-1]]
    if "anyOf" in schema:
        return tuple(v for option in schema["anyOf"] for v in edges(option, parts))
    match schema.get("type"):
        case "number" | "integer":
            return tuple(dict.fromkeys(_ends(schema)))
        case "boolean":
            return (True, False)
        case "null":
            return (None,)
        case "array":
            return () if schema.get("minItems") else ([],)
    if "enum" in schema:
        return tuple(schema["enum"])
    if "local wall-clock" in schema.get("description", "").lower():
        return (
            "1900-01-01T00:00:00",
            "2199-12-31T23:59:59",
            "2200-12-31T23:59:59",
            "2026-03-08T02:30:00",
        )
    return ()


def _ends(schema: dict[str, Any]) -> Iterator[float]:
    whole = schema["type"] == "integer"
    for name in ("minimum", "maximum"):
        if name in schema:
            yield schema[name]
    if "exclusiveMinimum" in schema:
        low = schema["exclusiveMinimum"]
        yield from (low + 1,) if whole else (low + TINY, low + 1e-9)
    if "exclusiveMaximum" in schema:
        yield schema["exclusiveMaximum"] - 1


def places(
    document: Any, schema: dict[str, Any], parts: dict[str, Any], path: tuple[str | int, ...] = ()
) -> Iterator[Place]:
    """Every field of a site's document that has edges, with the path that leads to it."""
    if "$ref" in schema:
        schema = parts[schema["$ref"].rsplit("/", 1)[-1]]
    if path and path[-1] not in _KEPT and not str(path[-1]).endswith("_id"):
        found = edges(schema, parts)
        if found:
            yield path, found
    options = schema.get("oneOf") or schema.get("anyOf") or ()
    for option in options:
        inner = parts[option["$ref"].rsplit("/", 1)[-1]] if "$ref" in option else option
        model = inner.get("properties", {}).get("model", {}).get("const")
        if model is None or (isinstance(document, dict) and document.get("model") == model):
            yield from places(document, inner, parts, path)
    if isinstance(document, dict):
        for name, value in document.items():
            if name in schema.get("properties", {}):
                yield from places(value, schema["properties"][name], parts, (*path, name))
    elif isinstance(document, list) and "items" in schema:
        for i, value in enumerate(document):
            yield from places(value, schema["items"], parts, (*path, i))


@cache
def base_documents() -> dict[str, tuple[dict[str, Any], tuple[Place, ...]]]:
    """Houses to start from, with all their edges."""
    houses = {name: make() for name, make in EVERY_SITE.items()}
    houses["full"] = full_site(circuits=14)
    houses |= {path.stem: read_site_file(path.read_bytes()) for path in DEMOS.glob("*.json")}
    schema = site_schema()
    whole = schema["$defs"]["Site"]
    found = {}
    for name, site in houses.items():
        document = site.model_dump(mode="json")
        found[name] = (document, tuple(places(document, whole, schema["$defs"])))
    return found


def _set(document: Any, path: tuple[str | int, ...], value: Any) -> None:
    for step in path[:-1]:
        document = document[step] if document is not None else None
    if isinstance(document, dict) or (isinstance(document, list) and len(document) > int(path[-1])):
        document[path[-1]] = value


@st.composite
def site_files(draw: st.DrawFn, *, most: int = 5) -> bytes:
    """A site file with some of its fields at their edges."""
    name = draw(st.sampled_from(sorted(base_documents())))
    document, found = base_documents()[name]
    changed = json.loads(json.dumps(document))
    for path, values in draw(st.lists(st.sampled_from(found), min_size=1, max_size=most)):
        try:
            _set(changed, path, draw(st.sampled_from(values)))
        except (LookupError, TypeError):
            continue  # an edge taken before has removed the group this one stands in
    changed["scenarios"] = changed["scenarios"][:1]
    envelope = {"format": "threebus-site", "version": 1, "site": changed}
    return json.dumps(envelope).encode()


def read_or_refused(data: bytes) -> Site | None:
    """The site, or None when it is refused with words for every problem."""
    problems: tuple[Problem, ...] = ()
    try:
        return read_site_file(data)
    except SiteFileError as error:
        problems = error.problems
    assert problems
    assert all(p.message and "Traceback" not in p.message for p in problems)
    return None


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    url = f"sqlite:///{tmp_path_factory.mktemp('extremes') / 'sites.db'}"
    planner = create_app(Settings(url, load_demos=False, warm_up=False))
    yield TestClient(planner, base_url="http://127.0.0.1:8400", follow_redirects=False)
    planner.state.engine.dispose()


def assert_plain(path: str, answer: Any) -> None:
    """No fault, and no figure that is none."""
    assert answer.status_code in {200, 404, 422}, (path, answer.status_code)
    kind = answer.headers["content-type"]
    if kind.startswith(("text/html", "image/svg")):
        shown = _TAG.sub(" ", answer.text)
        found = _NO_FIGURE.search(shown) or _NO_FIGURE.search(answer.text)
        assert not found, (path, answer.text[max(found.start() - 200, 0) : found.end() + 80])
    elif "json" in kind:
        json.loads(answer.content, parse_constant=_refuse_constant)


def _refuse_constant(name: str) -> None:
    raise AssertionError(f"{name} in a JSON answer")


def ask_everything(browser: TestClient, site: Site) -> None:
    store = browser.app.state.store
    made = store.create(site)
    try:
        for path in addresses_of(made.id, site, heavy=False):
            assert_plain(path, browser.get(path))
    finally:
        store.delete(made.id)


@some
@given(data=site_files())
def test_every_page_and_document_answers_plainly(browser, data):
    site = read_or_refused(data)
    if site is not None:
        ask_everything(browser, site)


@some
@given(data=site_files())
def test_the_terminal_answers_plainly(data):
    for command in ("simulate", "check"):
        for more in ((), ("--json",)):
            result = CliRunner().invoke(app, [command, "-", *more], input=data)
            assert result.exit_code in {0, 2, 3}, result.exception
            if result.exit_code == 2:
                assert result.stderr.strip()
            elif more:
                json.loads(result.stdout, parse_constant=_refuse_constant)
            else:
                assert not _NO_FIGURE.search(result.stdout), result.stdout
