"""Write the dump that later upgrades are tried on: ``python -m tests.store.dump``.

Run it once, when a new migration is written: it stores sites with the newest tables and names
the dump after their revision.
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from unittest import mock

from server.domain.edits import remove_circuit, set_pinned
from server.store import sites
from server.store.database import migrate, open_engine
from tests.builders import normal_only_site
from tests.store.houses import full_site

DATA = Path(__file__).parent / "data"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "dump.db"
        engine = open_engine(f"sqlite:///{path}")
        migrate(engine)
        store = sites.SiteStore(engine)
        with mock.patch.object(sites, "new_site_id", return_value="full-site"):
            created = store.create(full_site(circuits=7)).site
        with mock.patch.object(sites, "new_site_id", return_value="put-away"):
            store.create(normal_only_site())
        store.delete("put-away")
        found = remove_circuit(created, "n1")
        store.save("full-site", found, base_revision=1, label="Removed n1")
        pinned = set_pinned(found, "n3", pinned=True)
        store.save("full-site", pinned, base_revision=2, label="Pinned n3")
        store.undo("full-site")
        engine.dispose()
        with closing(sqlite3.connect(path)) as plain:
            (revision,) = plain.execute("SELECT version_num FROM alembic_version").fetchone()
            script = "\n".join(line.replace(", \n", ",\n") for line in plain.iterdump()) + "\n"
    (DATA / f"{revision}.sql").write_text(script, encoding="utf-8")
    expected = {s: v.model_dump(mode="json") for s, v in (("created", created), ("found", found))}
    text = json.dumps(expected, ensure_ascii=False, separators=(",", ":")) + "\n"
    (DATA / f"{revision}.json").write_text(text, encoding="utf-8")
    print(f"Wrote {revision}.sql and {revision}.json to {DATA}.")


if __name__ == "__main__":
    main()
