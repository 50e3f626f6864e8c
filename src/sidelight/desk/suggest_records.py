"""What suggestions hold."""

import datetime as dt
from dataclasses import dataclass

from sidelight.ground.types import FloatArray
from sidelight.setup.records import GuideStar, Side
from sidelight.targets.catalogue import ObjectTable


@dataclass(frozen=True)
class SuggestionReport:
    """One object. hours : free clock hours in which it can be photographed, by side of the flip.

    snr_per_arcsec2 : on one square arcsecond after these hours in the main broad filter, at the zenith's best.
    guide_stars : by side, those that are there; empty without an off-axis guider or for a fresh start.
    """

    name: str
    catalogue_name: str
    common_name: str | None
    messier: str | None
    kind: str
    ra_deg: float
    dec_deg: float
    major_arcmin: float
    minor_arcmin: float | None
    surface_brightness_mag_arcsec2: float
    hours: float
    hours_east: float
    hours_west: float
    max_altitude_deg: float
    snr_per_arcsec2: float
    score: float
    guide_stars: tuple[tuple[Side, GuideStar], ...]


@dataclass(frozen=True)
class SuggestReport:
    """Objects worth free hours, best first. mode : "set_up" as it stands on the telescope, or "fresh"."""

    notebook: str
    site: str
    mode: str
    first_date: dt.date
    nights_count: int
    free_hours: float
    camera_angle_deg: float | None
    guider_angle_deg: float | None
    looked_at_count: int
    up_count: int
    framed_count: int
    suggestions: tuple[SuggestionReport, ...]
    formula: str
    sentence: str
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class FreeSky:
    """The catalogue's objects that can be judged at all, with their free hours."""

    date: dt.date
    table: ObjectTable
    east_h: FloatArray
    west_h: FloatArray
    highest_deg: FloatArray
