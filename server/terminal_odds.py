"""Many draws of a scenario as text for an 80-column terminal, or as JSON."""

from __future__ import annotations

import sys

from rich.console import Console
from rich.table import Table

from server.advise.odds_gas import with_gas
from server.domain.cautions import result_cautions
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.chance import draws_words
from server.simulate.ensemble import run_draws
from server.simulate.odds import LimitOdds, Odds, odds_of
from server.simulate.odds_views import summarise_odds
from server.simulate.odds_words import odds_notes, odds_sentence
from server.simulate.run import simulate
from server.terminal import WIDTH, Sayer, print_head


def run_odds(
    site: Site, scenario: Scenario, *, draws: int, seed: int | None, as_json: bool, every: bool
) -> bool:
    """Run a scenario many times and print how likely things are; whether it held in every draw."""
    made = run_draws(site, scenario, draws=range(draws), seed=seed)
    odds = with_gas(odds_of(site, scenario, made, seed=seed), simulate(site, scenario, seed=seed))
    if as_json:
        text = summarise_odds(site, scenario, odds).model_dump_json(indent=2)
        sys.stdout.buffer.write(text.encode() + b"\n")
        sys.stdout.flush()
    else:
        print_odds(site, scenario, odds, every=every)
    return not odds.fails


def print_odds(site: Site, scenario: Scenario, odds: Odds, *, every: bool = False) -> None:
    """Print the odds of every limit, of fuel and of service, and the cautions.

    Branch breakers are listed only where a draw passes them or the 95th is over 80 %, unless
    ``every``.
    """
    console = Console(width=WIDTH, highlight=False, emoji=False, markup=False, soft_wrap=False)
    say = Sayer(console)
    print_head(say, site, scenario, f"{draws_words(odds.draws)} of seed {odds.seed}")
    listed = [r for r in odds.limits if every or _is_listed(r)]
    console.print(_table(listed))
    quiet = len(odds.limits) - len(listed)
    if quiet:
        breakers = "1 branch breaker is" if quiet == 1 else f"{quiet} branch breakers are"
        say(f"{breakers} at 80 % or less in 95 of 100 draws; --all lists them.")
    _settling(odds, say)
    for note in odds_notes(scenario, odds):
        say()
        say(note)
    say()
    say(
        odds_sentence(odds),
        style="bold red" if odds.fails else "bold",
    )
    say("Each draw has its own starts, draws of water and cycles.")
    say()
    for caution in result_cautions(site, scenario, over=odds.any_over.hits > 0):
        say(str(caution))


def _is_listed(one: LimitOdds) -> bool:
    return one.point.kind != "circuit_breaker" or one.crossed.hits > 0 or one.percent > 80.0


def _table(results: list[LimitOdds]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", width=WIDTH)
    table.add_column("Limit", ratio=1, overflow="fold")
    for head in ("Limit A", "", "Median", "95th", "Worst", "Passed"):
        table.add_column(head, justify="right", no_wrap=True)
    for one in results:
        leg = "N" if one.point.kind == "feeder_neutral" else one.worst_leg
        crossed = one.crossed
        table.add_row(
            one.point.name,
            f"{one.point.leg_rating_a:.1f}",
            leg,
            f"{one.worst.median:.1f}",
            f"{one.worst.p95:.1f}",
            f"{max(s.worst for s in one.legs):.1f}",
            f"{crossed.hits} of {crossed.draws}" if crossed.hits else "none",
            style="bold red" if crossed.hits else "",
        )
    return table


def _settling(odds: Odds, say: Sayer) -> None:
    found = odds.settling
    if found is None or len(found.draws) < 2:
        return
    name = odds.limit(found.point_id).point.name
    steps = ", ".join(f"{a:.1f} A after {n}" for n, a in zip(found.draws, found.p95_a, strict=True))
    say()
    say(f"How the 95th settles, {name}, {found.leg}: {steps}.")
