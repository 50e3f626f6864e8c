"""What a night's report holds."""

import datetime as dt
from dataclasses import dataclass, field

from sidelight.desk.worth import Basis
from sidelight.ground.types import FloatArray
from sidelight.setup.records import GuideStar, Side


@dataclass(frozen=True)
class WindowReport:
    """A span in which a target can be photographed."""

    start_utc: dt.datetime
    end_utc: dt.datetime


@dataclass(frozen=True)
class GuideReport:
    """The guide star of one side: None when the set-up has none there."""

    side: Side
    star: GuideStar | None
    place_on_sensor_px: tuple[float, float] | None
    slack_deg: float


@dataclass(frozen=True)
class TargetNightReport:
    """One target tonight.

    flip_utc : when the mount flips on it, None when that is not while it is usable or the mount never flips.
    urgency : hours wanted over hours left this season. guides : by side, those the windows use.
    camera_angle_deg : the rotator's angle for this target, or the set-up's.
    """

    target: str
    windows: tuple[WindowReport, ...]
    dark_hours: float
    hours_east: float
    hours_west: float
    max_altitude_deg: float | None
    min_altitude_deg: float | None
    transit_utc: dt.datetime
    flip_utc: dt.datetime | None
    urgency: float
    worth_by: Basis
    reason: str
    guides: tuple[GuideReport, ...]
    camera_angle_deg: float | None
    pointing_ra_deg: float
    pointing_dec_deg: float


@dataclass(frozen=True)
class StretchReport:
    """A planned stay on a target. effective_hours : what it is worth in the filter that the target is counted in."""

    target: str
    start_utc: dt.datetime
    end_utc: dt.datetime
    hours: float
    sides: tuple[Side, ...]
    flip_utc: dt.datetime | None
    effective_hours: float
    filter: str


@dataclass(frozen=True)
class EventReport:
    """Something Sun or Moon does."""

    kind: str
    at_utc: dt.datetime


@dataclass(frozen=True)
class NightCurves:
    """What the night's picture is drawn from; times in MJD, altitudes in degrees."""

    times_mjd: FloatArray
    sun_altitude_deg: FloatArray
    moon_altitude_deg: FloatArray
    altitude_deg: dict[str, FloatArray]
    windows_mjd: dict[str, tuple[tuple[float, float], ...]]
    plan_mjd: tuple[tuple[str, float, float, str], ...]
    flips_mjd: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class NightReport:
    """The night named by its evening's date. darkness : "dark", "never_dark" or "always_dark".

    effective_hours : what the plan is worth, in hours at the moonless zenith. moon_takes_share : of that, 0 to 1.
    set_up : which set-up the plan goes by, in a sentence that stands first among the notes. guide_picture : how the
    places on the guide sensor and the guide camera's own picture go together.
    """

    date: dt.date
    site: str
    time_zone: str
    zone: str
    darkness: str
    dusk_utc: dt.datetime | None
    dawn_utc: dt.datetime | None
    dark_hours: float
    moon_illuminated_fraction: float
    moon_waxing: bool
    moon_up_hours: float
    events: tuple[EventReport, ...]
    plan: tuple[StretchReport, ...]
    targets: tuple[TargetNightReport, ...]
    effective_hours: float
    moon_takes_share: float
    set_up: str
    sentence: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    floor_deg: float
    twilight_deg: float
    guide_width_px: int | None
    guide_height_px: int | None
    guide_usable_width_px: float | None
    guide_usable_height_px: float | None
    guide_picture: str
    curves: NightCurves = field(metadata={"json": False}, repr=False)
