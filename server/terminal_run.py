"""One run of a scenario for the terminal, printed or as JSON."""

from __future__ import annotations

import json
import sys

from server.advise.advice import advice_on, judged
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.advise.views import relief_answer
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.rules.hazards import hazards
from server.simulate.run import simulate
from server.simulate.summary import summary
from server.terminal import print_run


def run_once(
    site: Site,
    scenario: Scenario,
    *,
    seed: int | None,
    as_json: bool,
    every: bool,
    relief: bool,
    others: tuple[str, ...],
) -> bool:
    """Run a scenario and print it; whether it fits. ``others`` are scenarios that are not run."""
    run = simulate(site, scenario, seed=seed)
    found = hazards(site)
    advice = advice_on(run)
    tried = (relief_of(site, scenario, "", seed), next_step(site, scenario)) if relief else None
    if as_json:
        extra = relief_answer(*tried).model_dump(mode="json") if tried else {}
        text = json.dumps(
            summary(run, hazards=found, advice=advice) | extra,
            ensure_ascii=False,
            indent=2,
            allow_nan=False,
        )
        sys.stdout.buffer.write(text.encode() + b"\n")
        sys.stdout.flush()
    else:
        print_run(
            run,
            hazards=(*found, *advice.findings),
            advice=advice,
            others=others,
            every=every,
            tried=tried,
        )
    return judged(run).fits
