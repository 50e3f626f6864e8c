"""What a notebook's folder looks like just now, cheaply: to know whether anything in it has changed."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from sidelight.notebook.files import ABSENT, fingerprint
from sidelight.notebook.schema.pages import FILES


@dataclass(frozen=True)
class FolderState:
    """A folder as it stands.

    begun : whether it holds any file of a notebook. files : name -> fingerprint, "absent" for none.
    signature : changes whenever a file of the notebook, its stars, its weather table or its ledger does.
    """

    begun: bool
    files: dict[str, str]
    signature: str


def folder_state(folder: Path) -> FolderState:
    """Return the state of a folder; raises BadInput when a file in it cannot be read."""
    files = {name: fingerprint(folder, name) for name in FILES}
    begun = any(print_ != ABSENT for print_ in files.values())
    parts = [f"{name} {print_}" for name, print_ in files.items()] + _others(folder)
    return FolderState(begun, files, hashlib.sha256("\n".join(parts).encode()).hexdigest())


def _others(folder: Path) -> list[str]:
    """Return name, size and time of everything else that answers may rest on: tables, the ledger, deeper stars."""
    found = []
    for place in (folder, folder / "stars"):
        if not place.is_dir():
            continue
        for path in sorted(place.iterdir()):
            if path.name in FILES or path.name.startswith(".") or path.suffix in (".html", ".svg", ".part"):
                continue
            if path.is_file():
                seen = path.stat()
                found.append(f"{path.name} {seen.st_size} {seen.st_mtime_ns}")
    return found
