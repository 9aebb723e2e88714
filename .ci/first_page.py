"""Waits until a planner serves its first page with a demo site on it; finds a free port.

python3 .ci/first_page.py --free-port
python3 .ci/first_page.py --port N --within SECONDS --pid PID
"""

from __future__ import annotations

import argparse
import json
import os
import socket
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

DEMOS = Path(__file__).resolve().parent.parent / "server" / "demos"


def demo_names() -> list[str]:
    """Names of the demo sites, as their site files give them."""
    files = sorted(DEMOS.glob("*.json"))
    return [json.loads(file.read_text(encoding="utf-8"))["site"]["name"] for file in files]


def is_running(pid: int) -> bool:
    """Whether the process is there and has not ended."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
    return state != "Z"


def first_page(port: int, within_s: float, pid: int) -> str:
    """The first page, as soon as it is served.

    Raises
    ------
    SystemExit   When the planner ends, or does not answer in time.
    """
    address = f"http://127.0.0.1:{port}/"
    began = time.monotonic()
    while time.monotonic() - began < within_s:
        if not is_running(pid):
            sys.exit("The planner ended before it served a page.")
        try:
            with urllib.request.urlopen(address, timeout=10) as answer:
                page: str = answer.read().decode("utf-8")
                print(f"{answer.status} after {time.monotonic() - began:.1f} s from {address}")
                return page
        except urllib.error.HTTPError as error:
            sys.exit(f"The first page answered {error.code}.")
        except OSError:
            time.sleep(0.2)
    sys.exit(f"No page within {within_s:g} s.")


def main() -> None:
    """Read the arguments and do as they say."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--free-port", action="store_true")
    parser.add_argument("--port", type=int)
    parser.add_argument("--within", type=float, default=60.0)
    parser.add_argument("--pid", type=int)
    given = parser.parse_args()
    if given.free_port:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            print(probe.getsockname()[1])
        return
    names = demo_names()
    page = first_page(given.port, given.within, given.pid)
    absent = [name for name in names if name not in page]
    if absent or not names:
        sys.exit(f"The first page does not name these demo sites: {absent or 'there are none'}.")
    print(f"It names {', '.join(names)}.")


if __name__ == "__main__":
    main()
