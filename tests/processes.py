"""The planner as a process of its own."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

import server

ROOT = Path(server.__file__).parents[1]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def started(*arguments: str, **environment: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", "from server.cli import main; main()", *arguments],
        cwd=ROOT,
        env=os.environ | environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
