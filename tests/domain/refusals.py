"""What a site with some parts changed is refused with."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from server.domain.problems import problems_in
from server.domain.site import Site
from tests.builders import (
    with_parts,
)


def refusals(site: Site, **changes: Any) -> list[tuple[str, str]]:
    with pytest.raises(ValidationError) as caught:
        with_parts(site, **changes)
    return [(p.field, p.message) for p in problems_in(caught.value)]


def the_refusal(site: Site, **changes: Any) -> tuple[str, str]:
    found = refusals(site, **changes)
    assert len(found) == 1, found
    return found[0]
