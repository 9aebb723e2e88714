from __future__ import annotations

import json
import re
import select
import signal
import socket
import sys
import urllib.request

import pytest

from server import serving
from server.paths import DEMOS
from server.settings import Settings
from tests.processes import free_port, started


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch, database_url):
    monkeypatch.setenv("THREEBUS_DATABASE", database_url)
    for name in ("THREEBUS_HOST", "THREEBUS_PORT"):
        monkeypatch.delenv(name, raising=False)


def test_bare_it_serves_the_demos_at_the_address_it_prints():
    process = started("--port", str(free_port()))
    try:
        line = process.stdout.readline()
        address = re.search(r"http://\S+:\d+", line)[0]
        with urllib.request.urlopen(f"{address}/sites", timeout=30) as page:
            assert "Tansy Bank Flower Farm" in page.read().decode()
        with urllib.request.urlopen(f"{address}/api/v1/sites", timeout=30) as answer:
            assert len(json.load(answer)) == len(list(DEMOS.glob("*.json")))
    finally:
        process.send_signal(signal.SIGINT)
        out, errors = process.communicate(timeout=30)
    assert "Traceback" not in out + errors


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
@pytest.mark.parametrize("told", [signal.SIGINT, signal.SIGTERM])
def test_told_to_stop_it_ends_though_long_work_is_under_way(told: signal.Signals):
    port = free_port()
    process = started("--port", str(port))
    asking: list[socket.socket] = []
    try:
        assert str(port) in process.stdout.readline()
        base = f"http://127.0.0.1:{port}/api/v1/sites"
        with urllib.request.urlopen(base, timeout=60) as answer:
            site_id = json.load(answer)[0]["id"]
        run = f"/api/v1/sites/{site_id}/scenarios/three-day-shutoff/run?draws="
        head = f"HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n"
        for seed in range(6):
            asking.append(socket.create_connection(("127.0.0.1", port), timeout=120))
            asking[-1].sendall(f"GET {run}1000&seed={seed} {head}".encode())
        # Five are taken in, and the one that is refused answers first.
        refused, _, _ = select.select(asking, [], [], 120)
        assert [s.recv(12) for s in refused] == [b"HTTP/1.1 503"]
        process.send_signal(told)
        out, errors = process.communicate(timeout=30)
    finally:
        for one in asking:
            one.close()
        process.kill()
        process.communicate()
    assert process.returncode in {130, -told}
    assert "Traceback" not in out + errors


def test_without_demos_it_serves_no_site():
    process = started("--no-demos", THREEBUS_PORT=str(free_port()))
    try:
        address = re.search(r"http://\S+:\d+", process.stdout.readline())[0]
        with urllib.request.urlopen(f"{address}/api/v1/sites", timeout=30) as answer:
            assert json.load(answer) == []
    finally:
        process.terminate()
        process.communicate(timeout=30)


@pytest.mark.parametrize("host", ["127.0.0.2", "::1", "[::1]", "localhost"])
def test_every_loopback_address_it_listens_on_answers(host):
    process = started("--no-demos", "--host", host, "--port", str(free_port()))
    try:
        line = process.stdout.readline()
        if not line:
            assert "This computer has no address ::1" in process.stderr.read()
            return
        address = re.search(r"http://\S+:\d+", line)[0]
        with urllib.request.urlopen(f"{address}/api/v1/sites", timeout=30) as answer:
            assert json.load(answer) == []
    finally:
        process.terminate()
        process.communicate(timeout=30)


def test_an_interrupt_that_is_raised_by_nobody_ends_it_all_the_same(monkeypatch, database_url):
    left = []

    def told_to_stop(server, sockets):
        server.started = True

    monkeypatch.setattr(serving._Server, "run", told_to_stop)
    monkeypatch.setattr(serving, "_leave_at_once", lambda: left.append(True))
    serving.serve(Settings(database_url, port=free_port(), load_demos=False, warm_up=False))
    assert left == [True]
