"""One thing that the doctor looked at, and how it is."""

from dataclasses import dataclass
from typing import Literal

Part = Literal["program", "data", "computer", "notebook"]


@dataclass(frozen=True)
class Finding:
    """state : "odd" asks for a look, "note" only tells."""

    part: Part
    name: str
    state: Literal["fine", "note", "odd"]
    sentence: str


def fine(part: Part, name: str, sentence: str) -> Finding:
    """Return something that is as it should be."""
    return Finding(part, name, "fine", sentence)


def note(part: Part, name: str, sentence: str) -> Finding:
    """Return something worth knowing."""
    return Finding(part, name, "note", sentence)


def odd(part: Part, name: str, sentence: str) -> Finding:
    """Return something that asks for a look."""
    return Finding(part, name, "odd", sentence)
