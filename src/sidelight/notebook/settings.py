"""What a notebook says beyond site, rig and targets: frozen records of wishes, sky, learned angles and services."""

import datetime as dt
from dataclasses import dataclass, field

from sidelight.campaign.records import Rules
from sidelight.campaign.weather import Weather
from sidelight.light.exposure import ExposureWish
from sidelight.light.filters import USUAL_FILTERS, Filter
from sidelight.sky.brightness import NightSky


@dataclass(frozen=True)
class Goal:
    """What is wanted of one target.

    filters_h : hours for each filter by name; empty when the target's hours in all count.
    finish : half the worth lies in finishing this season; False when it may be carried over.
    """

    target: str
    priority_weight: float = 1.0
    finish: bool = True
    filters_h: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class UsableNights:
    """The person's own nights, named by their evenings; weekdays count from Monday, 0.

    latest_bedtime : by the clock at the site, None until dawn. An hour before noon is after midnight.
    """

    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    dates_off: tuple[dt.date, ...] = ()
    latest_bedtime: dt.time | None = None
    setup_weekdays: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    setup_dates_off: tuple[dt.date, ...] = ()
    planned_nights_count: int = 120

    def can_use(self, evening: dt.date) -> bool:
        """Return whether the person can go out on the evening of a date."""
        return evening.weekday() in self.weekdays and evening not in self.dates_off

    def can_set_up(self, day: dt.date) -> bool:
        """Return whether the set-up can be changed in daylight on a date."""
        return day.weekday() in self.setup_weekdays and day not in self.setup_dates_off


@dataclass(frozen=True)
class FrameSettings:
    """How collected frames are counted."""

    rejected_folders: tuple[str, ...] = ("rejected",)
    match_within_arcmin: float = 20.0


@dataclass(frozen=True)
class CampaignSettings:
    """Everything of campaign.toml; goals stand in the file's order."""

    goals: tuple[Goal, ...] = ()
    nights: UsableNights = field(default_factory=UsableNights)
    rules: Rules = field(default_factory=Rules)
    flip_overhead_min: float = 5.0
    odds_wanted_percent: float = 80.0
    weather: Weather = field(default_factory=Weather)
    frames: FrameSettings = field(default_factory=FrameSettings)

    def goal_of(self, target: str) -> Goal:
        """Return what is wanted of a target; the plain goal when the file does not say."""
        return next((one for one in self.goals if one.target == target), Goal(target))


@dataclass(frozen=True)
class LightSettings:
    """The sky above the site, filters and exposures.

    sky : how dark it is and how clear the air. measured : whether the zenith's brightness is a measurement, not a
    darkness class. seeing_arcsec : FWHM of a star on a usual night. wanted_snr : on one square arcsecond.
    """

    sky: NightSky
    measured: bool
    seeing_arcsec: float = 3.0
    filters: tuple[Filter, ...] = USUAL_FILTERS
    exposure: ExposureWish = field(default_factory=lambda: ExposureWish(seeing_arcsec=3.0))
    wanted_snr: float = 30.0

    def filter_named(self, name: str) -> Filter | None:
        """Return the filter of a name, capitals or not; None when there is none."""
        return next((one for one in self.filters if one.name.casefold() == name.strip().casefold()), None)


@dataclass(frozen=True)
class Measured:
    """What one check of solved images gave; None where it gave nothing."""

    date: dt.date
    used: bool = True
    camera_offset_deg: float | None = None
    camera_offset_error_deg: float | None = None
    guider_offset_deg: float | None = None
    guider_offset_error_deg: float | None = None
    stem_radius_mm: float | None = None
    stem_radius_error_mm: float | None = None
    focal_length_mm: float | None = None
    focal_length_error_mm: float | None = None
    cone_error_arcmin: float | None = None
    images_count: int = 1
    note: str | None = None


@dataclass(frozen=True)
class LearnedAngles:
    """Everything measured, in order of date; the newest entry that counts and has a figure gives it."""

    entries: tuple[Measured, ...] = ()

    def newest(self, figure: str) -> Measured | None:
        """Return the newest entry that counts and has a figure (a field's name such as "stem_radius_mm")."""
        having = [one for one in self.entries if one.used and getattr(one, figure) is not None]
        return having[-1] if having else None

    @property
    def camera_offset_deg(self) -> float:
        """Camera angle on the sky less the angle set on the bench; 0 while nothing was measured."""
        entry = self.newest("camera_offset_deg")
        return 0.0 if entry is None or entry.camera_offset_deg is None else entry.camera_offset_deg

    @property
    def guider_offset_deg(self) -> float:
        """The same for the guider; the camera's while only that was measured, as both turn together."""
        entry = self.newest("guider_offset_deg")
        if entry is None or entry.guider_offset_deg is None:
            return self.camera_offset_deg
        return entry.guider_offset_deg


@dataclass(frozen=True)
class StarColumns:
    """Names of a service's columns; None where its UCDs say it."""

    ra: str | None = None
    dec: str | None = None
    mag: str | None = None
    pm_ra: str | None = None
    pm_dec: str | None = None
    epoch_year: float | None = None


@dataclass(frozen=True)
class StarService:
    """Where deeper stars are fetched from."""

    name: str
    url: str
    margin_mag: float = 0.5
    pause_s: float = 1.0
    timeout_s: float = 60.0
    match_within_arcsec: float = 2.0
    columns: StarColumns = field(default_factory=StarColumns)


@dataclass(frozen=True)
class KeptPointing:
    """Where a kept set-up points for one target, ICRS; camera_angle_deg is the target's own, with a rotator."""

    target: str
    ra_deg: float
    dec_deg: float
    camera_angle_deg: float | None = None


@dataclass(frozen=True)
class KeptSetUp:
    """A set-up under a name; angles are None where the rig has no such thing. in_use : it is on the telescope."""

    name: str
    kept_on: dt.date | None = None
    in_use: bool = False
    camera_angle_deg: float | None = None
    guider_angle_deg: float | None = None
    stem_offset_deg: float | None = None
    targets: tuple[str, ...] = ()
    note: str | None = None
    pointings: tuple[KeptPointing, ...] = ()
