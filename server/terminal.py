"""A run as text for an 80-column terminal."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import get_args

from rich.console import Console
from rich.table import Table
from rich.text import Text

from server.advise.advice import Advice
from server.advise.relief import Relief
from server.advise.starts import SetStarts
from server.advise.step import NextStep
from server.advise.trips import Trip
from server.advise.volts import PanelVolts
from server.domain.finding import Finding, Severity
from server.domain.lengths import battery_words, dark_words, span_words
from server.domain.scenario import Scenario
from server.domain.site import Site
from server.simulate.harms import harms
from server.simulate.must_serve import MustServeDark, must_serve
from server.simulate.results import CircuitService, LegPeak, LimitResult, Run
from server.simulate.summary import cautions_of, who_at_peak
from server.simulate.verdict import moment

WIDTH = 80
SHOWN_APPLIANCES = 8
SHORT_MIN = 5.0

_SEVERITIES: tuple[Severity, ...] = get_args(Severity)
_STYLES = {"over": "bold red", "close": "", "within": ""}


def print_run(
    run: Run,
    *,
    hazards: Sequence[Finding] = (),
    advice: Advice | None = None,
    others: Sequence[str] = (),
    every: bool = False,
    tried: tuple[Relief | None, NextStep] | None = None,
) -> None:
    """Print a run: its limits, its worst minute, what fell short, the verdict, the cautions.

    Branch breakers are listed only when close or over, unless ``every``. ``others`` are scenarios
    of the file that were not run; ``tried`` is what would relieve the worst limit.
    """
    console = Console(width=WIDTH, highlight=False, emoji=False, markup=False, soft_wrap=False)
    say = Sayer(console)
    print_head(say, run.site, run.scenario, f"seed {run.seed}")
    listed = [r for r in run.limits if every or _is_listed(r)]
    console.print(_table(listed))
    quiet = len(run.limits) - len(listed)
    if quiet:
        breakers = "1 branch breaker is" if quiet == 1 else f"{quiet} branch breakers are"
        say(f"{breakers} at 80 % of the rating or less; --all lists them.")
    _worst_minute(run, say)
    _short_falls(run, say)
    if advice is not None:
        _trips(advice.trips, say)
        _starts(advice.starts, say)
        _volts(advice.volts, say)
    _must_serve(must_serve(run).dark, say)
    _harms(run, say)
    for finding in _found((*hazards, *run.findings)):
        say()
        say(f"{finding.severity.capitalize()}: {finding.text} {finding.mend}")
    say()
    doubt = advice.doubt if advice is not None else ""
    provided = advice.provided if advice is not None else ""
    verdict = run.verdict.also(advice.short if advice is not None else ())
    say(verdict.said(provided), style="bold" if verdict.fits else "bold red")
    if doubt:
        say(doubt)
    say(verdict.detail)
    if tried:
        _relief(*tried, say)
    if others:
        say()
        say(f"Not run: {', '.join(others)}. Name one with --scenario.")
    say()
    for caution in cautions_of(run):
        say(str(caution))


def _found(findings: Sequence[Finding]) -> list[Finding]:
    """Each once, blocking first and notes last."""
    once = {(f.code, f.element_id, f.text): f for f in findings}
    return sorted(once.values(), key=lambda f: _SEVERITIES.index(f.severity))


def print_head(say: Sayer, site: Site, scenario: Scenario, draws: str) -> None:
    """Print which site and scenario it is, and which of its draws."""
    say(site.name, style="bold")
    say(
        f"{scenario.name}, {scenario.span_h:g} h from {moment(scenario.start)} in steps of "
        f"{scenario.step_s} s, {draws}"
    )
    say()


def _relief(relief: Relief | None, step: NextStep, say: Sayer) -> None:
    say()
    if relief is None:
        say("Nothing draws power in this run, so there is nothing to relieve.")
    else:
        say("What would relieve it:", style="bold")
        say(relief.sentence)
        for one in relief.candidates[:SHOWN_APPLIANCES]:
            costs = "; ".join((*one.broken, *one.gaps, *one.harmed))
            but = f", but then too much or too little for {costs}" if costs else ""
            say(f"  {one.peak_a:6.1f} A  {one.words}{but}")
        say()
    say(f"Next: {step.sentence}")
    if step.caution:
        say(step.caution)


class Sayer:
    """Prints text wrapped to the width."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def __call__(self, text: str = "", *, style: str = "", indent: int = 0) -> None:
        """Print one paragraph, its further lines set in by ``indent``."""
        lines = wrap(text, WIDTH, subsequent_indent=" " * indent)
        for line in lines or [""]:
            self._console.print(Text(line, style=style))


