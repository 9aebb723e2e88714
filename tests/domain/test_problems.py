from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import ValidationError

from server.domain.errors import (
    EditError,
    InputError,
    NotFoundError,
    Problem,
    SiteFileError,
    StaleEditError,
    ThreebusError,
)
from server.domain.problems import message_for, problems_in
from server.domain.site import Site
from server.domain.supply import Segment
from tests.builders import normal_only_site


def problem_with(path: str, value: Any) -> Problem:
    """What is said when one value of a good site is replaced by a bad one."""
    document = json.loads(normal_only_site().model_dump_json())
    *steps, last = [int(step) if step.isdigit() else step for step in path.split(".")]
    node: Any = document
    for step in steps:
        node = node[step]
    if value is ...:
        del node[last]
    else:
        node[last] = value
    with pytest.raises(ValidationError) as caught:
        Site.model_validate_json(json.dumps(document))
    (found,) = problems_in(caught.value)
    return found


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        ("name", ..., "This is needed and was left out."),
        ("name", "", "This cannot be empty."),
        ("name", "   ", "This cannot be empty."),
        ("name", "x" * 81, "Keep this to 80 characters."),
        ("name", 7, "Write text here."),
        ("people", "many", "Write a whole number, such as 3."),
        ("people", 2.5, "Write a whole number, such as 3."),
        ("people", 0, "This must be 1 or more; 1 to 200 is permitted."),
        ("people", 201, "This must be 200 or less; 1 to 200 is permitted."),
        ("code_edition", "1999", "Choose one of '2017', '2020', '2023' or '2026'."),
        ("services.0.main_a", "lots", "Write a number, such as 12.5."),
        ("services.0.main_a", "200 A", "Write the number alone, without its unit: 200."),
        ("services.0.main_a", "0,2 kA", "Write the number alone, without its unit: 0.2."),
        ("floor_area_ft2", "2,100 sq", "Write the number alone, without its unit: 2,100."),
        ("services.0.main_a", 0, "This must be 0.1 or more; 0.1 to 4,000 is permitted."),
        ("services.0.main_a", 5000, "This must be 4000 or less; 0.1 to 4,000 is permitted."),
        ("circuits.0.pinned", "perhaps", "Choose yes or no."),
        (
            "circuits.0.appliances.0.load_w",
            -1,
            "This must be 0 or more; 0 to 1,000,000 is permitted.",
        ),
        ("circuits.0.appliances", {}, "A list is expected here."),
        ("circuits.0", 3, "A group of named fields is expected here."),
        ("place.time_zone", "Mars/North", "This time zone is not known. Use a name such as"),
        ("scenarios.0.start", "teatime", "Write a date and time, such as 2026-11-26 17:30."),
        ("scenarios.0.start", "2026-11-26T12:00:00Z", "Give local wall-clock time, without"),
        (
            "circuits.0.id",
            "Well Pump",
            "Use small letters, digits and hyphens, beginning with a letter or digit, such as "
            "well-pump.",
        ),
        ("spare_room", True, "This field is not known here. Check its spelling or remove it."),
        ("circuits.0.spaces", [], "At least 1 entry is needed here."),
        ("circuits.0.spaces", [1, 3, 5], "At most 2 entries are possible here."),
    ],
)
def test_each_mistake_names_its_field_and_its_mend(path: str, value: Any, message: str) -> None:
    found = problem_with(path, value)
    assert found.field == path
    assert found.message.startswith(message)


def test_text_too_long_for_a_short_field_is_not_called_a_list() -> None:
    with pytest.raises(ValidationError) as caught:
        Segment.model_validate({"raceway_trade_size": "two and a half"})
    found = {p.field: p.message for p in problems_in(caught.value)}
    assert found["raceway_trade_size"] == "Keep this to 6 characters."


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_nan_and_infinity_are_refused(value: str) -> None:
    text = normal_only_site().model_dump_json().replace('"main_a":200.0', f'"main_a":{value}', 1)
    with pytest.raises(ValidationError) as caught:
        Site.model_validate_json(text)
    (found,) = problems_in(caught.value)
    assert found == Problem(
        "services.0.main_a", "This must be an ordinary number, not infinity or NaN."
    )


@pytest.mark.parametrize(
    ("behaviour", "message"),
    [
        ({"share": 1}, "Say which behaviour this is: its “model” is missing."),
        ({"model": "magic"}, "Choose one of 'constant', 'hourly', 'lighting',"),
    ],
)
def test_an_unknown_behaviour_is_told(behaviour: dict[str, Any], message: str) -> None:
    found = problem_with("circuits.0.appliances.0.behaviour", behaviour)
    assert found.message.startswith(message)


def test_broken_json_is_told() -> None:
    with pytest.raises(ValidationError) as caught:
        Site.model_validate_json("{")
    assert problems_in(caught.value) == (Problem("", "This is not readable JSON."),)


def test_an_unforeseen_kind_keeps_the_library_message() -> None:
    assert message_for("new_kind", {}, "as it came") == "as it came"
    sizes = message_for("string_pattern_mismatch", {"pattern": r"^(14|[1-4]/0)$"}, "")
    assert "1/0 to 4/0, or 250 to 750" in sizes
    assert message_for("string_pattern_mismatch", {"pattern": "^[A-Z]$"}, "") == (
        "This is not written in the form expected here."
    )


def test_no_message_speaks_of_the_library() -> None:
    for path, value in (("name", 7), ("people", []), ("circuits", 3), ("tariff", None)):
        message = problem_with(path, value).message.lower()
        assert "pydantic" not in message
        assert "input should" not in message


def test_problems_read_as_field_and_message() -> None:
    assert str(Problem("people", "Too few.")) == "people: Too few."
    assert str(Problem("", "Unreadable.")) == "Unreadable."


def test_errors_form_one_family() -> None:
    error = SiteFileError((Problem("a", "b."), Problem("", "c.")))
    assert str(error) == "a: b.; c."
    assert issubclass(SiteFileError, InputError)
    assert EditError("no", field="panel_id").field == "panel_id"
    assert StaleEditError("late", revision=4).revision == 4
    for kind in (InputError, NotFoundError, StaleEditError):
        assert issubclass(kind, ThreebusError)
