"""The guided start, walked as a browser without script does it."""

from __future__ import annotations

from html import unescape
from urllib.parse import urlencode

from fastapi.testclient import TestClient

from tests.web.conftest import form_in


def on(browser: TestClient, page: str, to: str, **said: str) -> str:
    """The next page, as a browser without script asks for it."""
    fields = {name: unescape(text) for name, text in form_in(page, "/start").items()}
    answer = browser.get(f"/start?{urlencode(fields | said | {'step': to})}")
    assert answer.status_code == 200
    return answer.text


def walked(browser: TestClient, way: str, **said: str) -> str:
    """The last step, by way of the others, with these answers given where they are asked."""
    page = browser.get("/start").text
    page = on(browser, page, "sources", way=way)
    mine = {n: t for n, t in said.items() if f'name="{n}"' in page}
    page = on(browser, page, "things", **mine)
    mine = {n: t for n, t in said.items() if f'name="{n}"' in page}
    return on(browser, page, "forgotten", **mine)
