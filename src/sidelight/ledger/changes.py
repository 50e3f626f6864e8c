"""What a person decides: frames excluded and restored, targets given by hand, hours without files."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath

from sidelight.ground.errors import BadInput, Problem
from sidelight.ledger.files import plain_name
from sidelight.ledger.kept import FOUND, Compute, KeptFrame, found_row, frames_where
from sidelight.ledger.match import Match
from sidelight.ledger.store import Ledger

_FEWEST_LETTERS = 6


@dataclass(frozen=True)
class HandHours:
    """Hours entered by hand. number : the ledger's own, 0 before it is entered. weight : None counts as 1."""

    target_key: str
    filter_name: str
    hours_h: float
    night: dt.date | None = None
    weight: float | None = None
    note: str = ""
    number: int = 0


def all_frames(ledger: Ledger) -> tuple[KeptFrame, ...]:
    """Return every frame in the order of time."""
    return frames_where(ledger.connection)


def find_frames(ledger: Ledger, text: str) -> tuple[KeptFrame, ...]:
    """Return the frames of a file name, a path, or the beginning of an identity.

    Raises BadInput when there is none.
    """
    name = PurePath(text.replace("\\", "/")).name
    found = tuple(
        one
        for one in all_frames(ledger)
        if one.frame.file.path == text
        or (len(text) >= _FEWEST_LETTERS and one.frame.identity.startswith(text))
        or name.casefold() in _names(one.frame.file.path)
    )
    if not found:
        raise BadInput(
            Problem(
                f'The ledger has no frame "{text}".',
                expected="a file's name, its path, or the first six letters or more of a frame's identity",
            )
        )
    return found


def _names(path: str) -> tuple[str, str]:
    """Return a file's name with and without its ending."""
    name = path.replace("\\", "/").rsplit("/", 1)[-1].casefold()
    return name, plain_name(name)


def exclude(ledger: Ledger, identities: Sequence[str], reason: str = "") -> int:
    """Let frames not count; return how many that changes."""
    with ledger.writing() as connection:
        return sum(
            connection.execute(
                "UPDATE frames SET excluded = 1, excluded_reason = ? WHERE identity = ? AND NOT excluded",
                (reason, identity),
            ).rowcount
            for identity in identities
        )


def restore(ledger: Ledger, identities: Sequence[str]) -> int:
    """Let excluded frames count again, and copies as frames of their own; return how many that changes.

    A rejected frame is restored by taking it off the list or out of the folder.
    """
    with ledger.writing() as connection:
        return sum(
            connection.execute(
                "UPDATE frames SET excluded = 0, excluded_reason = '', copy_of = NULL"
                " WHERE identity = ? AND (excluded OR copy_of IS NOT NULL)",
                (identity,),
            ).rowcount
            for identity in identities
        )


def assign(ledger: Ledger, identities: Sequence[str], target_key: str | None, compute: Compute) -> int:
    """Give frames a target by hand, or take it from them (None); that stays. Return how many frames there were."""
    kept = [
        one for identity in identities for one in frames_where(ledger.connection, "frames.identity = ?", identity)
    ]
    frames = [one.frame for one in kept]
    computed = compute(frames, [target_key] * len(frames))
    its = Match(target_key, "hand", "" if target_key else "Set aside by hand.")
    settings = ", ".join(f"{name} = ?" for name in FOUND)
    with ledger.writing() as connection:
        connection.executemany(
            f"UPDATE frames SET {settings} WHERE identity = ?",  # noqa: S608 - the names are constants
            [[*found_row(its, more), frame.identity] for frame, more in zip(frames, computed, strict=True)],
        )
    return len(frames)


def add_hours(ledger: Ledger, hours: HandHours) -> int:
    """Enter hours by hand and return their number; raises BadInput for hours or a weight that cannot be."""
    if not (math.isfinite(hours.hours_h) and 0 < hours.hours_h <= 10000):
        raise BadInput(Problem(f"{hours.hours_h:g} hours cannot be entered.", expected="more than 0, at most 10,000"))
    if hours.weight is not None and not (math.isfinite(hours.weight) and 0 <= hours.weight <= 10):
        raise BadInput(
            Problem(f"A weight of {hours.weight:g} cannot be.", expected="from 0 to 10, 1 for a dark zenith")
        )
    if not hours.target_key:
        raise BadInput(Problem("Hours need a target.", expected="the key of a target in the notebook"))
    night = hours.night.isoformat() if hours.night else None
    with ledger.writing() as connection:
        cursor = connection.execute(
            "INSERT INTO hours (target_key, filter_name, night, hours_h, weight, note) VALUES (?, ?, ?, ?, ?, ?)",
            (hours.target_key, hours.filter_name, night, hours.hours_h, hours.weight, hours.note),
        )
    return int(cursor.lastrowid or 0)


def remove_hours(ledger: Ledger, number: int) -> HandHours:
    """Take back hours entered by hand and return them; raises BadInput for a number that is not there."""
    found = [hours for hours in hand_hours(ledger) if hours.number == number]
    if not found:
        numbers = ", ".join(str(hours.number) for hours in hand_hours(ledger)) or "nothing yet"
        raise BadInput(Problem(f"No hours were entered under number {number}.", expected=numbers))
    with ledger.writing() as connection:
        connection.execute("DELETE FROM hours WHERE number = ?", (number,))
    return found[0]


def hand_hours(ledger: Ledger) -> tuple[HandHours, ...]:
    """Return the hours entered by hand, in the order they were entered."""
    rows = ledger.connection.execute(
        "SELECT target_key, filter_name, hours_h, night, weight, note, number FROM hours ORDER BY number"
    )
    return tuple(
        HandHours(key, name, hours, dt.date.fromisoformat(night) if night else None, weight, note, number)
        for key, name, hours, night, weight, note, number in rows
    )
