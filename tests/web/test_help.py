"""Help: every word is explained once, and what a word points at is there."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient

from server.domain.glossary import WORD_GROUPS, WORDS
from server.domain.model_notes import MODEL_NOTES
from server.paths import TEMPLATES
from server.store.cards import StoredSite


def test_every_word_stands_on_the_page_and_its_links_lead_to_one(browser: TestClient):
    page = browser.get("/help").text
    anchors = set(re.findall(r'id="word-([a-z-]+)"', page))
    assert anchors == set(WORDS)
    assert len(WORDS) == sum(len(group.word) for group in WORD_GROUPS)
    assert set(re.findall(r'href="#word-([a-z-]+)"', page)) <= anchors


def test_every_word_used_in_a_template_is_in_the_glossary():
    used = {
        key
        for path in TEMPLATES.rglob("*.html")
        for key in re.findall(r'\bterm\("([a-z-]+)"', path.read_text(encoding="utf-8"))
    }
    assert used
    assert used <= set(WORDS)


def test_a_word_on_the_overview_opens_its_meaning_once(browser: TestClient, stored: StoredSite):
    page = browser.get(f"/sites/{stored.id}").text
    opened = re.findall(r'id="term-([a-z-]+)" popover', page)
    assert "backed-up" in opened
    assert len(opened) == len(set(opened))
    assert set(re.findall(r'popovertarget="term-([a-z-]+)"', page)) == set(opened)


def test_every_model_stands_on_its_page_and_the_forms_lead_there(browser: TestClient):
    page = browser.get("/help/models").text
    for note in MODEL_NOTES:
        assert f'id="model-{note.id}"' in page
        for field, _, _ in note.params:
            assert f"<code>{field}</code>" in page
    assert "USDA FSIS" in page
    assert 'href="/help/models"' in browser.get("/help").text
    form = TEMPLATES / "circuits" / "_behaviour.html"
    assert "/help/models#model-" in form.read_text(encoding="utf-8")
