"""The ledger as the doctor sees it: opened for reading only, never migrated, never made."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from sidelight.desk.collected import LEDGER_FILE
from sidelight.desk.examined import Finding, fine, note, odd
from sidelight.ledger.migrations import APPLICATION_ID, STEPS, version_of


def ledger_findings(folder: Path) -> Iterator[Finding]:
    """Say which shape a notebook's ledger has, and whether it is whole."""
    path = folder / LEDGER_FILE
    if not path.exists():
        yield note("notebook", LEDGER_FILE, "There is none yet.")
        return
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=5)) as connection:
            yield _looked_at(connection)
    except sqlite3.Error as error:
        yield odd("notebook", LEDGER_FILE, f"It cannot be read ({error}). Put a copy in its place.")


def _looked_at(connection: sqlite3.Connection) -> Finding:
    """Return what an open database says of itself."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        return odd("notebook", LEDGER_FILE, "It is another program's database. Give that file another name.")
    version = version_of(connection)
    if version > len(STEPS):
        return odd(
            "notebook", LEDGER_FILE, f"It was written by a newer Sidelight (shape {version}). Update this one."
        )
    report = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
    if report != "ok":
        return odd("notebook", LEDGER_FILE, f"It is damaged ({report[:100]}). Put a copy in its place.")
    frames = connection.execute("SELECT count(*) FROM frames").fetchone()[0]
    older = "" if version == len(STEPS) else f"; brought up to shape {len(STEPS)}, after a copy, when it is next used"
    return fine("notebook", LEDGER_FILE, f"{frames} frame{'' if frames == 1 else 's'}, shape {version}{older}.")
