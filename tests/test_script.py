"""What the README promises to a script: each call there gives what is printed beside it."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def test_the_calls_of_the_readme_give_what_it_prints():
    (block,) = re.findall(r"^```python\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)
    test = doctest.DocTestParser().get_doctest(block, {}, "README.md", "README.md", 0)
    assert {"voltage_drop", "trade_sizes", "size_pieces", "standard"} <= set(
        re.findall(r"(\w+)\(", block)
    )
    said: list[str] = []
    results = doctest.DocTestRunner().run(test, out=said.append)
    assert results.attempted > 12
    assert not results.failed, "".join(said)
