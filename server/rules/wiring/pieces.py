"""Working out a run of several segments, each of its own length, wire, place and raceway.

A segment whose size is given is checked; the others get the smallest size that does. All of them
are one run: the drop is their sum, and what is larger for it is larger in every open segment.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from server.domain.errors import InputError
from server.domain.working import Working
from server.rules.editions import Rulebook
from server.rules.leg import LEG_V
from server.rules.tables import conductor, conductors, insulation
from server.rules.wiring.ampacity import wet_column
from server.rules.wiring.carrying import (
    by_dwelling_share,
    carries,
    device_of,
    run_ampacity,
    sizes_for,
    smallest_that_carries,
)
from server.rules.wiring.drop import Drop, Stretch, drop_at_start, drop_within, legs_of_a_house
from server.rules.wiring.electrodes import copper_to
from server.rules.wiring.ground import Electrode, equipment_ground
from server.rules.wiring.piece import MOST_PIECES, Piece, PieceAnswer, PiecesAnswer, Trial
from server.rules.wiring.piece_raceway import IN_PER_FT, box_of, counted, raceways_of, wires_in
from server.rules.wiring.pulls import pull_points
from server.rules.wiring.raceway import BARE
from server.rules.wiring.run import Run
from server.rules.wiring.run_notes import run_notes
from server.rules.wiring.sizing import drop_limit, drop_share_by, least_neutral, run_drop
from server.rules.words import amps, percent, percent_over

ELECTRODES: tuple[Electrode, ...] = ("water_pipe", "rod", "concrete")


def size_pieces(run: Run, pieces: Sequence[Piece], rules: Rulebook) -> PiecesAnswer:
    """What a run of segments needs, and whether the sizes that are given are enough.

    ``run`` tells the load and its device; its own length, wire and place are not read.

    >>> from server.rules.editions import rulebook
    >>> a = size_pieces(
    ...     Run(0, noncontinuous_a=150, device_a=200),
    ...     [Piece(150, "4/0", "aluminum"), Piece(130, metal="aluminum")],
    ...     rulebook("2023"),
    ... )
    >>> [p.size for p in a.pieces], round(100 * a.drop_share, 2)
    (['4/0', '350'], 2.86)

    Raises
    ------
    InputError   For no segment or too many, or where no size here does; its field names the
                 segment as ``pieces.0.size``.
    """
    if not 1 <= len(pieces) <= MOST_PIECES:
        raise InputError(f"From 1 to {MOST_PIECES} segments are worked out.", field="pieces")
    if (run.neutral_a or 0.0) > run.load_a + 1e-9:
        raise InputError(
            "The neutral carries what the legs differ by, never more than the load of "
            f"{amps(run.load_a)}.",
            field="neutral_a",
        )
    if run.neutral_a and not run.two_wire and not legs_of_a_house(run.volts):
        raise InputError(
            f"A neutral is worked out on 120/240 V and 120/208 V, whose legs are of {LEG_V:g} V; "
            f"{run.volts:g} V was given. Leave the neutral's load empty.",
            field="neutral_a",
        )
    run = replace(run, run_ft=sum(p.run_ft for p in pieces))
    device, device_a = device_of(run, rules)
    parts = []
    for at, piece in enumerate(pieces):
        with _in_segment(at):
            parts.append(_part(run, piece, device_a, rules))
    trials = _trials(run, parts, rules)
    chosen = trials[-1]
    answers = []
    for at, part in enumerate(parts):
        with _in_segment(at):
            reason = _reason(at, parts, chosen.sizes, device_a, rules)
            answers.append(_answer(part, chosen.sizes[at], reason, device_a, rules))
    return PiecesAnswer(
        run=run,
        device=device,
        device_a=device_a,
        dwelling_share=by_dwelling_share(run, device_a, rules),
        pieces=tuple(answers),
        drop=chosen.drop,
        drop_share=chosen.drop_share,
        drop_limit=drop_limit(run, rules),
        drops_ok=chosen.drops_ok,
        start_drop=_start_drop(run, parts, chosen, rules),
        trials=trials,
        electrodes=_electrodes(answers, rules) if run.service else (),
        notes=run_notes(run, [(a.size, a.piece.metal) for a in answers], device_a, rules),
    )


@dataclass(frozen=True)
class _Part:
    """A segment, the run as it lies there, and its smallest size that carries."""

    piece: Piece
    own: Run
    least: str | None

    def stretch(self, size: str) -> Stretch:
        return Stretch(self.own.run_ft, size, self.own.metal, self.own.sets, self.own.conduit)


@contextmanager
def _in_segment(at: int) -> Iterator[None]:
    """What one segment refuses names it."""
    try:
        yield
    except InputError as error:
        raise InputError(str(error), field=f"pieces.{at}.{error.field}") from error


def _part(run: Run, piece: Piece, device_a: float, rules: Rulebook) -> _Part:
    nipple_most_in = rules.value("nipple_most_in")
    if piece.nipple and piece.run_ft * IN_PER_FT > nipple_most_in + 1e-9:
        raise InputError(
            f"A nipple is {nipple_most_in:g} in or less, {nipple_most_in / IN_PER_FT:g} ft; "
            f"{piece.run_ft:g} ft was given.",
            field="run_ft",
        )
    own = replace(
        run,
        run_ft=piece.run_ft,
        metal=piece.metal,
        sets=piece.sets,
        letters=piece.letters,
        wet=piece.wet,
        ambient_c=piece.ambient_c,
        current_carrying=1 if piece.nipple else counted(run, piece),
        conduit=piece.conduit,
    )
    if piece.wet:
        _also_for_wet(piece, rules)
    if piece.size is not None:
        run_ampacity(piece.size, own, device_a, rules)
    try:
        least = smallest_that_carries(own, device_a, rules)
    except InputError:
        if piece.size is None:
            raise
        least = None
    return _Part(piece, own, least)


def _also_for_wet(piece: Piece, rules: Rulebook) -> None:
    """Refuse a wire beside the run that may not lie in a wet place as the run does."""
    for at, wires in enumerate(piece.also):
        if wires.letters == BARE:
            continue
        try:
            wet_column(insulation(wires.letters), rules)
        except InputError as error:
            raise InputError(str(error), field=f"also.{at}.letters") from error


def _trials(run: Run, parts: Sequence[_Part], rules: Rulebook) -> tuple[Trial, ...]:
    """Sizes tried for the open segments: together up to what drops little, then each down again.

    The shortest comes down first, as it drops least. The last trial is the answer: no open segment
    of it can be a size smaller by itself.
    """
    may = [sizes_for(part.own, rules) for part in parts]
    tried: dict[tuple[str, ...], Trial] = {}
    for common in (c.size for c in conductors()):
        sizes = tuple(
            part.piece.size or _larger(str(part.least), common, allowed)
            for part, allowed in zip(parts, may, strict=True)
        )
        if sizes in tried:
            continue
        tried[sizes] = _trial(run, parts, sizes, rules)
        if tried[sizes].drops_ok:
            break
    found = tuple(tried.values())
    wanted = [at for at, part in enumerate(parts) if part.piece.size is None]
    limit = drop_limit(run, rules)
    if wanted and not found[-1].drops_ok:
        raise InputError(
            f"Even with {' and '.join(dict.fromkeys(found[-1].sizes))} this run drops "
            f"{percent_over(found[-1].drop_share, limit, 2)}, over {percent(limit, 1)}; "
            "use parallel sets.",
            field=f"pieces.{wanted[0]}.sets",
        )
    for at in sorted(wanted, key=lambda at: parts[at].own.run_ft):
        least, now = (may[at].index(s) for s in (str(parts[at].least), found[-1].sizes[at]))
        for size in may[at][least:now]:
            sizes = (*found[-1].sizes[:at], size, *found[-1].sizes[at + 1 :])
            smaller = _trial(run, parts, sizes, rules)
            if smaller.drops_ok:
                found = (*found, smaller)
                break
    return found


def _larger(smallest: str, common: str, allowed: Sequence[str]) -> str:
    larger = common in allowed and conductor(common).cmil > conductor(smallest).cmil
    return common if larger else smallest


def _trial(run: Run, parts: Sequence[_Part], sizes: Sequence[str], rules: Rulebook) -> Trial:
    stretches = [part.stretch(size) for part, size in zip(parts, sizes, strict=True)]
    drop = run_drop(run, stretches, rules)
    share = drop_share_by(drop, run.reckoning)
    return Trial(tuple(sizes), drop, share, drop_within(share, drop_limit(run, rules)))


def _reason(
    at: int, parts: Sequence[_Part], sizes: Sequence[str], device_a: float, rules: Rulebook
) -> str:
    """Why an open segment has its size; why a given one does not carry, or nothing."""
    part, size = parts[at], sizes[at]
    if part.piece.size is not None:
        found = run_ampacity(size, part.own, device_a, rules)
        return carries(found, run=part.own, device_a=device_a, rules=rules)[1]

    def with_size(other: str) -> Trial:
        return _trial(part.own, parts, [*sizes[:at], other, *sizes[at + 1 :]], rules)

    least = str(part.least)
    if size != least:
        limit = drop_limit(part.own, rules)
        return (
            f"{least} would carry it, but drops "
            f"{percent_over(with_size(least).drop_share, limit, 2)}, over {percent(limit, 1)}"
        )
    smaller = next(s for s in sizes_for(part.own, rules) if s == least or with_size(s).drops_ok)
    if smaller == least:
        return f"{least} is the smallest for ampacity and for drop alike"
    found = run_ampacity(smaller, part.own, device_a, rules)
    why_not = carries(found, run=part.own, device_a=device_a, rules=rules)[1]
    return f"{smaller} would hold the drop, but {why_not}"


def _answer(part: _Part, size: str, reason: str, device_a: float, rules: Rulebook) -> PieceAnswer:
    own, piece = part.own, part.piece
    found = run_ampacity(size, own, device_a, rules)
    drop = run_drop(own, [part.stretch(size)], rules)
    neutral = least_neutral(own, device_a, size, rules)
    ground_size, ground = _ground(part, size, device_a, rules)
    laid = size if neutral is not None else None
    wires = wires_in(own, piece, hot=size, neutral=laid, ground=ground_size)
    own_fill, kinds = raceways_of(piece, wires, rules)
    return PieceAnswer(
        piece=piece,
        size=size,
        least_size=part.least,
        reason=reason,
        ampacity=found,
        counted=counted(own, piece) if piece.nipple else own.current_carrying,
        carries=carries(found, run=own, device_a=device_a, rules=rules)[0],
        dc_v=drop.dc_v,
        impedance_v=drop.impedance_v,
        neutral_size=neutral,
        ground_size=ground_size,
        ground=ground,
        wires=wires,
        own_fill=own_fill,
        raceways=kinds,
        pulls=pull_points(piece.bends_deg, rules=rules),
        box=box_of(piece, wires, own_fill or kinds.get(piece.kind), rules),
    )


def _ground(
    part: _Part, size: str, device_a: float, rules: Rulebook
) -> tuple[str | None, Working | None]:
    """Equipment ground, grown where the segment is larger than it needs; none of a service."""
    if part.own.service:
        return None, None
    return equipment_ground(
        device_a=device_a,
        metal=part.own.ground_metal,
        needed_size=part.least,
        installed_size=size,
        installed_metal=part.own.metal,
        rules=rules,
    )


def _start_drop(run: Run, parts: Sequence[_Part], chosen: Trial, rules: Rulebook) -> Drop | None:
    if not run.start_a:
        return None
    return drop_at_start(
        running=chosen.drop,
        start_a=run.start_a,
        start_volts=run.volts,
        stretches=[part.stretch(size) for part, size in zip(parts, chosen.sizes, strict=True)],
        rules=rules,
    )


def _electrodes(
    answers: Sequence[PieceAnswer], rules: Rulebook
) -> tuple[tuple[Electrode, str], ...]:
    """Copper to each kind of electrode."""
    hots = [(a.size, a.piece.metal, a.piece.sets) for a in answers]
    return tuple((electrode, copper_to(electrode, hots, rules)) for electrode in ELECTRODES)
