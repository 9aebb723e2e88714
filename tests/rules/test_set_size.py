"""A set larger than homes have is asked about, and nothing else is."""

from __future__ import annotations

import pytest

from server.rules.check import check_site
from tests.builders import backed_up_site, with_parts


@pytest.mark.parametrize(
    ("kw", "portable", "asked"),
    [
        (75, True, True),
        (20, True, False),
        (7.5, True, False),
        (75, False, True),
        (48, False, False),
    ],
)
def test_a_set_that_homes_hardly_have_is_asked_about(kw, portable, asked):
    """75 kW for 7.5 kW; the bounds are common practice, no source."""
    site = backed_up_site(scenarios=())
    (one,) = site.generators
    big = one.model_copy(update={"rated_kw": kw, "rated_kva": kw, "portable": portable})
    found = [
        f
        for f in check_site(with_parts(site, generators=(big,))).findings
        if f.code == "set-size-doubt"
    ]
    assert bool(found) is asked
    if asked:
        assert found[0].element_id == one.id
        assert "7.5 kW" in found[0].text
