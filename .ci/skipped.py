"""Fails when a test report holds a skipped test, or no test at all.

python3 .ci/skipped.py REPORT.xml
"""

from __future__ import annotations

import sys
from pathlib import Path
from xml.etree import ElementTree as ET


def main() -> None:
    """Read the report pytest has just written."""
    report = ET.parse(Path(sys.argv[1]))  # noqa: S314 - written by our own tests
    cases = list(report.iter("testcase"))
    skipped = [
        f"{case.get('classname')}::{case.get('name')}"
        for case in cases
        if case.find("skipped") is not None
    ]
    if skipped or not cases:
        sys.exit("\n".join(["Skipped, so not tested:", *skipped]) if skipped else "No test ran.")
    print(f"{len(cases)} tests, none skipped")


if __name__ == "__main__":
    main()
