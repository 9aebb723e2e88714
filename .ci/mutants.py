"""Fails when the tests let too many changed lines of rules and physics through.

python3 .ci/mutants.py STATS.json
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

# Many mutants only change the words of a message, which no test should pin letter by letter.
SHARE_LEAST = 0.60


def main() -> None:
    """Read the figures of a finished mutation run."""
    stats = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    noticed = stats["killed"] + stats["timeout"] + stats["segfault"]
    share = noticed / max(1, stats["total"])
    print(f"{noticed} of {stats['total']} mutants noticed ({share:.0%})")
    print(f"{stats['survived']} survived, {stats['no_tests']} are reached by no test")
    if share < SHARE_LEAST:
        sys.exit(f"Fewer than {SHARE_LEAST:.0%} were noticed.")


if __name__ == "__main__":
    main()
