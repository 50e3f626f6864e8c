"""How long to expose: single exposures, signal-to-noise after so many hours, hours for a signal-to-noise, the load.

Everything is per pixel of the camera and per second of open shutter, at this site's moonless zenith: effective hours
count time there. Absolute rates are good to some 20 % (quantum efficiency, mirrors, the sky's colour), so that hours
for a given signal-to-noise are good to 20 % for a sky-limited object, 40 % with a darkness class for the sky.
"""

import math
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray, Floats
from sidelight.light.filters import Filter, filter_extinction_mag_per_airmass, sky_mag_in_band
from sidelight.rig import photometry
from sidelight.rig.optics import pixel_scale_arcsec
from sidelight.rig.records import Rig, Sensor
from sidelight.sky.brightness import NightSky

_FITS_BLOCK_BYTES = 2880
_HEADER_BLOCKS = 2


@dataclass(frozen=True)
class Rates:
    """Electrons per second and pixel through one filter at the moonless zenith; read noise per exposure.

    object_e_per_s : 0 while no object is asked about.
    """

    sky_e_per_s: float
    dark_e_per_s: float
    read_noise_e: float
    object_e_per_s: float = 0.0

    @property
    def background_e_per_s(self) -> float:
        """Sky and dark current."""
        return self.sky_e_per_s + self.dark_e_per_s


@dataclass(frozen=True)
class ExposureWish:
    """What the person wants of single exposures.

    read_noise_share : that read noise may add to the background's noise. shortest_s, longest_s : bounds that hold
    whatever the sky says. star_mag : the brightest star that must not saturate, V; None leaves that out.
    seeing_arcsec : FWHM of a star. between_s : lost after each exposure. dither_s : lost at each move,
    dither_every_count exposures apart (0: never).
    """

    read_noise_share: float = 0.05
    shortest_s: float = 10.0
    longest_s: float = 600.0
    star_mag: float | None = None
    seeing_arcsec: float = 2.5
    between_s: float = 3.0
    dither_every_count: int = 3
    dither_s: float = 15.0


@dataclass(frozen=True)
class SubExposure:
    """The single exposure for one filter.

    sky_limited_s : from here on read noise adds no more than the share that is wanted. saturates_s : here the wanted
    star fills its pixel, None when none is asked about or the well is not known. chosen_s : inside both and the
    person's bounds, where they agree; `outcome` says which one gave way. read_noise_share : at the chosen exposure.
    floor_ratio : the camera's own noise variance against the sky's, what `Sensitivity` counts with.
    """

    sky_limited_s: float
    saturates_s: float | None
    chosen_s: float
    read_noise_share: float
    floor_ratio: float
    outcome: str
    sentence: str


@dataclass(frozen=True)
class NightLoad:
    """What a run of exposures comes to. overhead_share : of the time in which the shutter is closed."""

    frames_count: int
    open_h: float
    overhead_share: float
    storage_mb: float


def sky_rate_e_per_s(rig: Rig, one: Filter, sky_mag_arcsec2: Floats) -> FloatArray:
    """Return the sky's electrons per second and pixel through a filter for its V brightness; any shape."""
    return object_rate_e_per_s(rig, one, sky_mag_in_band(one, sky_mag_arcsec2))


def object_rate_e_per_s(
    rig: Rig, one: Filter, brightness_mag_arcsec2: Floats, extinction_mag: Floats = 0.0
) -> FloatArray:
    """Return an object's electrons per second and pixel for a surface brightness outside the air; any shape.

    The magnitude is taken to hold in the filter's own band. A catalogue's V says nothing of a nebula's light in one
    line: give the brightness in the filter, if you know it.
    """
    seen = np.asarray(brightness_mag_arcsec2, dtype=np.float64) + np.asarray(extinction_mag)
    return photometry.surface_rate_e_per_s(
        seen, rig.telescope, rig.camera, one.centre_nm, one.bandwidth_nm, one.transmission_fraction
    )


