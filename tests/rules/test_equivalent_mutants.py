"""Each listed mutant changes a line that its function still has."""

from __future__ import annotations

import inspect
import tomllib
from pathlib import Path
from pkgutil import resolve_name

import pytest

FILE = Path(__file__).with_name("equivalent_mutants.toml")
LISTED = tomllib.loads(FILE.read_text(encoding="utf-8"))["mutant"]


def tight(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("entry", LISTED, ids=lambda e: f"{e['function']} {e['now']}")
def test_a_listed_mutant_is_of_a_line_that_is_there(entry):
    name = entry["function"].rpartition(".")[2]
    function = inspect.unwrap(resolve_name(entry["function"]))
    source = inspect.getsource(getattr(function, "py_func", function)).replace(f"def {name}", "def")
    assert tight(entry["was"]) in tight(source)
    assert tight(entry["now"]) not in tight(source)
    assert entry["why"]
