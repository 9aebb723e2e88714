"""What lies in the raceway of a segment: its wires, how full it is, and the box at a pull."""

from __future__ import annotations

from server.rules.demand.report import WYE_V
from server.rules.editions import Rulebook
from server.rules.tables import conductor, insulation
from server.rules.wiring.ampacity import current_carrying_count
from server.rules.wiring.piece import Piece
from server.rules.wiring.pulls import Box, least_box
from server.rules.wiring.raceway import BARE, Fill, Wires, fill, trade_sizes
from server.rules.wiring.read_only import ReadOnly
from server.rules.wiring.run import Run

IN_PER_FT = 12.0


def counted(run: Run, piece: Piece) -> int:
    """Current-carrying wires in one raceway of a segment: as told, else counted.

    >>> counted(Run(10, 20), Piece(10)), counted(Run(10, 20, volts=120), Piece(10))
    (2, 2)
    >>> counted(Run(10, 20), Piece(10, also=(Wires("12", 6), Wires("10", 1, "bare"))))
    8
    """
    if piece.current_carrying is not None:
        return piece.current_carrying
    own = current_carrying_count(
        hots=1 if run.two_wire else 2,
        neutral=run.two_wire or run.neutral_a is not None,
        two_wire=run.two_wire,
        wye=run.volts == WYE_V,
    )
    return own + sum(w.count for w in piece.also if w.letters != BARE)


def wires_in(
    run: Run, piece: Piece, *, hot: str, neutral: str | None, ground: str | None
) -> tuple[Wires, ...]:
    """One set with its ground and what lies beside it; nothing for a cable, which needs none."""
    if not insulation(piece.letters).family:
        return ()
    wires = [Wires(hot, 1 if run.two_wire else 2, piece.letters)]
    wires += [Wires(size, 1, piece.letters) for size in (neutral, ground) if size is not None]
    return (*wires, *piece.also)


def raceways_of(
    piece: Piece, wires: tuple[Wires, ...], rules: Rulebook
) -> tuple[Fill | None, dict[str, Fill | None]]:
    """Fill of the trade size that is given, and the smallest of each kind."""
    if not wires:
        return None, ReadOnly()
    nipple_in = max(piece.run_ft * IN_PER_FT, 0.1) if piece.nipple else None
    own = None
    if piece.trade_size:
        own = fill(
            kind=piece.kind,
            trade_size=piece.trade_size,
            wires=wires,
            nipple_in=nipple_in,
            rules=rules,
        )
    return own, trade_sizes(wires=wires, nipple_in=nipple_in, rules=rules)


def box_of(
    piece: Piece, wires: tuple[Wires, ...], tube: Fill | None, rules: Rulebook
) -> Box | None:
    """The least box where a segment's wires are pulled or spliced, one raceway for each set."""
    insulated = [w.size for w in wires if w.letters != BARE]
    if tube is None or not insulated:
        return None
    return least_box(
        trade_size=tube.raceway.trade_size,
        largest_wire=max(insulated, key=lambda size: conductor(size).cmil),
        raceways=piece.sets,
        rules=rules,
    )
