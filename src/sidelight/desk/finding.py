"""Finding objects while a name is being typed, and taking targets on and off the list."""

from dataclasses import dataclass
from pathlib import Path

from sidelight.ground.errors import BadInput
from sidelight.notebook.edit import add_target as write_target
from sidelight.notebook.edit import remove_target as unwrite_target
from sidelight.targets.names import find, suggest


@dataclass(frozen=True)
class FoundObject:
    """An object whose name begins like what was typed; `words` say what it is."""

    name: str
    words: str
    ra_deg: float
    dec_deg: float


@dataclass(frozen=True)
class FoundObjects:
    """What a beginning may mean, best first."""

    text: str
    objects: tuple[FoundObject, ...]


def find_objects(text: str, most: int = 8) -> FoundObjects:
    """Return objects of the catalogue for a name that is being typed; none is an answer too."""
    found = []
    for name in suggest(text, most):
        try:
            thing = find(name)
        except BadInput:
            continue
        size = "" if thing.major_arcmin is None else f"{thing.major_arcmin:.3g}′"
        common = thing.common_names[0] if thing.common_names else ""
        shown = common if common != name else thing.name
        words = ", ".join(part for part in (shown, thing.kind_text, size, thing.constellation) if part)
        found.append(FoundObject(name, words, thing.ra_deg, thing.dec_deg))
    return FoundObjects(text, tuple(found))


def add_target(folder: Path, name: str, seen: str | None = None) -> str:
    """Put an object on the list of targets; return the file's new fingerprint.

    Raises BadInput, with nothing written, for an unknown object, one that is on the list, or a file changed since
    it was `seen`.
    """
    return write_target(folder, name, seen)


def remove_target(folder: Path, name: str, seen: str | None = None) -> str:
    """Take a target off the list; return the file's new fingerprint; raises BadInput as `add_target`."""
    return unwrite_target(folder, name, seen)
