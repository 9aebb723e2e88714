"""A check by the published rules as text for an 80-column terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from server.domain.cautions import CODE_CAUTIONS
from server.domain.site import Site
from server.rules.check import CheckReport
from server.rules.demand.held import held_a, holds
from server.rules.wiring.feeder import governing
from server.terminal import WIDTH, Sayer

HELD = (
    "In amperes: leg is the heavier one; held, what is held against the rating, with 25 % more of "
    "what runs three hours or longer unless a generator or a device listed for all of its rating "
    "carries it; next, the next standard rating; max, the rating, or that of the device ahead "
    "where it is less."
)


def print_check(site: Site, report: CheckReport) -> None:
    """Print the demand of every element, every finding, and what is still to be told."""
    console = Console(width=WIDTH, highlight=False, emoji=False, markup=False, soft_wrap=False)
    say = Sayer(console)
    say(site.name, style="bold")
    say(report.edition_title)
    if report.provisional:
        say("Provisional: this edition was not yet seen in print.")
    say()
    console.print(_table(site, report))
    say(HELD)
    for finding in report.findings:
        say()
        say(
            f"{finding.severity.capitalize()}: {finding.text}",
            style="" if finding.severity == "note" else "bold",
        )
        say(f"{finding.why} {finding.mend}".strip())
        if finding.sign:
            say("The sign: " + finding.sign.text.replace("\n", " / "))
            say(finding.sign.note)
        if finding.recheck is not None:
            say(finding.recheck.said)
        say(f"Who mends it: {finding.who} ({finding.rule})" if finding.who else finding.rule)
    if report.missing:
        say()
        say("Still to be told: " + " ".join(report.missing))
    say()
    counts = [sum(f.severity == s for f in report.findings) for s in ("blocking", "warning")]
    say(f"{counts[0]} blocking, {counts[1]} warning, {len(report.findings)} findings in all.")
    say()
    for caution in CODE_CAUTIONS:
        say(str(caution))


def _table(site: Site, report: CheckReport) -> Table:
    table = Table(box=None, pad_edge=False, width=WIDTH)
    table.add_column("Calculated demand")
    table.add_column("Method")
    for head in ("VA", "Leg", "Held", "Next", "Max"):
        table.add_column(head, justify="right", no_wrap=True)
    for element in report.demand:
        sheet = governing(element)
        rating = "-" if sheet.existing_a is None else f"{sheet.existing_a:.0f}"
        table.add_row(
            element.name,
            sheet.method,
            f"{sheet.total_va:,.0f}",
            f"{sheet.leg_a:.1f}",
            f"{held_a(site, element, sheet):.1f}",
            "none" if sheet.standard_a is None else f"{sheet.standard_a:g}",
            rating,
            style="bold red" if holds(site, element, sheet) is False else "",
        )
    return table
