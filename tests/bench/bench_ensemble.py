"""How long many draws take: ``python -m tests.bench.bench_ensemble [DRAWS]``.

Seven days at one minute of 60 appliances, 1,000 draws unless told otherwise: seconds by the clock
and of both processors, and the most memory held.
"""

from __future__ import annotations

import resource
import sys
import time
from datetime import timedelta

from server.domain.scenario import Window
from server.simulate.ensemble import run_draws
from tests.bench.bench_simulate import busy_site
from tests.builders import START, scenario


def main(count: int = 1000) -> None:
    """Print the figures."""
    site = busy_site()
    week = scenario(
        "week", span_h=168, outages=(Window(start=START, end=START + timedelta(hours=60)),)
    )
    run_draws(site, week, draws=range(4))
    clock, processors = time.perf_counter(), time.process_time()
    run_draws(site, week, draws=range(count))
    clock, processors = time.perf_counter() - clock, time.process_time() - processors
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{count} draws of 60 appliances, 7 days: {clock:.2f} s by the clock")
    print(f"{count} draws of 60 appliances, 7 days: {processors:.2f} s of processors")
    print(f"one draw on one processor: {1000 * processors / count:.2f} ms")
    print(f"most memory held: {held:.0f} MB")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:]))