def rates(
    rig: Rig, sky: NightSky, one: Filter, elevation_m: float = 0.0, brightness_mag_arcsec2: float | None = None
) -> Rates:
    """Return the rates through a filter at the moonless zenith, with an object's when its brightness is given."""
    k = filter_extinction_mag_per_airmass(one, sky, elevation_m)
    brightness = brightness_mag_arcsec2
    return Rates(
        sky_e_per_s=float(sky_rate_e_per_s(rig, one, sky.zenith_mag_arcsec2)),
        dark_e_per_s=rig.camera.dark_e_per_s,
        read_noise_e=rig.camera.read_noise_e,
        object_e_per_s=0.0 if brightness is None else float(object_rate_e_per_s(rig, one, brightness, k)),
    )


def floor_ratio(one: Rates, exposure_s: float) -> float:
    """Return the camera's own noise variance (dark current, read noise) against that of the moonless zenith sky."""
    return (one.dark_e_per_s + one.read_noise_e**2 / exposure_s) / one.sky_e_per_s


def sub_exposure(rig: Rig, one: Filter, given: Rates, wish: ExposureWish) -> SubExposure:
    """Return the single exposure for a filter, with what speaks for and against it."""
    limited = float(photometry.sub_exposure_s(given.read_noise_e, given.background_e_per_s, wish.read_noise_share))
    saturates = _saturates_s(rig, one, given, wish)
    longest = min(wish.longest_s, saturates if saturates is not None else math.inf)
    chosen = max(min(max(limited, wish.shortest_s), longest), min(wish.shortest_s, wish.longest_s))
    share = float(photometry.read_noise_share(given.read_noise_e, given.background_e_per_s, chosen))
    outcome = _outcome(limited, saturates, chosen, wish)
    return SubExposure(
        sky_limited_s=limited,
        saturates_s=saturates,
        chosen_s=chosen,
        read_noise_share=share,
        floor_ratio=floor_ratio(given, chosen),
        outcome=outcome,
        sentence=_sentence(outcome, limited, saturates, chosen, share, wish),
    )


def _saturates_s(rig: Rig, one: Filter, given: Rates, wish: ExposureWish) -> float | None:
    """Return when the wanted star saturates, None when nothing is asked or the well is not known."""
    if wish.star_mag is None or math.isinf(photometry.well_depth_e(rig.camera)):
        return None
    star = photometry.star_rate_e_per_s(
        wish.star_mag, rig.telescope, rig.camera, one.centre_nm, one.bandwidth_nm, one.transmission_fraction
    )
    scale = float(pixel_scale_arcsec(rig.telescope.effective_focal_length_mm, rig.camera.pixel_um))
    return float(photometry.saturation_s(star, wish.seeing_arcsec / scale, given.background_e_per_s, rig.camera))


def _outcome(limited_s: float, saturates_s: float | None, chosen_s: float, wish: ExposureWish) -> str:
    """Name what decided the exposure."""
    if saturates_s is not None and chosen_s > saturates_s:
        return "star_saturates"
    if saturates_s is not None and saturates_s < min(limited_s, wish.longest_s):
        return "held_by_star"
    if limited_s > wish.longest_s:
        return "held_by_longest"
    return "held_by_shortest" if limited_s < wish.shortest_s else "sky_limited"


def _sentence(
    outcome: str,
    limited_s: float,
    saturates_s: float | None,
    chosen_s: float,
    share: float,
    wish: ExposureWish,
) -> str:
    """Say what decided the exposure."""
    adds = f"read noise adds {share:.1%} to the sky's"
    star = f"a star of magnitude {wish.star_mag:g}" if wish.star_mag is not None else "a star"
    fills = f"{saturates_s:.0f} s" if saturates_s is not None else "never"
    return {
        "sky_limited": f"{chosen_s:.0f} s: {adds}, as wanted.",
        "held_by_shortest": f"{chosen_s:.0f} s, the shortest you want; {limited_s:.0f} s would do, {adds}.",
        "held_by_longest": f"{chosen_s:.0f} s, the longest you want: {adds}; {limited_s:.0f} s would be wanted.",
        "held_by_star": f"{chosen_s:.0f} s keep {star} from saturating: {adds}; {limited_s:.0f} s would be wanted.",
        "star_saturates": f"{chosen_s:.0f} s, the shortest you want: {star} saturates after {fills}.",
    }[outcome]


