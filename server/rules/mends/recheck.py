"""Every finding with its mend worked in and the site checked again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from server.domain.circuit import Circuit
from server.domain.errors import ThreebusError
from server.domain.finding import Finding, Recheck
from server.domain.site import Site
from server.domain.topology import generator_can_energise
from server.rules.editions import Rulebook
from server.rules.hazard_table import SEVERITIES
from server.rules.mends.branches import BRANCH_MENDS
from server.rules.mends.house_panel import HOUSE_PANEL_MENDS
from server.rules.mends.loads import LOAD_MENDS
from server.rules.mends.offer import Maker, Offer
from server.rules.mends.supply import SUPPLY_MENDS
from server.rules.mends.wire import WIRE_MENDS
from server.rules.words import listed

MENDS: dict[str, Maker] = {
    **BRANCH_MENDS,
    **HOUSE_PANEL_MENDS,
    **LOAD_MENDS,
    **SUPPLY_MENDS,
    **WIRE_MENDS,
}
MOST_OFFERS = 3
OF_THE_MEND = frozenset({"manager-not-fitted"})
"""Findings that say only that a mend is planned: whoever offers one says so himself."""

FEWEST_CHECKS, MOST_CHECKS, CIRCUITS_CHECKED = 12, 200, 6_000
"""Copies checked again: so many circuits in all, some seconds’ work; common practice, no source."""

Check = Callable[[Site], tuple[Finding, ...]]


def rechecked(
    site: Site, findings: tuple[Finding, ...], *, check: Check, rules: Rulebook
) -> tuple[Finding, ...]:
    """The findings, each with what its mend leads to where the site can be changed by it.

    Parameters
    ----------
    check : callable   Findings of a changed site by the same edition and answers.

    A site of many circuits is not checked again without end: from where :func:`most_checks` are
    made, a finding with a mend says that it was not tried.
    """
    known: dict[Site, tuple[Finding, ...]] = {}  # by the site: two parts may share a name
    most = most_checks(site)

    def once(offer: Offer) -> tuple[Finding, ...]:
        if offer.site not in known:
            known[offer.site] = check(offer.site)
        return known[offer.site]

    def told(finding: Finding) -> Finding:
        if len(known) < most:
            return _with_recheck(site, finding, findings, once, rules)
        return replace(finding, recheck=_untried(most)) if finding.code in MENDS else finding

    return tuple(told(f) for f in findings)


def most_checks(site: Site) -> int:
    """How many changed copies of a site are checked before the rest is left untried.

    >>> [most_checks(Site(name="Bare"))]
    [200]
    """
    wanted = CIRCUITS_CHECKED // max(len(site.circuits), 1)
    return min(max(wanted, FEWEST_CHECKS), MOST_CHECKS)


def _untried(most: int) -> Recheck:
    said = (
        f"Not tried: in a house of this size {most} changes are tried, those of the first findings."
    )
    return Recheck("", False, 0, (), said)


def offers(site: Site, finding: Finding, rules: Rulebook) -> tuple[Offer, ...]:
    """Ways to mend a finding that can be worked into the site; empty where a person must look."""
    maker = MENDS.get(finding.code)
    found: list[Offer] = []
    if maker is None:
        return ()
    making = maker(site, finding, rules)
    while len(found) < MOST_OFFERS:
        try:
            found.append(next(making))
        except (StopIteration, ThreebusError):
            break
    return tuple(found)


def _with_recheck(
    site: Site,
    finding: Finding,
    before: tuple[Finding, ...],
    check: Callable[[Offer], tuple[Finding, ...]],
    rules: Rulebook,
) -> Finding:
    best: tuple[int, Recheck] | None = None
    for offer in offers(site, finding, rules):
        after = check(offer)
        one = _and_dark(compared(offer.words, finding, before, after), site, offer.site)
        left = next((f for f in after if f.key == finding.key), None)
        harmless = not one.brings
        eased = left is not None and _eased(finding, left)
        rank = 3 * (one.clears and harmless) or 2 * (eased and harmless) or 1 * one.clears
        if best is None or rank > best[0]:
            best = (rank, one)
        if rank == 3:
            break
    return replace(finding, recheck=best[1] if best else None)


def _and_dark(one: Recheck, site: Site, then: Site) -> Recheck:
    """With what has no set behind it any more: findings are of the site, not of its outages."""
    fed = {c.id for c in site.circuits if _fed(site, c)}
    lost = [c.name for c in then.circuits if c.id in fed and not _fed(then, c)]
    if not lost:
        return one
    has = "has" if len(lost) == 1 else "have"
    dark = f"In an outage {listed(lost)} then {has} no power from a generator: see each scenario."
    return replace(one, said=f"{one.said} {dark}")


def _fed(site: Site, circuit: Circuit) -> bool:
    return generator_can_energise(site, circuit.panel_id)


def _eased(was: Finding, now: Finding) -> bool:
    """Whether no more than a note is left, for a person to look at."""
    return now.severity == "note" != was.severity


def compared(
    words: str, finding: Finding, before: Iterable[Finding], after: tuple[Finding, ...]
) -> Recheck:
    """What became of a finding, and of all others, with a change made."""
    old = {f.key: f for f in before}
    new = {f.key: f for f in after}
    left = new.get(finding.key)
    brings = tuple(
        f.text for key, f in new.items() if key != finding.key and _worse(f, old.get(key))
    )
    others = sum(
        key not in new and key != finding.key and f.severity != "note" for key, f in old.items()
    )
    said = f"Re-checked with {words}: "
    eased = left is not None and _eased(finding, left)
    if left is not None and eased:
        said += f"only a note is left. {left.mend}"
        said += " But: " + " ".join(brings) if brings else " No other finding is new or worse."
    elif left is not None:
        said += f"it still stands. {left.text}"
    else:
        said += "this finding is gone"
    if left is None:
        if others:
            said += f", and {others} more with it"
        said += (
            ", and no other finding is new or worse."
            if not brings
            else ", but: " + " ".join(brings)
        )
    return Recheck(words, left is None, others, brings, said)


def _worse(now: Finding, was: Finding | None) -> bool:
    """Whether a finding is new, graver, or farther past its limit. A new note is not worse."""
    if was is None:
        return now.severity != "note" and now.code not in OF_THE_MEND
    if SEVERITIES.index(now.severity) < SEVERITIES.index(was.severity):
        return True
    if None in (now.value, now.limit, was.value, was.limit) or now.severity == "note":
        return False
    return _past(now) > _past(was) + 1e-9


def _past(finding: Finding) -> float:
    """How far past its limit, as a ratio of one or more."""
    value, limit = max(finding.value or 0.0, 1e-9), max(finding.limit or 0.0, 1e-9)
    return max(value / limit, limit / value)
