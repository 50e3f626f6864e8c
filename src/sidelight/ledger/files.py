"""FITS files below folders, found by their names and sizes only, and which of them a person rejects."""

import os
import stat
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.text_files import read_text

SUFFIXES = (".fits", ".fit", ".fts", ".fits.gz", ".fit.gz", ".fts.gz", ".fits.fz", ".fit.fz", ".fts.fz", ".fz")


@dataclass(frozen=True)
class FoundFile:
    """A file as the file system lists it: absolute path, size, and when it was changed."""

    path: str
    size_bytes: int
    modified_ns: int


@dataclass(frozen=True)
class Found:
    """What lies below some folders. unread : folders that would not open.

    others_count, other_kinds : files of other kinds, and the endings of their names, the commonest first.
    """

    folders: tuple[str, ...]
    files: tuple[FoundFile, ...]
    others_count: int = 0
    other_kinds: tuple[str, ...] = ()
    unread: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Rejection:
    """Which files do not count: all in folders of these names, at any depth, and files of these names.

    A file's name may be given with or without its ending; capitals make no difference.
    """

    folders: tuple[str, ...] = ()
    names: frozenset[str] = frozenset()

    def folded(self) -> "Rejection":
        """Return the same with capitals taken out."""
        names = frozenset(name.casefold() for name in self.names)
        return Rejection(tuple(folder.casefold() for folder in self.folders), names)


NOTHING_REJECTED = Rejection()


def find_files(folders: Iterable[str | Path]) -> Found:
    """Return the FITS files in and below some folders, sorted by path; a file may be named itself.

    Links to folders are not followed, so that no file is met twice and no circle entered; special files are left out.
    Folders that may not be read are reported. Raises BadInput for a folder that is not there.
    """
    roots = [Path(folder).expanduser().absolute() for folder in folders]
    missing = [root for root in roots if not root.exists()]
    if missing:
        raise BadInput(
            Problem(
                "There is no such folder.",
                file=str(root),
                suggestion="Check its name, and whether its drive is connected; nothing was changed.",
            )
            for root in missing
        )
    files: dict[str, FoundFile] = {}
    unread: list[tuple[str, str]] = []
    others: Counter[str] = Counter()
    waiting = [str(root.resolve()) for root in roots]
    tops = tuple(waiting)
    while waiting:
        place = waiting.pop()
        try:
            entries = [Path(place)] if Path(place).is_file() else list(os.scandir(place))
        except OSError as error:
            unread.append((place, error.strerror or str(error)))
            continue
        for entry in entries:
            path = os.fspath(entry)
            kind = _kind(entry, path, files, unread)
            if kind == "other":
                others[Path(path).suffix.casefold()] += 1
            if kind == "folder":
                waiting.append(path)
    kinds = tuple(ending for ending, _ in others.most_common() if ending)
    return Found(tops, tuple(files[path] for path in sorted(files)), others.total(), kinds, tuple(unread))


def _kind(
    entry: "os.DirEntry[str] | Path", path: str, files: dict[str, FoundFile], unread: list[tuple[str, str]]
) -> str:
    """Note an entry where it belongs, and say what it is."""
    try:
        if isinstance(entry, os.DirEntry) and entry.is_dir(follow_symlinks=False):
            return "folder"
        if not path.casefold().endswith(SUFFIXES):
            return "other"
        facts = entry.stat()
    except OSError as error:
        unread.append((path, error.strerror or str(error)))
        return "unread"
    if not stat.S_ISREG(facts.st_mode):
        return "other"
    try:
        path.encode("utf-8")
    except UnicodeEncodeError:
        unread.append((path.encode("utf-8", "replace").decode(), "Its name is not UTF-8 text; rename it."))
        return "unread"
    files[path] = FoundFile(path, facts.st_size, facts.st_mtime_ns)
    return "file"


def is_rejected(path: str, folded: Rejection) -> bool:
    """Tell whether a file is rejected; `folded` is a Rejection with capitals taken out."""
    parts = path.casefold().replace("\\", "/").split("/")
    if not set(folded.folders).isdisjoint(parts[:-1]):
        return True
    return not folded.names.isdisjoint((parts[-1], plain_name(parts[-1])))


def plain_name(name: str) -> str:
    """Return a file's name without its ending."""
    folded = name.casefold()
    for suffix in sorted(SUFFIXES, key=len, reverse=True):
        if folded.endswith(suffix):
            return name[: -len(suffix)]
    return name


def read_rejected_list(path: str | Path) -> frozenset[str]:
    """Return the names in a text file, one a line; what follows # is a remark, and folders before a name are dropped.

    Raises BadInput when the file cannot be read.
    """
    text = read_text(Path(path), "The list of rejected frames", "a text file in UTF-8 with one file name a line")
    lines = (line.split("#")[0].strip().replace("\\", "/") for line in text.splitlines())
    return frozenset(line.rsplit("/", 1)[-1] for line in lines if line)
