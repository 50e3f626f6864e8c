"""The ledger's file: opened, checked, never harmed.

SQLite with its rollback journal, so that the ledger is one file that can be copied with the notebook, and each change
is whole or not there: a program that is killed, or a computer that loses its power, loses nothing recorded before.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType

from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.migrations import APPLICATION_ID, STEPS, migrate, version_of

_WAIT_S = 20.0
_OUR_MISTAKES = (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError)


class Ledger:
    """An open ledger. copied_to : the copy made because an older file had to be changed, else None."""

    def __init__(self, connection: sqlite3.Connection, path: Path, copied_to: Path | None = None) -> None:
        self.connection = connection
        self.path = path
        self.copied_to = copied_to

    def __enter__(self) -> "Ledger":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
        if isinstance(error, sqlite3.DatabaseError) and not isinstance(error, _OUR_MISTAKES):
            raise _refusal(error, self.path) from error

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give the connection for one change that is made whole or not at all; raises BadInput when it cannot be."""
        try:
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                # a full disk has rolled back already
                with suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")
                raise
        except sqlite3.DatabaseError as error:
            if isinstance(error, _OUR_MISTAKES):
                raise
            raise _refusal(error, self.path) from error


def open_ledger(path: str | Path, *, create: bool = True, steps: Sequence[str] = STEPS) -> Ledger:
    """Open a ledger, make it when it is not there, and bring an older one up to date after copying it.

    With `create` False a ledger that is not there is an empty one, and no file is made.
    Raises BadInput for a damaged file, another program's file, a ledger of a newer version, one that is in use, or a
    folder that cannot be written; such a file is left as it is.
    """
    where = Path(path)
    if not create and not where.exists():
        return Ledger(_new_connection(":memory:", steps), where)
    if not where.parent.is_dir():
        raise BadInput(Problem("There is no such folder for the ledger.", file=str(where.parent)))
    fresh = not where.exists()
    try:
        connection = sqlite3.connect(where, timeout=_WAIT_S, isolation_level=None)
    except sqlite3.Error as error:
        raise _refusal(error, where) from error
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        _check(connection, where, len(steps))
        return Ledger(connection, where, migrate(connection, where, steps))
    except sqlite3.Error as error:
        connection.close()
        if fresh:
            _sweep(where)
        raise _refusal(error, where) from error
    except UnicodeDecodeError as error:  # SQLite's report quotes what it found
        connection.close()
        raise _damaged(where, "it holds what is no text") from error
    except BaseException:
        connection.close()
        raise


def _sweep(path: Path) -> None:
    """Take away the empty file of a ledger that could not be begun."""
    with suppress(OSError):
        if path.stat().st_size == 0:
            path.unlink()


def _new_connection(name: str, steps: Sequence[str]) -> sqlite3.Connection:
    """Return an empty ledger in memory."""
    connection = sqlite3.connect(name, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    migrate(connection, Path(name), steps)
    return connection


def _check(connection: sqlite3.Connection, path: Path, newest: int) -> None:
    """Raise unless this is a sound ledger that this program may write."""
    report = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if report != "ok":
        raise _damaged(path, str(report))
    version = version_of(connection)
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if mark != APPLICATION_ID and not (empty and version == 0 and mark == 0):
        raise BadInput(
            Problem(
                "This is a database of another program, not a ledger. It was left as it is.",
                file=str(path),
                suggestion="Give the ledger another name.",
            )
        )
    if version > newest:
        raise BadInput(
            Problem(
                f"This ledger was written by a newer Sidelight (version {version}; this one knows {newest})."
                " It was left as it is.",
                file=str(path),
                suggestion="Update Sidelight on this computer, or use the copy that was made beside the ledger.",
            )
        )


def _refusal(error: sqlite3.Error, path: Path) -> BadInput:
    """Return what SQLite says in words that lead on."""
    text = str(error)
    if "locked" in text or "busy" in text:
        return BadInput(
            Problem(
                "The ledger is in use by another program.", file=str(path), suggestion="Wait for it, then repeat."
            )
        )
    if any(word in text for word in ("unable to open", "readonly", "read-only", "full", "disk I/O")):
        return BadInput(
            Problem(
                f"The ledger cannot be written: {text}.",
                file=str(path),
                suggestion="Check that the folder can be written and that the disk has room.",
            )
        )
    return _damaged(path, text)


def _damaged(path: Path, report: str) -> BadInput:
    """Return the refusal of a damaged file."""
    return BadInput(
        Problem(
            f"The ledger is damaged ({report[:100]}). It was left as it is.",
            file=str(path),
            suggestion="Put a copy in its place; or move it away and add the folders of frames again, which brings"
            " back all but what was entered, given or excluded by hand.",
        )
    )
