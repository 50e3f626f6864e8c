"""The shape of the database, one step per version, and how an older file is brought up to date."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

APPLICATION_ID = 0x51DE_11E7
"""Written into every ledger, so that another program's database is not taken for one."""

_FIRST = """
CREATE TABLE frames (
    identity TEXT PRIMARY KEY,
    exposure_key TEXT,
    path TEXT NOT NULL,
    object_name TEXT NOT NULL,
    filter_name TEXT NOT NULL,
    exposure_s REAL NOT NULL CHECK (exposure_s > 0),
    start_mjd REAL NOT NULL,
    ra_deg REAL,
    dec_deg REAL,
    pointing TEXT NOT NULL,
    camera TEXT NOT NULL,
    telescope TEXT NOT NULL,
    temperature_c REAL,
    gain REAL,
    binning INTEGER NOT NULL,
    pixel_um REAL,
    focal_length_mm REAL,
    width_px INTEGER NOT NULL,
    height_px INTEGER NOT NULL,
    notes TEXT NOT NULL,
    target_key TEXT,
    matched_by TEXT NOT NULL,
    match_reason TEXT NOT NULL,
    night TEXT,
    side TEXT,
    altitude_deg REAL,
    weight REAL,
    copy_of TEXT,
    rejected INTEGER NOT NULL DEFAULT 0,
    excluded INTEGER NOT NULL DEFAULT 0,
    excluded_reason TEXT NOT NULL DEFAULT ''
);
CREATE INDEX frames_by_exposure ON frames (exposure_key);
CREATE TABLE files (
    path TEXT PRIMARY KEY,
    size_bytes INTEGER NOT NULL,
    modified_ns INTEGER NOT NULL,
    identity TEXT REFERENCES frames (identity) ON UPDATE CASCADE,
    rejected INTEGER NOT NULL DEFAULT 0,
    aside_kind TEXT NOT NULL DEFAULT '',
    aside_reason TEXT NOT NULL DEFAULT ''
);
CREATE INDEX files_by_identity ON files (identity);
CREATE TABLE hours (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    target_key TEXT NOT NULL,
    filter_name TEXT NOT NULL,
    night TEXT,
    hours_h REAL NOT NULL CHECK (hours_h > 0),
    weight REAL,
    note TEXT NOT NULL
);
"""

STEPS: tuple[str, ...] = (_FIRST,)
"""Step n leads from version n to version n + 1. A step that has been in anybody's hands is never changed again."""


def migrate(connection: sqlite3.Connection, path: Path, steps: Sequence[str] = STEPS) -> Path | None:
    """Bring a ledger to the newest version, all or nothing; return the copy that was made before, if one was needed.

    The copy lies beside the ledger and bears the old version's number; an older copy of that name is kept, too.
    """
    version = version_of(connection)
    if version >= len(steps):
        return None
    copy = _copy(connection, path, version) if version else None
    connection.execute("BEGIN IMMEDIATE")
    try:
        # another program may have been faster
        for step in steps[version_of(connection) :]:
            for statement in step.split(";"):
                if statement.strip():
                    connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {len(steps)}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    return copy


def version_of(connection: sqlite3.Connection) -> int:
    """Return the version that a database says it has; 0 for an empty one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _copy(connection: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy a ledger beside itself, whole, before it is changed."""
    copy, number = path.with_name(f"{path.stem}.version-{version}{path.suffix}"), 2
    while copy.exists():
        copy = path.with_name(f"{path.stem}.version-{version}-{number}{path.suffix}")
        number += 1
    unfinished = copy.with_name(copy.name + ".unfinished")
    for leftover in (unfinished, unfinished.with_name(unfinished.name + "-journal")):
        leftover.unlink(missing_ok=True)
    with closing(sqlite3.connect(unfinished)) as target:
        connection.backup(target)
    unfinished.replace(copy)
    return copy
