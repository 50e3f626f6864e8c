"""The records of the first image: what is asked, and the answer."""

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path

from sidelight.desk.bench_records import BenchReport
from sidelight.desk.setup import SetupReport
from sidelight.desk.sightings import GuideSpot, SeenStar
from sidelight.notebook.settings import Measured
from sidelight.rig.mount import Side
from sidelight.rig.records import Picture
from sidelight.setup.records import GuideStar


@dataclass(frozen=True)
class CheckQuestion:
    """Which images, against which set-up. sides : none, one, or one for each image (see `read_solved`)."""

    files: tuple[Path, ...]
    date: dt.date | None = None
    setup: str | None = None
    sides: tuple[Side, ...] = ()
    spots: tuple[GuideSpot, ...] = ()
    bench_day: dt.date | None = None


@dataclass(frozen=True)
class ImageReport:
    """One solved image.

    up_deg : position angle of the picture's up as it stands; camera_angle_deg : the same as for targets in the west.
    expected_deg : what the plan would give here, the pole of date allowed for. difference_deg : camera angle less
    expected, half a turn taken off where the picture stands on its head. focal_length_mm : by its scale.
    """

    file: str
    middle_utc: dt.datetime | None
    night: dt.date | None
    side: Side
    target: str | None
    centre_ra_deg: float
    centre_dec_deg: float
    up_deg: float
    camera_angle_deg: float
    expected_deg: float
    difference_deg: float
    scale_arcsec_per_px: float
    focal_length_mm: float
    width_deg: float
    height_deg: float
    mirrored: bool
    skew_deg: float
    sound: bool
    written_as: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class TurnReport:
    """One turn that brings a part to its plan.

    part : what is turned. on_sky_deg : to be added to its angle on the sky. sense : "clockwise", "counter-clockwise"
    or "none", as seen by who reads the bench angles. by_deg : how far.
    """

    part: str
    on_sky_deg: float
    sense: str
    by_deg: float


@dataclass(frozen=True)
class PlaceNow:
    """One target on one side as it now stands, beside the plan; star and place are null when none is there.

    lost : needed, served by the plan, and no longer. frame_slack_deg : turn of the camera that cuts something off.
    """

    target: str
    side: Side
    needed: bool
    star: GuideStar | None
    place_on_sensor_px: tuple[float, float] | None
    slack_deg: float
    planned_slack_deg: float
    framed: bool
    frame_slack_deg: float
    lost: bool


@dataclass(frozen=True)
class StemReport:
    """Where the guider's stem really is; settled false: it rests on an assumption, which the notes name."""

    stem_radius_mm: float
    stem_radius_error_mm: float | None
    stem_offset_deg: float
    stem_offset_error_deg: float | None
    guider_angle_deg: float
    planned_guider_angle_deg: float
    tilt_deg: float
    tilt_error_deg: float | None
    settled: bool
    stars: tuple[SeenStar, ...]


@dataclass(frozen=True)
class FirstImageReport:
    """The answer to "turn it, or leave it?".

    verdict : "leave", "turn", "better_turned", or "undecided" where the images disagree by more than the slack; then
    `turns` is empty and nothing is learnt.

    camera_angle_deg : where the camera stands by all images, as the plan counts it: ICRS at the targets' mean, while
    the images' own are ICRS at their places, where the pole of date stands otherwise; half a turn is no matter;
    difference_deg : that less the plan; half_turn : the picture stands on its head. by_rotator : a
    rotator makes the turn, and `places` holds with it. flip_deg : how much greater in the west than in the east.
    gauge_to_sky_deg : camera angle on the sky less the angle set on the bench; its error holds gauge and seat.
    learned_in : the file in which it was kept, null when it was only shown. guide_picture_stands : as what the guide
    camera's picture is taken, by rig.toml or by the guide stars, null while it is open; guide_picture_may_stand : the
    ways that are left.
    """

    notebook: str
    date: dt.date
    setup: str | None
    verdict: str
    sentence: str
    images: tuple[ImageReport, ...]
    planned_camera_angle_deg: float
    camera_angle_deg: float
    difference_deg: float
    difference_error_deg: float | None
    half_turn: bool
    by_rotator: bool
    view: str
    turns: tuple[TurnReport, ...]
    places: tuple[PlaceNow, ...]
    slack_deg: float
    planned_slack_deg: float
    focal_length_mm: float
    focal_length_error_mm: float
    focal_length_in_use_mm: float
    gauge_to_sky_deg: float
    gauge_to_sky_error_deg: float
    gauge_to_sky_words: str
    flip_deg: float | None
    flip_error_deg: float | None
    cone_arcmin: float | None
    cone_error_arcmin: float | None
    declination_arcmin: float | None
    declination_error_arcmin: float | None
    stem: StemReport | None
    learned_in: str | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    guide_picture_stands: Picture | None = None
    guide_picture_may_stand: tuple[Picture, ...] = ()
    entry: Measured | None = field(default=None, metadata={"json": False}, repr=False)
    now: SetupReport | None = field(default=None, metadata={"json": False}, repr=False)
    bench: BenchReport | None = field(default=None, metadata={"json": False}, repr=False)
