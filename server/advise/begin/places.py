"""Which panel and which spaces each circuit gets, with the legs of every panel balanced."""

from __future__ import annotations

from dataclasses import dataclass, field

from server.advise.begin.choices import WAYS, Choices
from server.advise.begin.circuits import Draft
from server.advise.begin.supply import MAIN, SWITCH, Role, Supply, set_amps
from server.domain.base import LEGS, Leg
from server.domain.circuit import OutageRole
from server.domain.edits import pairs_of_spaces
from server.domain.panel import leg_of_space

SIZES = (8, 12, 16, 20, 24, 30, 40, 42, 54, 60)
"""Panels by spaces, as they are commonly sold."""
_LEAST = {MAIN: 30}
_LEAST_OTHERWISE = 12
_SPARE = 2
_SECOND_PANEL_SPACES = 42
_SECOND_PANEL_FEED_A = 100.0
_SMALL_W = 800.0
_SOLAR = "solar"
_SWITCHABLE_MOST = 0.5
_BY_HAND_MOST = 0.5


@dataclass
class Placed:
    """A circuit with its panel, spaces and what it does on the generator."""

    draft: Draft
    panel_id: str
    spaces: tuple[int, ...] = ()
    role: OutageRole = "on"


@dataclass
class _Hung:
    """What hangs in one panel: two-pole breakers of inlet, feeders and solar, then circuits."""

    breakers: list[str] = field(default_factory=list)
    circuits: list[Placed] = field(default_factory=list)

    @property
    def need(self) -> int:
        return 2 * len(self.breakers) + sum(p.draft.poles for p in self.circuits)


def role_of(draft: Draft, choices: Choices, throw_a: float) -> Role:
    """The bus a circuit begins on.

    Must-serve and important ones are backed up, and small shared ones along with them; large
    ones that can wait are switchable where the house has such a panel, if they take no more than
    half of its feed; the rest stays normal. Common practice, no source.
    """
    way = WAYS[choices.way]
    if choices.way == "nothing":
        return "normal"
    if choices.way in {"whole-house", "portable"}:
        return "backed_up"
    if draft.load_class in {"must_serve", "important"}:
        return "backed_up"
    if way.switchable and draft.poles == 2 and draft.load_class == "deferrable":
        fits = draft.load_w / 240.0 <= throw_a * _SWITCHABLE_MOST
        return "switchable" if fits else "normal"
    return "backed_up" if draft.poles == 1 and draft.load_w <= _SMALL_W else "normal"


def outage_role(draft: Draft, role: Role, supply: Supply, choices: Choices) -> OutageRole:
    """What a circuit does while a generator that is started by hand feeds it.

    A person leaves off what takes more than half of the set, and runs other large things in
    turns. Behind an automatic switch nothing holds them off, so they are on. Common practice, no
    source.
    """
    if not supply.generators or role != "backed_up" or draft.poles == 1:
        return "on"
    if choices.way != "portable" and choices.changeover != "manual":
        return "on"
    if draft.load_class in {"must_serve", "important"}:
        return "on"
    large = draft.load_w / 240.0 > set_amps(supply.generators[0]) * _BY_HAND_MOST
    return "off" if large else "by_hand"


def place(drafts: tuple[Draft, ...], supply: Supply, choices: Choices) -> tuple[Placed, ...]:
    """Give every circuit a panel and spaces, and every panel as many spaces as it needs.

    A panel that would need more than are sold gets another one behind it.
    """
    throw_a = next((f.breaker_a or 0.0 for f in supply.feeders if f.to_input == "normal"), 0.0)
    hung = {panel_id: _Hung() for panel_id in supply.panels}
    for draft in drafts:
        role = role_of(draft, choices, throw_a)
        panel_id = supply.panel_of[role]
        made = Placed(draft, panel_id, role=outage_role(draft, role, supply, choices))
        hung[panel_id].circuits.append(made)
    for feeder in supply.feeders:
        if feeder.from_id in hung and feeder.breaker_a is not None:
            hung[feeder.from_id].breakers.append(feeder.id)
    for array in supply.solar:
        hung[array.panel_id].breakers.append(array.id)
    for switch in supply.switches:
        if switch.kind == "interlock":
            hung[MAIN].breakers.append(switch.id)
    for panel_id in list(hung):
        _spill(panel_id, hung, supply)
    for panel_id, held in hung.items():
        _fill(panel_id, held, supply)
    return tuple(p for held in hung.values() for p in held.circuits)


