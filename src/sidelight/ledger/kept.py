"""Frames as the ledger keeps them: written and read back."""

import datetime as dt
import json
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from sidelight.ledger.files import FoundFile
from sidelight.ledger.frames import Frame
from sidelight.ledger.match import Match

COUNTED = "target_key IS NOT NULL AND copy_of IS NULL AND NOT rejected AND NOT excluded"
"""The one definition of a frame whose light counts."""


@dataclass(frozen=True)
class Computed:
    """What others work out for a frame; None for what cannot be known, as without a target and coordinates.

    night : local date of its evening. side : of the meridian that the target was on, "east", "west" or "any".
    altitude_deg : at the middle of the exposure. weight : effective hours that one clock hour of it was worth.
    """

    night: dt.date | None = None
    side: str | None = None
    altitude_deg: float | None = None
    weight: float | None = None


Compute = Callable[[Sequence[Frame], Sequence[str | None]], Sequence[Computed]]
"""Takes frames and the keys of their targets (None for none) and returns what is computed for each."""


def nothing_computed(frames: Sequence[Frame], target_keys: Sequence[str | None]) -> Sequence[Computed]:  # noqa: ARG001
    """Return that nothing is known."""
    return [Computed()] * len(frames)


@dataclass(frozen=True)
class KeptFrame:
    """A frame in the ledger, its match, what was computed, and whether it counts.

    copy_of : identity of the frame that this is another form of. present : whether its file was there when its folder
    was last added.
    """

    frame: Frame
    match: Match
    computed: Computed
    copy_of: str | None
    rejected: bool
    excluded: bool
    excluded_reason: str
    present: bool

    @property
    def counts(self) -> bool:
        """Whether its light counts."""
        return not self.why_not

    @property
    def why_not(self) -> str:
        """Why it does not count; "" when it does."""
        if self.excluded:
            return f"Excluded by hand. {self.excluded_reason}".strip()
        if self.rejected:
            return "Rejected: in the list, or in a folder for rejected frames."
        if self.copy_of:
            return "Another form of a frame that counts already: same start, exposure, camera and filter."
        return "" if self.match.target_key else self.match.reason


FACTS = (
    *(
        "exposure_key",
        "path",
        "object_name",
        "filter_name",
        "exposure_s",
        "start_mjd",
        "ra_deg",
        "dec_deg",
        "pointing",
    ),
    *("camera", "telescope", "temperature_c", "gain", "binning", "pixel_um", "focal_length_mm"),
    *("width_px", "height_px", "notes"),
)
FOUND = ("target_key", "matched_by", "match_reason", "night", "side", "altitude_deg", "weight")


def facts_row(frame: Frame) -> list[Any]:
    """Return the columns of FACTS."""
    special = {"path": frame.file.path, "notes": json.dumps(frame.notes, ensure_ascii=False)}
    return [special[name] if name in special else getattr(frame, name) for name in FACTS]


def found_row(match: Match, computed: Computed) -> list[Any]:
    """Return the columns of FOUND."""
    night = computed.night.isoformat() if computed.night else None
    return [match.target_key, match.by, match.reason, night, computed.side, computed.altitude_deg, computed.weight]


def frames_where(connection: sqlite3.Connection, condition: str = "1", *values: object) -> tuple[KeptFrame, ...]:
    """Return kept frames in the order of time; `condition` is SQL of this room's own, values go in its places."""
    columns = ", ".join(f"frames.{name}" for name in ("identity", *FACTS, *FOUND))
    rows = connection.execute(
        f"SELECT {columns}, copy_of, frames.rejected, excluded, excluded_reason, size_bytes, modified_ns,"  # noqa: S608
        " EXISTS (SELECT 1 FROM files AS any_file WHERE any_file.identity = frames.identity)"
        f" FROM frames LEFT JOIN files ON files.path = frames.path AND files.identity = frames.identity"
        f" WHERE {condition} ORDER BY start_mjd, frames.identity",
        values,
    )
    return tuple(_kept(row) for row in rows)


def _kept(row: tuple[Any, ...]) -> KeptFrame:
    """Return the record of a row."""
    identity, *rest = row
    facts = dict(zip(FACTS, rest, strict=False))
    found = dict(zip(FOUND, rest[len(FACTS) :], strict=False))
    copy_of, rejected, excluded, reason, size, modified, present = rest[len(FACTS) + len(FOUND) :]
    facts["file"] = FoundFile(facts.pop("path"), size or 0, modified or 0)
    facts["notes"] = tuple(json.loads(facts["notes"]))
    night = dt.date.fromisoformat(found["night"]) if found["night"] else None
    return KeptFrame(
        Frame(identity=identity, **facts),
        Match(found["target_key"], found["matched_by"], found["match_reason"]),
        Computed(night, found["side"], found["altitude_deg"], found["weight"]),
        copy_of,
        bool(rejected),
        bool(excluded),
        reason,
        bool(present),
    )
