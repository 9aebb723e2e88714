"""Trying moves on the board without saving: the moves stand in the address, the site stays."""

from __future__ import annotations

from dataclasses import dataclass

from server.domain.errors import EditError, InputError, NotFoundError
from server.domain.site import Site
from server.web.board_edits import Edit, give_role, move_to

TRY_ON = "on"
MOST = 60
"""Changes that a trial holds."""
MOST_CHARS = 7_000
"""More than so many changes, each of two ids of 48 letters, can take."""
_ROLE = "role:"
_FULL = f"A trial holds {MOST} changes."


@dataclass(frozen=True)
class Tried:
    """A site with every tried move made.

    ``text`` is what the address holds, ``moves`` what was done in words, ``refused`` what no
    longer could be.
    """

    site: Site
    text: str
    circuit_ids: tuple[str, ...]
    moves: tuple[str, ...]
    refused: tuple[str, ...]


def tried(site: Site, text: str) -> Tried | None:
    """The moves that an address tells of, made on the saved site; None outside try mode."""
    first, *tokens = text.split(",")
    if first != TRY_ON:
        return None
    now, done, moves, refused = site, [], [], []
    for token in tokens[:MOST]:
        circuit_id, _, target = token.partition("~")
        try:
            edit = try_one(now, circuit_id, target)
        except (InputError, NotFoundError) as error:
            refused.append(str(error))
            continue
        now = edit.site
        done.append(token)
        moves.append(edit.said)
    if len(tokens) > MOST:
        refused.append(f"{_FULL} What came after them is not among them.")
    ids = tuple(dict.fromkeys(token.partition("~")[0] for token in done))
    return Tried(now, ",".join([TRY_ON, *done]), ids, tuple(moves), tuple(refused))


def try_one(site: Site, circuit_id: str, target: str) -> Edit:
    """One move (``panel:ID``, ``handle:ID``) or outage role (``role:NAME``) of a circuit.

    Raises
    ------
    EditError       When the site cannot take it.
    NotFoundError   When the circuit or the place is not on it.
    """
    if target.startswith(_ROLE):
        return give_role(site, circuit_id, target.removeprefix(_ROLE))
    return move_to(site, circuit_id, target)


def with_one_more(text: str, circuit_id: str, target: str) -> str:
    """The address's text with one more move. A role set again takes the place of the one before.

    Raises
    ------
    EditError   When a trial cannot hold one more.
    """
    tokens = text.split(",")
    if target.startswith(_ROLE):
        tokens = [t for t in tokens if not t.startswith(f"{circuit_id}~{_ROLE}")]
    if len(tokens) > MOST:
        raise EditError(f"{_FULL} Keep these or take some back, then go on.", field="try")
    return ",".join([*tokens, f"{circuit_id}~{target}"])


def without_last(text: str) -> str:
    """The address's text with its last change taken back.

    >>> without_last("on,d~panel:main,b~role:off"), without_last("on")
    ('on,d~panel:main', 'on')
    """
    return ",".join(text.split(",")[:-1]) or text