def _is_listed(result: LimitResult) -> bool:
    return result.point.kind != "circuit_breaker" or result.status != "within"


def _table(results: Sequence[LimitResult]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold", width=WIDTH)
    table.add_column("Limit", ratio=1, overflow="fold")
    for head in ("L1 A", "L2 A", "Limit A", "%", "Over, min"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("", no_wrap=True, min_width=5)
    for result in results:
        legs = result.legs
        amps = [f"{leg.peak_a:.1f}" for leg in legs]
        if result.point.kind == "feeder_neutral":
            amps = [f"N {legs[0].peak_a:.1f}", ""]
        table.add_row(
            result.point.name,
            *amps,
            f"{result.point.leg_rating_a:.1f}",
            percent_words(result.worst.percent),
            minutes_words(max(leg.minutes_over_100 for leg in legs)),
            "" if result.status == "within" else result.status,
            style=_STYLES[result.status],
        )
    return table


def percent_words(percent: float) -> str:
    """Per cent of a limit, whole; anything past 100 reads as more than 100.

    >>> percent_words(99.7), percent_words(100.0), percent_words(100.2)
    ('100', '100', '101')
    """
    return str(101 if 100.0 < percent < 101.0 else round(percent))


def minutes_words(minutes: float) -> str:
    """Minutes over a limit, whole.

    >>> minutes_words(0), minutes_words(0.4), minutes_words(12)
    ('0', '<1', '12')
    """
    return "<1" if 0 < minutes < 0.5 else f"{minutes:.0f}"


def _worst_minute(run: Run, say: Sayer) -> None:
    worst = run.verdict.worst
    if worst is None or not worst.worst.peak_a:
        return
    peak = worst.worst
    say()
    say(
        f"Worst minute: {moment(peak.at)}, {worst.point.name}, {peak.leg} at {peak.peak_a:.1f} A "
        f"of {worst.point.leg_rating_a:.1f} A ({percent_words(peak.percent)} %)",
        style="bold",
    )
    _who(run, worst, peak, say)


def _who(run: Run, result: LimitResult, peak: LegPeak, say: Sayer) -> None:
    on = who_at_peak(run, result.point, peak)
    for one in on[:SHOWN_APPLIANCES]:
        where = "" if one.circuit_name in {"", one.appliance_name} else f", {one.circuit_name}"
        say(f"{one.amps_a:8.1f} A  {one.appliance_name}{where}")
    rest = on[SHOWN_APPLIANCES:]
    if rest:
        say(f"{sum(one.amps_a for one in rest):8.1f} A  {len(rest)} more")


def _trips(found: Sequence[Trip], say: Sayer) -> None:
    if found:
        say()
        say("Breakers past their rating:", style="bold")
    for one in found:
        what = "trips by" if one.answer == "must" else "may trip from"
        latest = " at the latest" if one.answer == "must" else " on, or hold"
        say(
            f"  {one.name} {one.leg}, {100.0 * one.multiple:.0f} % of {one.rating_a:g} A: {what} "
            f"{moment(one.at)}{latest}"
        )


def _starts(found: Sequence[SetStarts], say: Sayer) -> None:
    for one in found:
        if one.worst is not None:
            start = one.worst
            together = "together " if len(start.motors) > 1 else ""
            say()
            say(
                f"Hardest start on {one.name}: {together}{start.names}, {start.kva:.1f} kVA, volts "
                f"dip {100.0 * start.dip:.0f} %."
            )


def _must_serve(found: Sequence[MustServeDark], say: Sayer) -> None:
    if found:
        say()
        say("Must-serve circuits without power:", style="bold")
    for one in found:
        dark = dark_words(one.longest_min, one.dark_min, one.drawn_min, in_use_only=one.in_use_only)
        mark = f", longer than the {span_words(one.bears_min)} it can wait" * one.too_long
        if mark and one.battery_min:
            mark += f", {battery_words(one.battery_min)}"
        say(
            f"  {one.device or one.name}: {dark}{one.while_words}"
            f"{f', {one.since_words}' * bool(one.why)}{mark}; first "
            f"{one.hours:.1f} h into the outage, {moment(one.first_at)}",
            indent=4,
        )


def _harms(run: Run, say: Sayer) -> None:
    found = harms(run)
    if found:
        say()
        say("Hours into the outage until harm:", style="bold")
    for harm in found:
        if harm.at is not None and harm.hours is not None:
            before = "before " if run.scenario.stood_before(harm.at) else ""
            say(f"{harm.hours:8.1f}  {harm.what}, {before}{moment(harm.at)}", indent=10)
            say(f"          {harm.why}.", indent=10)
    quiet = [f"{h.what} ({h.nearest})" for h in found if not h.reached]
    if quiet:
        say(f"Not reached in this run: {'; '.join(quiet)}.")


def _volts(found: Sequence[PanelVolts], say: Sayer) -> None:
    if found:
        one = found[0]
        say()
        say(
            f"Lowest volts: {one.volts_v:.1f} V at {one.name} {one.where}, fed by {one.source}; "
            f"{100.0 * one.share_lost:.1f} % lost on the way, at {moment(one.at)}."
        )
        if one.unmeasured:
            say(f"Without a length and wire, so it may be lower: {', '.join(one.unmeasured)}.")


def _short_fall(circuit: CircuitService) -> str:
    """Minutes that were wanted and not given, then the dark ones, which may be wanted or not."""
    wanted = "wanted no power while it had none"
    if circuit.unserved_min > 0.0:
        wanted = f"wanted power and got none for {span_words(circuit.unserved_min)}"
    if circuit.dark_min <= 0.0:
        return f"{wanted}; never dark"
    mark = ", longer than it can wait" if circuit.gap_exceeded else ""
    dark = dark_words(
        circuit.longest_gap_min,
        circuit.dark_min,
        circuit.drawn_min,
        in_use_only=circuit.in_use_only,
    )
    how = "" if circuit.in_use_only else ", wanted or not,"
    return f"{wanted}; dark{how} for {dark}{circuit.while_words}{mark}"


def _short_falls(run: Run, say: Sayer) -> None:
    unserved = [c for c in run.service if c.unserved_min > 0 or c.gap_exceeded]
    listed = [c for c in unserved if c.unserved_min >= SHORT_MIN or c.gap_exceeded]
    if unserved:
        say()
        say("Wanted power and got none, or dark longer than it can wait:", style="bold")
    for circuit in listed:
        say(f"  {circuit.name}: {_short_fall(circuit)}")
    brief = len(unserved) - len(listed)
    if brief:
        circuits = "1 circuit" if brief == 1 else f"{brief} circuits"
        say(f"  {circuits} for less than {SHORT_MIN:g} min, as while a generator starts")
    held = [c for c in run.service if c.times_held]
    if held:
        say()
        say("Held off by a load manager:", style="bold")
    for circuit in held:
        times = "once" if circuit.times_held == 1 else f"{circuit.times_held} times"
        say(f"  {circuit.name}: {times}, {span_words(circuit.held_min)}")
    for source in run.sources:
        if source.kind == "generator" and source.run_h > 0:
            fuel = source.fuel_used
            guess = " (a guess: fewer than three points of its sheet)" if source.fuel_guess else ""
            burned = f", {fuel.value:.1f} {fuel.unit} of fuel{guess}" if fuel else ""
            say()
            say(f"{source.name}: {source.run_h:.1f} h, {source.in_kwh:.1f} kWh{burned}.")
