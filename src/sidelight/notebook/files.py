"""A notebook's files as bytes and text: reading them, knowing them again, replacing them whole or not at all."""

import hashlib
import os
import secrets
import shutil
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from sidelight.ground.errors import BadInput, Problem

LARGEST_BYTES = 4_000_000
ABSENT = "absent"
MEND_LINK = "Put back the file that it led to, or take the link away."
UTF8_BOM = b"\xef\xbb\xbf"
OTHER_BOMS = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class Folder:
    """A notebook's folder, with the contents that some files are about to have.

    planned : name -> contents that stand in for the file on the disk; None for a file about to go.
    """

    path: Path
    planned: Mapping[str, bytes | None] = field(default_factory=dict)

    def read(self, name: str) -> bytes | None:
        """Return a file's bytes, None when there is none; raises BadInput when it cannot be read."""
        if name in self.planned:
            return self.planned[name]
        path = self.path / name
        try:
            if not path.exists():
                if path.is_symlink():
                    raise BadInput(Problem("This link leads nowhere.", name, suggestion=MEND_LINK))
                return None
            if not path.is_file():
                raise BadInput(Problem("This is no file.", name, suggestion="Move it out of the notebook's folder."))
            if path.stat().st_size > LARGEST_BYTES:
                raise BadInput(_too_big(name))
            return path.read_bytes()
        except OSError as error:
            raise BadInput(Problem(f"It cannot be read: {error.strerror or error}.", name)) from error


def _too_big(name: str) -> Problem:
    """Return the problem of a file that cannot be what its name says."""
    return Problem(
        "It is too big for a file that a person writes.",
        name,
        expected=f"at most {LARGEST_BYTES // 1_000_000} million bytes",
        suggestion="Something else was saved under this name; put your own file back.",
    )


def as_text(name: str, data: bytes) -> str:
    """Return a file's text without a byte order mark, line ends as they are; raises BadInput when it is not text."""
    if len(data) > LARGEST_BYTES:
        raise BadInput(_too_big(name))
    save_again = "Open it in a plain text editor and save it as UTF-8."
    if data.startswith(OTHER_BOMS):
        raise BadInput(Problem("It is saved as UTF-16.", name, line=1, expected="UTF-8 text", suggestion=save_again))
    body = data.removeprefix(UTF8_BOM)
    if b"\0" in body:
        line = body[: body.index(b"\0")].count(b"\n") + 1
        raise BadInput(
            Problem(
                "It is not a text file.",
                name,
                line=line,
                expected="UTF-8 text",
                suggestion="Something else was saved under this name; put your own file back.",
            )
        )
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        line = body[: error.start].count(b"\n") + 1
        message = "There is a sign here that is not UTF-8."
        raise BadInput(Problem(message, name, line=line, expected="UTF-8 text", suggestion=save_again)) from error


def fingerprint_of(data: bytes | None) -> str:
    """Return what tells whether a file has changed since."""
    return ABSENT if data is None else hashlib.sha256(data).hexdigest()


def fingerprint(folder: Path, name: str) -> str:
    """Return the fingerprint of a file as it stands on the disk."""
    return fingerprint_of(Folder(folder).read(name))


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: a power cut leaves the old contents or the new ones.

    A link is followed, the file's permissions stay. Raises BadInput when the disk refuses.
    """
    target = path.resolve()
    scratch = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        with scratch.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, scratch)
        scratch.replace(target)
        _flush_folder(target.parent)
    except OSError as error:
        raise BadInput(
            Problem(
                f"It cannot be written: {error.strerror or error}.",
                str(path),
                suggestion="Nothing was changed. Look at the disk's space and the folder's permissions.",
            )
        ) from error
    finally:
        with suppress(OSError):
            scratch.unlink(missing_ok=True)


def _flush_folder(folder: Path) -> None:
    """Make the renaming itself last through a power cut, where the system can."""
    if os.name == "nt":
        return
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
