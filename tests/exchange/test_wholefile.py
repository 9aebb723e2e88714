from __future__ import annotations

import os
from pathlib import Path

import pytest

from server.domain.errors import InputError
from server.exchange.wholefile import write_whole


def test_a_file_is_written_once_and_replaced_when_told(tmp_path: Path) -> None:
    path = tmp_path / "site.json"
    write_whole(path, b"one", force=False)
    with pytest.raises(InputError, match="add --force"):
        write_whole(path, b"two", force=False)
    assert path.read_bytes() == b"one"
    write_whole(path, b"two", force=True)
    assert path.read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["site.json"]


def test_what_is_no_file_is_left_alone(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (tmp_path, pipe, Path(os.devnull)):
        mode = path.stat().st_mode
        with pytest.raises(InputError, match="is no file"):
            write_whole(path, b"{}", force=True)
        assert path.stat().st_mode == mode
