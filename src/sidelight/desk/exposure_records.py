"""What is asked about exposures, and what is answered."""

import datetime as dt
from dataclasses import dataclass, field

from sidelight.ground.types import FloatArray


@dataclass(frozen=True)
class ExposureQuestion:
    """What the person asks beyond the notebook; None takes the notebook's own figure.

    brightness_mag_arcsec2 : of the object, replaces the catalogue's. hours_h : effective hours. wanted_snr : on one
    square arcsecond. read_noise_share_percent : that read noise may add. star_mag : must not burn out.
    """

    date: dt.date
    target: str | None = None
    filters: tuple[str, ...] = ()
    hours_h: float | None = None
    brightness_mag_arcsec2: float | None = None
    wanted_snr: float | None = None
    read_noise_share_percent: float | None = None
    star_mag: float | None = None


@dataclass(frozen=True)
class NightReport:
    """What the night of the report's date comes to with one filter alone: frames, open shutter, overhead, storage.

    overhead_share : of the clock, lost between exposures and to dithering. effective_hours : of the open shutter,
    null without a target.
    """

    clock_hours: float
    frames_count: int
    open_hours: float
    overhead_share: float
    storage_gb: float
    effective_hours: float | None


@dataclass(frozen=True)
class FilterExposureReport:
    """Exposures through one filter at the moonless zenith; null where no object's brightness is known.

    sky_mag_arcsec2 : the sky in the filter's own band. sky_limited_s : from here on read noise adds no more than the
    wanted share; saturates_s : here the wanted star burns out, null when none is asked about. chosen_s : inside both
    and the notebook's bounds, else `outcome` says what gave way. For the effective hours asked: frames_count,
    open_hours, clock_hours with overheads, snr_per_pixel and snr_per_arcsec2 of the object. hours_for_snr_per_pixel,
    hours_for_snr_per_arcsec2 : effective hours that reach the wanted signal-to-noise.
    """

    filter: str
    sky_mag_arcsec2: float
    sky_e_per_s: float
    dark_e_per_s: float
    object_e_per_s: float | None
    sky_limited_s: float
    saturates_s: float | None
    chosen_s: float
    read_noise_share: float
    outcome: str
    sentence: str
    effective_hours: float
    frames_count: int
    open_hours: float
    clock_hours: float
    storage_gb: float
    snr_per_pixel: float | None
    snr_per_arcsec2: float | None
    hours_for_snr_per_pixel: float | None
    hours_for_snr_per_arcsec2: float | None
    night: NightReport


@dataclass(frozen=True, eq=False)
class ExposureCurves:
    """What the pictures are drawn from, a row for each filter: shares over exposures, signal-to-noise over hours."""

    exposure_s: FloatArray
    shares: FloatArray
    hours_h: FloatArray
    snr_per_arcsec2: FloatArray | None


@dataclass(frozen=True)
class ExposureReport:
    """Exposures for a rig under its sky, and for an object when its brightness is known.

    brightness_mag_arcsec2 : the object's, taken to hold in each filter's own band; brightness_source says where it is
    from. uncertainty : how good hours and signal-to-noise are, in words.
    """

    notebook: str
    site: str
    date: dt.date
    target: str | None
    brightness_mag_arcsec2: float | None
    brightness_source: str
    pixel_scale_arcsec: float
    sky_zenith_mag_arcsec2: float
    sky_uncertainty_mag: float
    sky_source: str
    seeing_arcsec: float
    wanted_share_percent: float
    wanted_snr: float
    star_mag: float | None
    read_noise_e: float
    frame_mb: float
    uncertainty: str
    filters: tuple[FilterExposureReport, ...]
    notes: tuple[str, ...]
    curves: ExposureCurves = field(metadata={"json": False}, repr=False)
