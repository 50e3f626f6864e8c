"""What requests bring with them, and the short answers to changes."""

import datetime as dt
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from sidelight.ground.dates import FIRST_DATE, LAST_DATE
from sidelight.web.refusals import Refusal

LONGEST_NAME = 200


class Strict(BaseModel):
    """A body in which nothing unknown may stand."""

    model_config = ConfigDict(extra="forbid")


class NewTarget(Strict):
    """An object to put on the list. seen : the list's fingerprint when the person last saw it."""

    name: str = Field(min_length=1, max_length=LONGEST_NAME)
    seen: str | None = Field(default=None, max_length=64)


class Written(BaseModel):
    """What was changed: the file's new fingerprint, and a sentence."""

    fingerprint: str
    words: str


Angle = Annotated[float, Field(ge=-360.0, le=360.0, allow_inf_nan=False)]
Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]


class DialQuestion(Strict):
    """What the set-up page asks beyond the notebook; everything may be left out."""

    date: dt.date | None = Field(default=None, ge=FIRST_DATE, le=LAST_DATE)
    nights: int = Field(default=30, ge=1, le=400)
    camera_angle_deg: Angle | None = None
    stem_offset_deg: Angle | None = None
    grant_shift_arcmin: float | None = Field(default=None, ge=0.0, le=60.0, allow_inf_nan=False)
    leave_out: list[Name] = Field(default_factory=list, max_length=100)
    refuse: list[Literal["saturating", "companions"]] = Field(default_factory=list, max_length=2)


class StarsQuestion(Strict):
    """How deep to fetch stars; the guider's reach and a margin if left out."""

    limit_mag: float | None = Field(default=None, ge=-2.0, le=21.0, allow_inf_nan=False)


class Pose(Strict):
    """Where one target stands."""

    target: Name
    ra_deg: float = Field(ge=0.0, le=360.0, allow_inf_nan=False)
    dec_deg: float = Field(ge=-90.0, le=90.0, allow_inf_nan=False)
    camera_angle_deg: Angle


class TurnedSetUp(Strict):
    """Angles as they stand on the dial, to be kept by name. replacing : also where it stands for others already."""

    name: Name
    poses: list[Pose] = Field(min_length=1, max_length=100)
    stem_offset_deg: Angle | None = None
    in_use: bool = True
    note: str | None = Field(default=None, max_length=1000)
    replacing: bool = False


class BegunJob(BaseModel):
    """A job that has been begun in the background."""

    name: str
    state: Literal["running", "done", "stopped", "refused"]


class JobState(BegunJob):
    """How far a job is. done_fraction : null while nobody knows."""

    done_fraction: float | None
    words: str
    seconds: float
    refusal: Refusal | None


Typed = Annotated[str, Field(max_length=2000)]
KeyName = Annotated[str, Field(min_length=1, max_length=200)]
Seen = Annotated[str | None, Field(default=None, max_length=64)]


class TypedValues(Strict):
    """Keys of one file as they were typed; empty lets the usual value hold. seen : the file's fingerprint then."""

    file: KeyName
    values: dict[KeyName, Typed] = Field(max_length=200)
    seen: Seen = None


class TypedRow(Strict):
    """A new row of a table that repeats, as it was typed."""

    file: KeyName
    table: KeyName
    values: dict[KeyName, Typed] = Field(max_length=100)
    seen: Seen = None


class SkylinePoints(Strict):
    """The skyline: (bearing, altitude) in degrees, as the file counts bearings."""

    points_deg: list[tuple[float, float]] = Field(max_length=4000)
    seen: Seen = None


class Answers(Strict):
    """Answers to the questions of a new notebook, as they were typed, by their keys; and the first targets."""

    answers: dict[KeyName, Typed] = Field(max_length=200)
    targets: list[Name] = Field(default_factory=list, max_length=200)
    part: KeyName | None = None
