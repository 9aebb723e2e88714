"""The sentence after an edit is shown once, soon, and only where this program wrote it."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from server.store.cards import StoredSite
from server.web import said
from server.web.pages import SAID_COOKIE


def test_a_sentence_is_shown_once_and_its_cookie_cannot_be_used_again(
    browser: TestClient, stored: StoredSite
):
    token = browser.post(f"/sites/{stored.id}/duplicate").cookies[SAID_COOKIE]
    assert "stands in the list" not in token
    assert "stands in the list" in browser.get("/sites").text
    browser.cookies.set(SAID_COOKIE, token)
    assert "stands in the list" not in browser.get("/sites").text


def test_words_in_the_cookie_itself_are_never_shown(browser: TestClient):
    browser.cookies.set(SAID_COOKIE, "Switch the main on")
    assert "Switch the main on" not in browser.get("/sites").text


def test_a_sentence_is_gone_after_a_minute(monkeypatch: pytest.MonkeyPatch):
    now = [1_000.0]
    monkeypatch.setattr(said.time, "monotonic", lambda: now[0])
    soon, late = said.token_for("Soon."), said.token_for("Late.")
    now[0] += said.LASTS_S
    assert said.said_for(soon) == "Soon."
    now[0] += 1
    assert said.said_for(late) == ""


def test_only_so_many_sentences_wait():
    first = said.token_for("First.")
    for n in range(said.MOST_KEPT):
        last = said.token_for(f"Sentence {n}.")
    assert said.said_for(first) == ""
    assert said.said_for(last)
