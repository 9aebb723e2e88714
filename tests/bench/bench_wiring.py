"""How soon the wiring bench answers: ``python -m tests.bench.bench_wiring [--rounds N]``.

Times the function and the page fragment that a person waits for, over runs of six segments, many
lengths, loads, metals and editions, no two alike. Prints the median and the 95th percentile of both
and exits 1 where a 95th percentile is 50 ms or more. The computer must have nothing else to do.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import islice, product
from pathlib import Path
from statistics import median, quantiles

from fastapi.testclient import TestClient

from server.app import create_app
from server.domain.site import CodeEdition
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.editions import EDITIONS, rulebook
from server.rules.tables import METALS, Metal
from server.rules.wiring.piece import MOST_PIECES, Piece
from server.rules.wiring.pieces import size_pieces
from server.rules.wiring.raceway import Wires
from server.rules.wiring.run import Run
from server.settings import Settings

MOST_MS = 50.0
PARTIAL = {"HX-Request": "true", "HX-Request-Type": "partial"}


def cases() -> Iterator[tuple[CodeEdition, float, float, Metal]]:
    """Edition, feet, amps and metal, none twice."""
    yield from product(EDITIONS, (35.0, 150.0, 280.0, 640.0), (18.0, 40.0, 96.0, 150.0), METALS)


def of_the_function(rounds: int) -> list[float]:
    """Milliseconds of each answer of the function."""
    took = []
    for edition, run_ft, load_a, metal in islice(cases(), rounds):
        run = Run(0, load_a, neutral_a=load_a / 2, start_a=4 * load_a, drop_share=0.05)
        sets = 2 if load_a >= 96 else 1
        also = (Wires("12", 6),)
        pieces = [
            Piece(run_ft / MOST_PIECES + at, metal=metal, sets=sets, also=also)
            for at in range(MOST_PIECES)
        ]
        begin = time.perf_counter()
        size_pieces(run, pieces, rulebook(edition))
        took.append(1000.0 * (time.perf_counter() - begin))
    return took


def of_the_page(rounds: int) -> list[float]:
    """Milliseconds of each answer of the page, as its fragment comes back."""
    took = []
    with tempfile.TemporaryDirectory() as folder:
        planner = create_app(
            Settings(f"sqlite:///{Path(folder) / 'bench.db'}", load_demos=False, warm_up=False)
        )
        site = read_site_file((DEMOS / "flower-farm.json").read_bytes())
        site_id = planner.state.store.create(site).id
        with TestClient(planner, base_url="http://127.0.0.1:8400") as browser:
            for edition in EDITIONS:
                # The bench is open before anybody types into it.
                browser.get(f"/sites/{site_id}/wiring/bench", params={"edition": edition})
            for edition, run_ft, load_a, metal in islice(cases(), rounds):
                typed = {
                    "edition": edition,
                    "noncontinuous_a": f"{load_a:g}",
                    "neutral_a": f"{load_a / 2:g}",
                    "start_a": f"{4 * load_a:g}",
                    "drop_percent": "5",
                    "also.0.count": "6",
                    "also.0.size": "12",
                }
                for at in range(MOST_PIECES):
                    typed |= {
                        f"pieces.{at}.run_ft": f"{run_ft / MOST_PIECES + at:g}",
                        f"pieces.{at}.metal": metal,
                        f"pieces.{at}.sets": "2" if load_a >= 96 else "1",
                        f"pieces.{at}.kind": ("pvc40", "emt", "rmc")[at % 3],
                        f"pieces.{at}.bends": "90 90 45 90 90",
                    }
                begin = time.perf_counter()
                answer = browser.get(
                    f"/sites/{site_id}/wiring/bench", params=typed, headers=PARTIAL
                )
                took.append(1000.0 * (time.perf_counter() - begin))
                if answer.status_code != 200 or 'class="lead"' not in answer.text:
                    raise SystemExit(f"No answer for {typed}.")
    return took


def main() -> None:
    """Print the figures; exit 1 where one is past 50 ms."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=128)
    rounds = parser.parse_args().rounds
    of_the_function(8)
    late = False
    for name, took in (("function", of_the_function(rounds)), ("page", of_the_page(rounds))):
        p95 = quantiles(took, n=20)[-1]
        late = late or p95 >= MOST_MS
        print(f"wiring bench, {name:8s}: median {median(took):5.1f} ms, p95 {p95:5.1f} ms")
    sys.exit(1 if late else 0)


if __name__ == "__main__":
    main()