def _spill(panel_id: str, hung: dict[str, _Hung], supply: Supply) -> None:
    """Move what does not fit into panels behind this one."""
    held = hung[panel_id]
    number = 2
    while held.need + _SPARE > SIZES[-1]:
        panel = supply.panels[panel_id]
        name = f"{panel.name} {number}"
        more_id = f"{panel_id}-{number}"
        feed_a = min(_SECOND_PANEL_FEED_A, panel.rating_a)
        supply.add_panel(more_id, name, feed_a)
        supply.feed(panel_id, more_id, breaker_a=feed_a)
        held.breakers.append(supply.feeders[-1].id)
        more = hung[more_id] = _Hung()
        while held.circuits and more.need + _SPARE + 2 <= _SECOND_PANEL_SPACES:
            moved = held.circuits.pop()
            moved.panel_id = more_id
            more.circuits.append(moved)
        number += 1


def _fill(panel_id: str, held: _Hung, supply: Supply) -> None:
    # An interlock's kit fits by the main alone, in most panels: its breaker takes the first pair.
    held.breakers.sort(key=lambda i: (i != _SOLAR, i != SWITCH))
    least = _LEAST.get(panel_id, _LEAST_OTHERWISE)
    wanted = max(held.need + _SPARE, least)
    spaces = next(size for size in SIZES if size >= wanted)
    supply.panels[panel_id] = supply.panels[panel_id].model_copy(update={"spaces": spaces})
    free = set(range(1, spaces + 1))
    pairs: dict[str, tuple[int, int]] = {}
    for breaker_id in held.breakers:
        pairs[breaker_id] = _last_pair(free) if breaker_id == _SOLAR else _pair(free)
    for placed in held.circuits:
        if placed.draft.poles == 2:
            placed.spaces = _pair(free)
    _balance([p for p in held.circuits if p.draft.poles == 1], free)
    _give_spaces(supply, pairs)


def _pair(free: set[int]) -> tuple[int, int]:
    """Two spaces under each other that leave no single row behind, and take them."""
    pair = next(
        (p for p in pairs_of_spaces(free) if (p[0] - 1) // 2 % 2 == 0),
        next(pairs_of_spaces(free)),
    )
    free.difference_update(pair)
    return pair


def _last_pair(free: set[int]) -> tuple[int, int]:
    """The pair at the far end from the main, where the code wants the breaker of a source."""
    pair = list(pairs_of_spaces(free))[-1]
    free.difference_update(pair)
    return pair


def _balance(singles: list[Placed], free: set[int]) -> None:
    """The largest first, each onto the leg that carries less so far."""
    carried: dict[Leg, float] = dict.fromkeys(LEGS, 0.0)
    for placed in sorted(singles, key=lambda p: -p.draft.load_w):
        legs = sorted(LEGS, key=lambda leg: carried[leg])
        space = next(s for leg in legs for s in sorted(free) if leg_of_space(s) == leg)
        free.discard(space)
        placed.spaces = (space,)
        carried[leg_of_space(space)] += placed.draft.load_w


def _give_spaces(supply: Supply, pairs: dict[str, tuple[int, int]]) -> None:
    supply.switches = [
        s.model_copy(update={"spaces": pairs[s.id]}) if s.id in pairs else s
        for s in supply.switches
    ]
    supply.feeders = [
        f.model_copy(update={"spaces": pairs[f.id]}) if f.id in pairs else f for f in supply.feeders
    ]
    supply.solar = [
        a.model_copy(update={"spaces": pairs[a.id]}) if a.id in pairs else a for a in supply.solar
    ]
