"""What requests about the ledger and the first image bring with them."""

import datetime as dt
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from sidelight.desk.first_image_records import FirstImageReport
from sidelight.ground.dates import FIRST_DATE, LAST_DATE
from sidelight.web.bodies import Name, Strict
from sidelight.web.models import model_of

MOST_FRAMES = 5000
Day = Annotated[dt.date, Field(ge=FIRST_DATE, le=LAST_DATE)]
FrameNames = Annotated[
    list[Annotated[str, Field(min_length=1, max_length=1000)]], Field(min_length=1, max_length=MOST_FRAMES)
]
Pixels = Annotated[float, Field(ge=-100_000.0, le=100_000.0, allow_inf_nan=False)]


class Folders(Strict):
    """Folders on this machine to take frames from. afresh : match every frame once more."""

    folders: list[Annotated[str, Field(min_length=1, max_length=4000)]] = Field(default_factory=list, max_length=50)
    afresh: bool = False


class Frames(Strict):
    """Frames by their identities or file names. reason : why they are left out, kept beside them."""

    frames: FrameNames
    reason: str = Field(default="", max_length=500)


class GivenFrames(Strict):
    """Frames for a target; null takes them from theirs."""

    frames: FrameNames
    target: Name | None


class HandHours(Strict):
    """Hours for which there are no files. weight : what one of them counts, in full when left out."""

    target: Name
    hours_h: float = Field(ge=0.01, le=10_000.0, allow_inf_nan=False)
    filter: str = Field(default="", max_length=60)
    night: Day | None = None
    weight: float | None = Field(default=None, ge=0.0, le=2.0, allow_inf_nan=False)
    note: str = Field(default="", max_length=500)


class GuideStarSeen(Strict):
    """Where the guide star stood on the guide camera's picture: pixels from its left and upper edge."""

    x_px: Pixels
    y_px: Pixels


class ImageAsked(Strict):
    """One image of the tray. side : where the target was, by the header's time when left out."""

    image: str = Field(min_length=1, max_length=64)
    side: Literal["east", "west"] | None = None
    guide_star: GuideStarSeen | None = None


class ImagesAsked(Strict):
    """Which images to judge, against which set-up. learn : keep in the notebook what they say."""

    images: list[ImageAsked] = Field(min_length=1, max_length=12)
    date: Day | None = None
    setup: Name | None = None
    bench_day: Day | None = None
    learn: bool = False


class OnTray(BaseModel):
    """An image that has come in."""

    image: str
    name: str
    bytes_count: int


class Checked(BaseModel):
    """What images say. check : by which its pictures are asked for. framed : targets that have a picture."""

    check: str
    guided: bool
    pictured: list[str]
    report: model_of(FirstImageReport)  # type: ignore[valid-type]
