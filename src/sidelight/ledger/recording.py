"""Frames recorded: new ones, moved ones, changed ones, copies; each batch whole or not at all."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from sidelight.ledger.files import NOTHING_REJECTED, FoundFile, Rejection, is_rejected
from sidelight.ledger.frames import Frame, SetAside
from sidelight.ledger.kept import FACTS, FOUND, Compute, facts_row, found_row, frames_where
from sidelight.ledger.match import Match, TargetPlace, match
from sidelight.ledger.store import Ledger

Outcome = Literal["new", "moved", "again", "copy", "changed", "aside"]


@dataclass(frozen=True)
class Recorded:
    """What became of one file.

    outcome : "new"; "moved" (known, its old file is gone); "again" (known, the old file is still there: a second copy
    of the file); "copy" (the same exposure in another form); "changed" (known, the file was written anew);
    "aside" (no light frame). match : of a frame, None for what is set aside.
    """

    reading: Frame | SetAside
    outcome: Outcome
    match: Match | None = None


def record_frames(
    ledger: Ledger,
    readings: Sequence[Frame | SetAside],
    compute: Compute,
    *,
    targets: Sequence[TargetPlace] = (),
    rejection: Rejection = NOTHING_REJECTED,
) -> tuple[Recorded, ...]:
    """Record what was read from files, in one transaction, and say what became of each.

    A known frame keeps what a person decided about it. `compute` is asked once for all frames of the batch.
    """
    frames = [reading for reading in readings if isinstance(reading, Frame)]
    matches = match(frames, targets)
    computed = compute(frames, [one.target_key for one in matches])
    found = {id(frame): (its, more) for frame, its, more in zip(frames, matches, computed, strict=True)}
    folded = rejection.folded()
    done = []
    with ledger.writing() as connection:
        for reading in readings:
            if isinstance(reading, SetAside):
                _note_file(connection, reading.file, None, folded, reading)
                done.append(Recorded(reading, "aside"))
                continue
            its, more = found[id(reading)]
            outcome = _record(connection, reading, [*facts_row(reading), *found_row(its, more)])
            _note_file(connection, reading.file, reading.identity, folded)
            done.append(Recorded(reading, outcome, its))
        _spread_rejection(connection, [frame.identity for frame in frames])
    return tuple(done)


def _record(connection: sqlite3.Connection, frame: Frame, row: list[object]) -> Outcome:
    """Write one frame and say what it was."""
    known = connection.execute("SELECT path FROM frames WHERE identity = ?", (frame.identity,)).fetchone()
    if known is not None:
        same, gone = known[0] == frame.file.path, _gone(connection, known[0], frame.identity)
        if same or gone:
            _rewrite(connection, frame, row)
        return "changed" if same else "moved" if gone else "again"
    first = None
    if frame.exposure_key:
        first = connection.execute(
            "SELECT identity, path FROM frames WHERE exposure_key = ? AND copy_of IS NULL", (frame.exposure_key,)
        ).fetchone()
    if first is not None and (first[1] == frame.file.path or _gone(connection, first[1], first[0])):
        # the same exposure, its file rewritten by another program: one frame, now known by its new contents
        connection.execute("UPDATE frames SET identity = ? WHERE identity = ?", (frame.identity, first[0]))
        connection.execute("UPDATE frames SET copy_of = ? WHERE copy_of = ?", (frame.identity, first[0]))
        _rewrite(connection, frame, row)
        return "changed"
    columns = ["identity", *FACTS, *FOUND, "copy_of"]
    places = ", ".join("?" * len(columns))
    connection.execute(
        f"INSERT INTO frames ({', '.join(columns)}) VALUES ({places})",  # noqa: S608 - the names are constants
        [frame.identity, *row, first[0] if first else None],
    )
    return "copy" if first else "new"


def _rewrite(connection: sqlite3.Connection, frame: Frame, row: list[object]) -> None:
    """Write what a known frame's header says now; a target given by hand stays."""
    by_hand = connection.execute(
        "SELECT 1 FROM frames WHERE identity = ? AND matched_by = 'hand'", (frame.identity,)
    ).fetchone()
    columns = FACTS if by_hand else [*FACTS, *FOUND]
    settings = ", ".join(f"{name} = ?" for name in columns)
    connection.execute(
        f"UPDATE frames SET {settings} WHERE identity = ?",  # noqa: S608 - the names are constants
        [*row[: len(columns)], frame.identity],
    )


