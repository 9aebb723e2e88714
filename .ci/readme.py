"""Prints one of the README's two set-up commands, so that CI runs what people are told to run.

python3 .ci/readme.py start | test
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

README = Path(__file__).resolve().parent.parent / "README.md"
ORDER = ("start", "test")


def commands(readme: str) -> list[str]:
    """The commands of the section "Set up", one for each fenced block."""
    section = re.search(r"^## Set up\n(.*?)(?=^## )", readme, re.DOTALL | re.MULTILINE)
    if section is None:
        return []
    blocks = re.findall(r"^```sh\n(.*?)^```", section.group(1), re.DOTALL | re.MULTILINE)
    return [" ".join(block.replace("\\\n", " ").split()) for block in blocks]


if __name__ == "__main__":
    found = commands(README.read_text(encoding="utf-8"))
    if len(found) != len(ORDER):
        sys.exit(f"The README's section 'Set up' holds {len(found)} commands instead of two.")
    print(found[ORDER.index(sys.argv[1])])
