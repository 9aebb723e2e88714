"""Writing a file whole or not at all, and never over what is not one's to replace."""

from __future__ import annotations

from pathlib import Path
from secrets import token_hex

from server.domain.errors import InputError

_SQLITE_HEAD = b"SQLite format 3\x00"
_SQLITE_SIDES = ("-wal", "-shm", "-journal")


def write_whole(path: Path, data: bytes, *, force: bool) -> None:
    """Write a file under a name of its own, then put it in its place.

    Raises
    ------
    InputError   On field ``file``: it is a database, something else than a file (a folder, a
                 device), or there already and ``force`` is not set.
    """
    if path.exists() and not path.is_file():
        raise InputError(f"{path} is no file; choose another.", field="file")
    if path.name.endswith(_SQLITE_SIDES) or (path.exists() and _is_database(path)):
        raise InputError(f"{path} is a database; choose another file.", field="file")
    if path.exists() and not force:
        raise InputError(f"{path} exists; add --force to replace it.", field="file")
    partial = path.with_name(f".{path.name}.{token_hex(8)}.part")
    try:
        with partial.open("xb") as new:
            new.write(data)
        partial.replace(path)
    finally:
        partial.unlink(missing_ok=True)


def _is_database(path: Path) -> bool:
    with path.open("rb") as there:
        return there.read(len(_SQLITE_HEAD)) == _SQLITE_HEAD