def _gone(connection: sqlite3.Connection, path: str, identity: str) -> bool:
    """Tell whether a frame's file is no longer where it was."""
    listed = connection.execute("SELECT identity FROM files WHERE path = ?", (path,)).fetchone()
    return listed is None or listed[0] != identity or not Path(path).exists()


def _note_file(
    connection: sqlite3.Connection,
    file: FoundFile,
    identity: str | None,
    folded: Rejection,
    aside: SetAside | None = None,
) -> None:
    """Remember a file, so that it is not read again while it stays as it is."""
    kind, reason = (aside.kind, aside.reason) if aside else ("", "")
    if kind == "unreadable":
        # a matter of rights or of the drive, not of the file: try again next time
        connection.execute("DELETE FROM files WHERE path = ?", (file.path,))
        return
    connection.execute(
        "INSERT OR REPLACE INTO files VALUES (?, ?, ?, ?, ?, ?, ?)",
        (file.path, file.size_bytes, file.modified_ns, identity, is_rejected(file.path, folded), kind, reason),
    )


def _spread_rejection(connection: sqlite3.Connection, identities: Sequence[str]) -> None:
    """Reject the frames of which a file is rejected; a frame without a file stays as it was."""
    connection.executemany(
        "UPDATE frames SET rejected = coalesce("
        "(SELECT max(files.rejected) FROM files WHERE files.identity = frames.identity), rejected)"
        " WHERE identity = ?",
        [(identity,) for identity in identities],
    )


def refresh_rejection(ledger: Ledger, rejection: Rejection) -> int:
    """Hold every known file against the list and the folders of rejected frames; return how many frames changed."""
    folded = rejection.folded()
    rows = ledger.connection.execute(
        "SELECT path, identity, rejected FROM files WHERE identity IS NOT NULL"
    ).fetchall()
    changed = [
        (now, path, identity) for path, identity, before in rows if (now := is_rejected(path, folded)) != bool(before)
    ]
    if not changed:
        return 0
    with ledger.writing() as connection:
        connection.executemany("UPDATE files SET rejected = ? WHERE path = ?", [row[:2] for row in changed])
        _spread_rejection(connection, sorted({row[2] for row in changed}))
    return len({row[2] for row in changed})


def forget_files(ledger: Ledger, paths: Sequence[str]) -> None:
    """Forget files that are no longer there; their frames stay, because their light was collected."""
    if not paths:
        return
    with ledger.writing() as connection:
        touched = {
            row[0]
            for path in paths
            for row in connection.execute(
                "SELECT identity FROM files WHERE path = ? AND identity IS NOT NULL", (path,)
            )
        }
        connection.executemany("DELETE FROM files WHERE path = ?", [(path,) for path in paths])
        for identity in touched:
            # another copy of the file stands in for the one that is gone
            connection.execute(
                "UPDATE frames SET path = coalesce("
                "(SELECT min(files.path) FROM files WHERE files.identity = frames.identity), path)"
                " WHERE identity = ? AND path NOT IN (SELECT path FROM files WHERE identity = ?)",
                (identity, identity),
            )
        _spread_rejection(connection, sorted(touched))


def rematch(ledger: Ledger, targets: Sequence[TargetPlace], compute: Compute, *, every: bool = False) -> int:
    """Match again what had no target, or every frame that was not matched by hand; return how many changed target.

    With `every` all of them, those matched by hand too, are computed anew, as after a change of the site.
    """
    kept = frames_where(ledger.connection, "1" if every else "target_key IS NULL AND matched_by <> 'hand'")
    if not kept:
        return 0
    frames = [one.frame for one in kept]
    fresh = match(frames, targets)
    matches = [old.match if old.match.by == "hand" else new for old, new in zip(kept, fresh, strict=True)]
    todo = [index for index, new in enumerate(matches) if every or new != kept[index].match]
    computed = compute([frames[index] for index in todo], [matches[index].target_key for index in todo])
    settings = ", ".join(f"{name} = ?" for name in FOUND)
    with ledger.writing() as connection:
        connection.executemany(
            f"UPDATE frames SET {settings} WHERE identity = ?",  # noqa: S608 - the names are constants
            [
                [*found_row(matches[index], its), frames[index].identity]
                for index, its in zip(todo, computed, strict=True)
            ],
        )
    return sum(matches[index].target_key != kept[index].match.target_key for index in todo)
