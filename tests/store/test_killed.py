"""A process killed while it writes leaves a database with its last acknowledged edit."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from server.store.database import open_engine
from server.store.sites import SiteStore
from tests.builders import normal_only_site

ROOT = Path(__file__).resolve().parents[2]
WRITER = """
import sys
from server.store.database import open_engine
from server.store.sites import SiteStore
url, site_id = sys.argv[1:]
store = SiteStore(open_engine(url))
stored = store.get(site_id)
while True:
    named = stored.site.model_copy(update={"name": f"Revision {stored.revision + 1}"})
    stored = store.save(site_id, named, base_revision=stored.revision, label="Rename")
    print(stored.revision, flush=True)
"""


def acknowledged_before_kill(url: str, site_id: str, *, saves: int, then_s: float) -> int:
    """Let a process save, kill it a while after this many saves; its last acknowledged one."""
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, url, site_id], cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as writer:
        seen = [writer.stdout.readline() for _ in range(saves)]
        time.sleep(then_s)
        os.kill(writer.pid, signal.SIGKILL)
        seen += writer.stdout.readlines()
    whole = [line for line in seen if line.endswith("\n")]
    return int(whole[-1])


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL on Windows")
def test_a_killed_writer_leaves_its_last_acknowledged_edit(database_url):
    engine = open_engine(database_url)
    site_id = SiteStore(engine).create(normal_only_site(name="Revision 1")).id
    engine.dispose()
    for walks, then_s in enumerate((0.0005, 0.003, 0.0071)):
        acknowledged = acknowledged_before_kill(database_url, site_id, saves=12, then_s=then_s)
        with closing(sqlite3.connect(open_engine(database_url).url.database)) as plain:
            assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert plain.execute("PRAGMA foreign_key_check").fetchall() == []
        engine = open_engine(database_url)
        store = SiteStore(engine)
        found = store.get(site_id)
        # The kill may fall between a commit and its acknowledgement.
        assert found.revision in {acknowledged, acknowledged + 1}
        assert found.site.name == f"Revision {found.revision}"
        assert len(store.changes(site_id, limit=10_000)) == found.revision - 2 * walks
        assert store.undo(site_id).site != found.site
        assert store.redo(site_id).site == found.site
        engine.dispose()
