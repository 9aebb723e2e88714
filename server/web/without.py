"""Which circuits a run leaves without power they ask for, and for how long, said plainly."""

from __future__ import annotations

from dataclasses import dataclass

from server.advise.advice import advice_on, judged
from server.advise.plan_ahead import dark_throughout
from server.domain.topology import BusKind, bus_of_circuit, generator_can_energise
from server.simulate.results import Run
from server.simulate.verdict import goes_without as asked_in_vain
from server.web.format import count, duration, listed

_NAMES = 3
_NAMED = 6


@dataclass(frozen=True)
class Waiting:
    """A circuit that asked for power and got none. ``asked`` is a length of time in words."""

    circuit_id: str
    name: str
    asked: str
    too_long: bool
    asked_min: float = 0.0


@dataclass(frozen=True)
class BusWithout:
    """The circuits of one bus that go without: medical devices and what waits too long first."""

    name: str
    kind: BusKind
    longest: str
    circuits: tuple[Waiting, ...]

    @property
    def sentence(self) -> str:
        """The longest by name, and how many more."""
        shown = [f"{c.name} ({c.asked})" for c in self.circuits[:_NAMES]]
        more = len(self.circuits) - len(shown)
        if more:
            shown.append(f"{more} more")
        return f"{self.name}: {listed(shown)}."


@dataclass(frozen=True)
class Without:
    """What a run goes without, by bus; empty when everything that asked was served.

    ``presumed`` says in sentences what is taken as off, whether it asks or not, for its outage
    role is not “on”. ``throughout`` are ids of circuits without power as long as the utility is
    out; the others have it for most of that time.
    """

    buses: tuple[BusWithout, ...]
    presumed: tuple[str, ...] = ()
    throughout: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.buses)

    @property
    def circuits(self) -> int:
        """How many circuits go without."""
        return sum(len(bus.circuits) for bus in self.buses)

    @property
    def head(self) -> str:
        """How many, the longest time any of them asked, and how many are dark all the while."""
        if not self.buses:
            return "Everything that asks for power gets it."
        every = sorted((c for bus in self.buses for c in bus.circuits), key=lambda c: -c.asked_min)
        never = [c for c in every if c.circuit_id in self.throughout]
        one = len(every) == 1
        part = 0 < len(never) < len(every)
        text = (
            f"{count(len(every), 'circuit')} {'asks' if one else 'ask'} for power and "
            f"{'gets' if one else 'get'} none{' at times' if part else ''}, up to "
            f"{every[0].asked} in all"
        )
        if part:
            has = "has" if len(never) == 1 else "have"
            text += f"; {len(never)} of them {has} none as long as the utility is out"
        return f"{text}."


def goes_without(run: Run) -> Without:
    """The circuits that asked for power for a minute or more in all and got none."""
    owner = bus_of_circuit(run.site)
    asked = sorted(
        asked_in_vain(run.service),
        key=lambda s: (not s.device, not s.gap_exceeded, -s.unserved_min),
    )
    by_bus: dict[str, list[Waiting]] = {}
    for fared in asked:
        bus = owner[fared.circuit_id]
        by_bus.setdefault(bus.id if bus.panel_ids else bus.root_id, []).append(
            Waiting(
                fared.circuit_id,
                fared.name,
                duration(fared.unserved_min),
                fared.gap_exceeded,
                fared.unserved_min,
            )
        )
    named = {bus.id: (bus.name, bus.kind) for bus in run.buses if bus.panel_ids}
    found = []
    for bus_id, waiting in by_bus.items():
        name, kind = named.get(bus_id, (run.site.name_of[bus_id], "switchable"))
        longest = max(waiting, key=lambda one: one.asked_min).asked
        found.append(BusWithout(name, kind, longest, tuple(waiting)))
    throughout = frozenset(c.id for c in dark_throughout(run))
    return Without(tuple(found), presumed(run), throughout)


def presumed(run: Run) -> tuple[str, ...]:
    """What the run takes as off, or as on by hand at set hours, while a generator feeds it."""
    if not any(s.kind == "generator" and s.run_h > 0.0 for s in run.sources):
        return ()
    fed = [c for c in run.site.circuits if generator_can_energise(run.site, c.panel_id)]
    off = [c.name for c in fed if c.outage_role == "off"]
    by_hand = [c.name for c in fed if c.outage_role == "by_hand"]
    said = []
    if off:
        are = "is" if len(off) == 1 else "are"
        said.append(f"{_some(off)} {are} taken as switched off while the generator runs.")
    if by_hand:
        are = "is" if len(by_hand) == 1 else "are"
        said.append(f"{_some(by_hand)} {are} taken as switched on by hand, at set hours only.")
    return tuple(said)


def _some(names: list[str]) -> str:
    more = len(names) - _NAMED
    return listed([*names[:_NAMED], f"{more} more"] if more > 1 else names)


def answer_words(run: Run, against: tuple[str, ...] = ()) -> str:
    """The answer in a few words; a run that holds only under a condition names it.

    ``against`` are clauses of what stands against it beside the run.
    """
    return judged(run).answer(advice_on(run).provided, against)


def whole_sentence(run: Run) -> str:
    """The answer and the rest of its sentence, with the condition where there is one."""
    return judged(run).said(advice_on(run).provided)


def verdict_status(run: Run) -> str:
    """over, close or within, by the verdict and the nearest limit."""
    if not judged(run).fits:
        return "over"
    worst = run.verdict.worst
    close = worst is not None and worst.status == "close"
    return "close" if close or advice_on(run).doubt else "within"
