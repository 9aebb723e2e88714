"""The list of problems names every field as its label does, on every form of a full house."""

from __future__ import annotations

import re

from server.web.labels import name_as_labelled
from tests.web.test_sweep import _kept, forms, fresh

__all__ = ["forms"]

NAMED = re.compile(r'<li[^>]*><a href="#f-([^"]+)">(.*?)</a>', re.S)


def plain(markup: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", markup).split())


def label_of(page: str, name: str) -> str:
    """A field's label, read in the three ways that our templates write one."""
    field = re.escape(name)
    for pattern in (
        rf'<label for="f-{field}"[^>]*>(.*?)</label>',
        rf'<label class="tick"><input[^>]*id="f-{field}"[^>]*>(.*?)</label>',
        rf'<fieldset[^>]*id="f-{field}"[^>]*>\s*<legend[^>]*>(.*?)</legend>',
    ):
        found = re.search(pattern, page, re.S)
        if found is not None:
            return plain(found[1])
    return ""


def test_every_refused_form_names_its_fields_by_their_labels(browser, sites, forms):
    named, unlabelled = 0, []
    for _, action, fields in fresh(sites, forms):
        kept = {n for n in fields if n in _kept(fields) or n.endswith(".id")}
        sent = {n: t if n in kept else "'\"<x" for n, t in fields.items()}
        page = browser.post(action, data=sent).text
        for name, words in NAMED.findall(page):
            label = label_of(page, name)
            if not label:
                unlabelled.append((action, name, words))
                continue
            assert plain(words) == label or plain(words).endswith(f": {label}"), (action, name)
            named += 1
    assert unlabelled == []
    assert named > 60


def test_a_field_of_a_row_is_named_with_its_row():
    page = (
        '<ul><li><a href="#f-outages.1.end">End</a>: too soon</li></ul>'
        '<div role="group" aria-label="Row 2"><label for="f-outages.1.end">Until</label>'
        '<span><input id="f-outages.1.end"></span></div>'
    )
    assert '<a href="#f-outages.1.end">Row 2: Until</a>: too soon' in name_as_labelled(page)


def test_a_label_with_marks_stays_text():
    page = '<li><a href="#f-a">A</a>: no</li><label for="f-a">A &lt;b&gt; &amp; c</label>'
    assert '<a href="#f-a">A &lt;b&gt; &amp; c</a>' in name_as_labelled(page)


def test_a_field_without_a_label_keeps_its_words():
    page = '<li><a href="#f-a">Alone</a>: no</li>'
    assert name_as_labelled(page) == page
