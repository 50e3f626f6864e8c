"""Files that a command writes where a person says: whole or not at all, and never over somebody's own."""

from contextlib import suppress
from itertools import takewhile
from pathlib import Path

import click

from sidelight.ground.errors import BadInput, Problem

ANOTHER_PLACE = "Name another place, or make room there."
MARKS = ('name="generator" content="Sidelight"', "-//Sidelight//", 'role="img" aria-labelledby=')
"""By which a card, a calendar and a picture are known as made here."""
HEAD = 2000
"""So many characters from the beginning hold the mark, or a table's head."""


def write_file(path: Path, text: str, say: bool = True) -> None:
    """Write a text file whole or not at all, and say so on standard error.

    A link is followed. An earlier file of the same kind made here is replaced; anything else that is there is left
    alone. Raises BadInput for that, and when the disk refuses.
    """
    scratch = None
    try:
        place = path.resolve()
        _check_free(path, place, text)
        place.parent.mkdir(parents=True, exist_ok=True)
        scratch = place.with_name(place.name + ".part")
        scratch.write_text(text, encoding="utf-8", newline="\n")
        scratch.replace(place)
    except (OSError, RuntimeError) as error:  # RuntimeError: links that lead in a circle, before Python 3.13
        if scratch:
            with suppress(OSError):
                scratch.unlink(missing_ok=True)
        message = f"It cannot be written: {getattr(error, 'strerror', None) or error}."
        raise BadInput(Problem(message, str(path), suggestion=ANOTHER_PLACE)) from error
    if say:
        click.echo(f"Wrote {path}", err=True)


def _check_free(path: Path, place: Path, text: str) -> None:
    """Raise BadInput when something is there that is not an earlier file of the same kind."""
    if not place.exists():
        return
    if not place.is_file():
        raise BadInput(Problem("This is not a file, and is left as it is.", str(path), suggestion=ANOTHER_PLACE))
    with place.open(encoding="utf-8", errors="replace", newline="") as file:
        there = file.read(HEAD)
    if there and not same_kind(there, text[:HEAD]):
        raise BadInput(
            Problem(
                "Something else is in this file, and it is left as it is.",
                str(path),
                suggestion="Name another file; only what this command wrote before is replaced.",
            )
        )


def same_kind(there: str, new: str) -> bool:
    """Tell by their beginnings whether two texts are the same kind of file made here: by mark, else by table head."""
    marks = [mark for mark in MARKS if mark in new]
    return all(mark in there for mark in marks) if marks else _table_head(there) == _table_head(new)


def _table_head(text: str) -> list[str]:
    """Return a table's comments and its row of names."""
    lines = text.splitlines()
    comments = list(takewhile(lambda line: line.startswith("#"), lines))
    return lines[: len(comments) + 1]
