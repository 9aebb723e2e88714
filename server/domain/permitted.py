"""The permitted range of a field, for messages about a value outside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from server.domain.base import Part

Schema = dict[str, Any]


def permitted(title: str, path: Sequence[str | int]) -> str:
    """The range of a field of the part of this title, such as ``0.1 to 6000``; else empty.

    Empty also where one end is open. ``path`` is as pydantic gives it: names, indices of a list and
    tags of a union.
    """
    whole = _schema(title)
    here = [whole] if whole is not None else []
    for step in path:
        here = [below for one in here for below in _below(whole or {}, one, step)]
    for one in here:
        for schema in _every(whole or {}, one):
            above = "exclusiveMinimum" in schema
            low = schema.get("exclusiveMinimum", schema.get("minimum"))
            high = schema.get("maximum")
            if low is not None and high is not None:
                return f"{'above ' if above else ''}{low:,.10g} to {high:,.10g}"
    return ""


@cache
def _schema(title: str) -> Schema | None:
    found = [one for one in _parts(Part) if one.__name__ == title]
    return found[0].model_json_schema() if len(found) == 1 else None


def _parts(base: type[Part]) -> Iterator[type[Part]]:
    for one in base.__subclasses__():
        yield one
        yield from _parts(one)


def _below(whole: Schema, schema: Schema, step: str | int) -> Iterator[Schema]:
    """What a step leads to: a field, an item of a list, or for a tag the branches themselves."""
    branches = list(_every(whole, schema))
    fields = [b["properties"][step] for b in branches if step in b.get("properties", {})]
    if fields:
        yield from fields
    elif isinstance(step, int):
        for branch in branches:
            if "items" in branch:
                yield branch["items"]
            elif "prefixItems" in branch:
                yield branch["prefixItems"][min(step, len(branch["prefixItems"]) - 1)]
    else:
        yield from branches


def _every(whole: Schema, schema: Schema) -> Iterator[Schema]:
    """A schema with its reference followed, and each branch of a union."""
    if "$ref" in schema:
        yield from _every(whole, whole["$defs"][schema["$ref"].rpartition("/")[2]])
        return
    branches = [*schema.get("anyOf", ()), *schema.get("oneOf", ()), *schema.get("allOf", ())]
    if not branches:
        yield schema
    for branch in branches:
        yield from _every(whole, branch)
