"""A segment of a run of wire, and what one run of several comes to."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.working import Working
from server.rules.ranges import Range, within
from server.rules.tables import Metal, conductor, conduit_of, insulation, raceway, raceways
from server.rules.wiring.ampacity import Ampacity
from server.rules.wiring.drop import Drop
from server.rules.wiring.ground import Electrode
from server.rules.wiring.pulls import STEEPEST_DEG, Box
from server.rules.wiring.raceway import Fill, Wires
from server.rules.wiring.run import RANGES, Run
from server.rules.wiring.run_notes import RunNote

MOST_PIECES = 6
PIECE_RANGES = {
    "run_ft": Range(0.1, RANGES["run_ft"].high, RANGES["run_ft"].unit),
    "sets": RANGES["sets"],
    "ambient_c": RANGES["ambient_c"],
    "current_carrying": RANGES["current_carrying"],
    "bends_deg": Range(0, STEEPEST_DEG, "°"),
}
"""What each figure of a segment may be."""


@dataclass(frozen=True)
class Piece:
    """One segment. ``size`` None asks for the smallest that does.

    ``kind`` is of raceway, an empty ``trade_size`` asks for the smallest; ``also`` lies in the
    same raceway beside one set of the run. ``current_carrying`` None counts its own wires and
    takes all of ``also`` but bare wire to carry. A ``nipple`` is a raceway of 24 in or less between
    boxes: filled to 60 %, and its company lowers nothing. ``bends_deg`` stand in their order.
    """

    run_ft: float
    size: str | None = None
    metal: Metal = "copper"
    sets: int = 1
    letters: str = "THWN-2"
    wet: bool = False
    ambient_c: float = 30.0
    current_carrying: int | None = None
    kind: str = "pvc40"
    trade_size: str = ""
    nipple: bool = False
    bends_deg: tuple[float, ...] = ()
    also: tuple[Wires, ...] = ()

    def __post_init__(self) -> None:
        for name in ("run_ft", "sets", "ambient_c", "current_carrying"):
            value, may = getattr(self, name), PIECE_RANGES[name]
            if value is not None:
                within(value, may.low, may.high, field=name, unit=may.unit)
        if self.kind not in {r.kind for r in raceways()}:
            raceway(self.kind, "")
        insulation(self.letters)
        if self.trade_size:
            raceway(self.kind, self.trade_size)
        if self.size is not None:
            conductor(self.size)

    @property
    def conduit(self) -> str:
        """Its raceway as the impedance table has it: pvc, aluminum or steel."""
        return conduit_of(self.kind)


@dataclass(frozen=True)
class PieceAnswer:
    """What one segment comes to.

    ``least_size`` is the smallest that carries, None where none here does; ``counted`` the
    current-carrying wires its ampacity stands on. ``neutral_size`` is the least one;
    the drop and the ``raceways`` take one as large as the hots. They hold one set with its ground
    and what lies beside it, and are empty for a cable; ``own_fill`` is of the trade size given.
    ``pulls`` are the bends after which a pull point is needed, ``box`` the least one there.
    """

    piece: Piece
    size: str
    least_size: str | None
    reason: str
    ampacity: Ampacity
    counted: int
    carries: bool
    dc_v: float
    impedance_v: float
    neutral_size: str | None
    ground_size: str | None
    ground: Working | None
    wires: tuple[Wires, ...]
    own_fill: Fill | None
    raceways: dict[str, Fill | None]
    pulls: tuple[int, ...]
    box: Box | None

    @property
    def found(self) -> bool:
        """Whether the size was looked for, not given."""
        return self.piece.size is None


@dataclass(frozen=True)
class Trial:
    """Sizes tried for the segments, in their order, and what the whole run drops with them."""

    sizes: tuple[str, ...]
    drop: Drop
    drop_share: float
    drops_ok: bool


@dataclass(frozen=True)
class PiecesAnswer:
    """What a run of segments comes to.

    ``drops_ok`` is whether the whole stays within the drop not to be passed, ``drop_limit``.
    ``trials`` end with the sizes that are taken. ``electrodes`` are copper, and for service
    conductors alone. ``notes`` are what is asked beside wire that carries.
    """

    run: Run
    device: Working
    device_a: float
    dwelling_share: bool
    pieces: tuple[PieceAnswer, ...]
    drop: Drop
    drop_share: float
    drop_limit: float
    drops_ok: bool
    start_drop: Drop | None
    trials: tuple[Trial, ...]
    electrodes: tuple[tuple[Electrode, str], ...]
    notes: tuple[RunNote, ...]

    @property
    def carries(self) -> bool:
        """Whether every segment carries the load and its device protects it."""
        return all(p.carries for p in self.pieces)
