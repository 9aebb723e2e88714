from __future__ import annotations

import pytest

from server.rules.hazards import hazards
from tests.builders import double_throw_site, with_parts


@pytest.mark.parametrize(("from_id", "warned"), [("backed", False), ("main", True)])
def test_a_backed_up_input_that_no_generator_reaches_warns(from_id: str, warned: bool) -> None:
    site = double_throw_site()
    feeders = tuple(
        f.model_copy(update={"from_id": from_id, "spaces": (14, 16)})
        if f.to_input == "backed_up"
        else f
        for f in site.feeders
    )
    found = [(f.code, f.severity) for f in hazards(with_parts(site, feeders=feeders))]
    assert found == ([("backed-up-input-dead", "warning")] if warned else [])