def snr_per_pixel(given: Rates, open_h: Floats, exposure_s: Floats) -> FloatArray:
    """Return the signal-to-noise of the object on one pixel after hours of open shutter in exposures; broadcasts.

    The CCD equation for one pixel with a perfectly known background and flat field. Hours are effective ones: for
    an object that outshines the sky they count a little too little.
    """
    seconds = np.asarray(open_h, dtype=np.float64) * 3600.0
    variance_per_s = _variance_per_s(given, exposure_s)
    return np.asarray(given.object_e_per_s * np.sqrt(seconds / variance_per_s))


def _variance_per_s(given: Rates, exposure_s: Floats) -> FloatArray:
    """Return the noise variance that a pixel gathers each second, electrons²."""
    read = given.read_noise_e**2 / np.asarray(exposure_s, dtype=np.float64)
    return np.asarray(given.object_e_per_s + given.background_e_per_s + read)


def snr_per_arcsec2(given: Rates, open_h: Floats, exposure_s: Floats, scale_arcsec_per_px: float) -> FloatArray:
    """Return the signal-to-noise of the object on one square arcsecond: that of 1/scale² pixels together."""
    return snr_per_pixel(given, open_h, exposure_s) / scale_arcsec_per_px


def hours_for_snr_h(
    given: Rates, snr: Floats, exposure_s: Floats, scale_arcsec_per_px: float | None = None
) -> FloatArray:
    """Return the effective hours that reach a signal-to-noise, per pixel or (with a scale) per square arcsecond.

    The exact inverse of `snr_per_pixel` and `snr_per_arcsec2`. Infinite for an object that gives no light.
    """
    wanted = np.asarray(snr, dtype=np.float64) * (scale_arcsec_per_px or 1.0)
    with np.errstate(divide="ignore"):
        seconds = wanted**2 * _variance_per_s(given, exposure_s) / np.float64(given.object_e_per_s) ** 2
    return np.asarray(seconds / 3600.0)


def camera_scale_arcsec_per_px(rig: Rig) -> float:
    """Return the camera's pixel scale."""
    return float(pixel_scale_arcsec(rig.telescope.effective_focal_length_mm, rig.camera.pixel_um))


def frame_mb(sensor: Sensor) -> float:
    """Return one frame's size as a FITS file without compression, megabytes of 10⁶ bytes: whole blocks of 2880."""
    data = sensor.width_px * sensor.height_px * math.ceil(sensor.bits / 8)
    return (math.ceil(data / _FITS_BLOCK_BYTES) + _HEADER_BLOCKS) * _FITS_BLOCK_BYTES / 1e6


def cycle_s(exposure_s: float, wish: ExposureWish) -> float:
    """Return the mean time from one exposure's start to the next one's, seconds."""
    dither = wish.dither_s / wish.dither_every_count if wish.dither_every_count > 0 else 0.0
    return exposure_s + wish.between_s + dither


def night_load(sensor: Sensor, clock_h: float, exposure_s: float, wish: ExposureWish) -> NightLoad:
    """Return frames, open shutter, overhead and storage of a run of so many hours by the clock."""
    frames = int(max(0.0, clock_h) * 3600.0 / cycle_s(exposure_s, wish) + 1e-9)
    return NightLoad(
        frames_count=frames,
        open_h=frames * exposure_s / 3600.0,
        overhead_share=1.0 - exposure_s / cycle_s(exposure_s, wish),
        storage_mb=frames * frame_mb(sensor),
    )
