"""Folders added to the ledger: look, skip what is known, read the rest, record it batch by batch."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from sidelight.ledger.files import NOTHING_REJECTED, Found, FoundFile, Rejection, find_files
from sidelight.ledger.frames import SetAside, read_frame
from sidelight.ledger.kept import Compute, nothing_computed
from sidelight.ledger.match import TargetPlace
from sidelight.ledger.recording import Recorded, forget_files, record_frames, refresh_rejection, rematch
from sidelight.ledger.store import Ledger

Progress = Callable[[int, int], None]
"""Called with (files read, files to read)."""

_BATCH = 500
_READERS = 4


@dataclass(frozen=True)
class Added:
    """What adding folders did.

    files_count : FITS files found. known_count : of them, those that have not changed since they were last read.
    recorded : what became of each file that was read. gone_count : files that are no longer there; their frames stay.
    rejection_changed_count, matched_count : known frames that are now rejected or no longer, that now have a target.
    others_count, other_kinds : files that are not FITS by name, and how their names end.
    unread : places that would not open, with the reason.
    """

    files_count: int
    known_count: int
    recorded: tuple[Recorded, ...]
    gone_count: int = 0
    rejection_changed_count: int = 0
    matched_count: int = 0
    others_count: int = 0
    other_kinds: tuple[str, ...] = ()
    unread: tuple[tuple[str, str], ...] = ()

    def count(self, outcome: str) -> int:
        """Return how many files had an outcome."""
        return sum(one.outcome == outcome for one in self.recorded)

    @property
    def set_aside(self) -> tuple[SetAside, ...]:
        """The files that give no light frame."""
        return tuple(one.reading for one in self.recorded if isinstance(one.reading, SetAside))

    @property
    def unmatched(self) -> tuple[Recorded, ...]:
        """The frames that have no target, with the reason in their match."""
        return tuple(one for one in self.recorded if one.match is not None and one.match.target_key is None)


def add_folders(
    ledger: Ledger,
    folders: Iterable[str | Path],
    *,
    targets: Sequence[TargetPlace] = (),
    compute: Compute = nothing_computed,
    rejection: Rejection = NOTHING_REJECTED,
    progress: Progress | None = None,
    batch: int = _BATCH,
) -> Added:
    """Add the frames in and below some folders; again and again if you like, for what is known is not read again.

    A file is known by its path, size and time of change; a frame by its beginning, exposure, size and first pixels.
    Each batch is one transaction: stopped at any moment, the ledger holds whole batches; the next run does the rest.
    Frames that had no target are matched again. Raises BadInput for a folder that is not there.
    """
    found = find_files(folders)
    known = {path: (size, changed) for path, size, changed in _known_files(ledger)}
    fresh = [file for file in found.files if known.get(file.path) != (file.size_bytes, file.modified_ns)]
    gone = _gone(found, known)
    forget_files(ledger, gone)
    recorded: list[Recorded] = []
    # threads, because a network drive keeps each of them waiting
    with ThreadPoolExecutor(_READERS) as readers:
        for part in _batches(fresh, batch):
            readings = list(readers.map(read_frame, part))
            recorded += record_frames(ledger, readings, compute, targets=targets, rejection=rejection)
            if progress:
                progress(len(recorded), len(fresh))
    return Added(
        files_count=len(found.files),
        known_count=len(found.files) - len(fresh),
        recorded=tuple(recorded),
        gone_count=len(gone),
        rejection_changed_count=refresh_rejection(ledger, rejection),
        matched_count=rematch(ledger, targets, compute),
        others_count=found.others_count,
        other_kinds=found.other_kinds,
        unread=found.unread,
    )


def _known_files(ledger: Ledger) -> Iterable[tuple[str, int, int]]:
    """Return path, size and time of change of every known file."""
    return ledger.connection.execute("SELECT path, size_bytes, modified_ns FROM files").fetchall()


def _gone(found: Found, known: Iterable[str]) -> list[str]:
    """Return the known files that should lie below the folders looked through and do not."""
    present = {file.path for file in found.files}
    tops = tuple(folder.rstrip(os.sep) + os.sep for folder in found.folders)
    closed = tuple(place for place, _ in found.unread)
    return [
        path
        for path in known
        if path not in present
        and path.startswith(tops)
        and not any(path == place or path.startswith(place.rstrip(os.sep) + os.sep) for place in closed)
    ]


def _batches(files: Sequence[FoundFile], size: int) -> Iterator[Sequence[FoundFile]]:
    """Cut a sequence into pieces."""
    for at in range(0, len(files), size):
        yield files[at : at + size]
