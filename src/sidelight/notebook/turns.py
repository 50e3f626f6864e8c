"""One program at a time changes a notebook: a lock that a program which dies leaves behind nowhere."""

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sidelight.ground.errors import BadInput, Problem

WAIT_S = 20.0
_STEP_S = 0.01
_HELD = (errno.EAGAIN, errno.EACCES, errno.EWOULDBLOCK, errno.EEXIST)


@contextmanager
def own_turn(folder: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Wait until no other program changes this notebook, and keep the others waiting meanwhile.

    Where the disk knows no locks (some network disks) nothing is held; the look at the file just before it is
    replaced is the only guard then. Raises BadInput when another program does not finish in time.
    """
    handle = _wait(folder, wait_s)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _wait(folder: Path, wait_s: float) -> int | None:
    """Return the handle that holds the lock, None where there are no locks."""
    last = time.monotonic() + wait_s
    while True:
        try:
            return _take(folder)
        except OSError as error:
            if error.errno not in _HELD or not os.access(folder, os.W_OK):
                return None
        if time.monotonic() >= last:
            message = "Another program has been changing this notebook for a while."
            advice = "Nothing was written. Close the other one, or wait for it, then repeat."
            raise BadInput(Problem(message, str(folder), suggestion=advice))
        time.sleep(_STEP_S)


if sys.platform == "win32":

    def _take(folder: Path) -> int:
        """Make a file that only one can make, and that goes with its handle."""
        flags = os.O_CREAT | os.O_EXCL | os.O_RDWR | os.O_TEMPORARY
        return os.open(folder / ".being-changed", flags)

else:

    def _take(folder: Path) -> int:
        """Lock the folder itself; the system frees it with its handle."""
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(handle)
            raise
        return handle
