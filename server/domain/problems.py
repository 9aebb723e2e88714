"""Turns a validation error into messages a homeowner understands."""

from __future__ import annotations

import re
from typing import Any

from pydantic import ValidationError

from server.domain.errors import Problem
from server.domain.permitted import permitted

_MESSAGES: dict[str, str] = {
    "missing": "This is needed and was left out.",
    "extra_forbidden": "This field is not known here. Check its spelling or remove it.",
    "float_parsing": "Write a number, such as 12.5.",
    "float_type": "Write a number, such as 12.5.",
    "int_parsing": "Write a whole number, such as 3.",
    "int_type": "Write a whole number, such as 3.",
    "int_from_float": "Write a whole number, such as 3.",
    "finite_number": "This must be an ordinary number, not infinity or NaN.",
    "bool_parsing": "Choose yes or no.",
    "bool_type": "Choose yes or no.",
    "string_type": "Write text here.",
    "string_too_short": "This cannot be empty.",
    "datetime_parsing": "Write a date and time, such as 2026-11-26 17:30.",
    "datetime_from_date_parsing": "Write a date and time, such as 2026-11-26 17:30.",
    "datetime_type": "Write a date and time, such as 2026-11-26 17:30.",
    "union_tag_not_found": "Say which behaviour this is: its “model” is missing.",
    "json_invalid": "This is not readable JSON.",
    "int_parsing_size": "This number is too long. Write a shorter one.",
    "model_attributes_type": "A group of named fields is expected here, sent as application/json.",
    "model_type": "A group of named fields is expected here.",
    "dict_type": "A group of named fields is expected here.",
    "tuple_type": "A list is expected here.",
}
PARSED = ("float_parsing", "int_parsing")
_WITH_UNIT = re.compile(r"\s*(\d[\d.,]*)\s*[A-Za-z°%²\u0022′″']+[\w²]*\s*$")
GROUPED = re.compile(r"-?[1-9]\d{0,2}(,\d{3})+(\.\d+)?")
"""A number whose commas group its thousands; no group follows a leading zero."""
BOUNDS = ("greater_than_equal", "greater_than", "less_than_equal", "less_than")
_SIZE_HINT = (
    "Enter a wire size: 14, 12, 10, 8, 6, 4, 3, 2 or 1, 1/0 to 4/0, or 250 to 750 for kcmil."
)
_ID_PATTERN_HINT = (
    "Use small letters, digits and hyphens, beginning with a letter or digit, such as well-pump."
)
_PATTERN_HINTS = (("a-z0-9", _ID_PATTERN_HINT), ("/0", _SIZE_HINT))
"""What to write, by a part of the pattern that tells which it is."""


def _shown(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def message_for(kind: str, context: dict[str, Any], fallback: str) -> str:
    """The sentence for one kind of validation failure."""
    if kind in _MESSAGES:
        return _MESSAGES[kind]
    if kind in {"greater_than_equal", "greater_than"}:
        limit = _shown(context.get("ge", context.get("gt")))
        return f"This must be {limit} or more." if "ge" in context else f"Must be above {limit}."
    if kind in {"less_than_equal", "less_than"}:
        limit = _shown(context.get("le", context.get("lt")))
        return f"This must be {limit} or less." if "le" in context else f"Must be below {limit}."
    if kind in {"literal_error", "union_tag_invalid"}:
        options = context.get("expected") or context.get("expected_tags") or ""
        return f"Choose one of {options}."
    if kind == "string_too_long":
        return f"Keep this to {context.get('max_length')} characters."
    if kind == "string_pattern_mismatch":
        hints = (h for part, h in _PATTERN_HINTS if part in str(context.get("pattern")))
        return next(hints, "This is not written in the form expected here.")
    if kind == "too_long":
        return f"At most {context.get('max_length')} entries are possible here."
    if kind == "too_short":
        least = context.get("min_length")
        return f"At least {least} {'entry is' if least == 1 else 'entries are'} needed here."
    if kind == "value_error":
        return str(context.get("error", fallback))
    return fallback


def _with_point(number: str) -> str:
    """A number whose comma is a decimal mark, with a point; one that groups thousands as it is."""
    return number if GROUPED.fullmatch(number) else number.replace(",", ".")


def problems_in(error: ValidationError) -> tuple[Problem, ...]:
    """Every problem in a validation error, with the dotted path of its field."""
    found: list[Problem] = []
    for item in error.errors(include_url=False):
        context = item.get("ctx", {})
        if item["type"] == "site":
            found.extend(context["problems"])
            continue
        field = ".".join(str(step) for step in item["loc"])
        kind = item["type"]
        if kind == "too_long" and isinstance(item["input"], str):
            kind = "string_too_long"
        message = message_for(kind, context, item["msg"])
        if kind in PARSED and (alone := _WITH_UNIT.match(str(item["input"]))):
            message = f"Write the number alone, without its unit: {_with_point(alone[1])}."
        if kind in BOUNDS and (both := permitted(error.title, item["loc"])):
            message = f"{message[:-1]}; {both} is permitted."
        found.append(Problem(field, message))
    return tuple(found)
