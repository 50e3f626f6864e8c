"""Photons to electrons: rates of stars and sky on a sensor, the CCD equation, read noise and saturation.

Magnitudes are of the Vega kind, in the band that the wavelength names; rates are per second of open shutter. Of
absolute rates expect 20 %: quantum efficiency, transmission and mirrors are rarely known better.
"""

import math

import numpy as np

from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.optics import pixel_scale_arcsec
from sidelight.rig.records import Sensor, Telescope

_BAND_NM = np.array([366.0, 438.0, 545.0, 641.0, 798.0])
_ZERO_MAG_PER_NM = np.array([7561.0, 13926.0, 9955.0, 7020.0, 4520.0])
_FWHM_PER_SIGMA = 2.0 * math.sqrt(2.0 * math.log(2.0))
BEST_RADIUS_FWHM = 0.68
"""Radius of the aperture, in FWHM, that measures a faint Gaussian star best against a flat background (Howell 1989,
PASP 101, 616, finds 0.6 to 0.7; the optimum of r → (1 − exp(−4 ln 2 r²))/r is 0.673)."""
DIGITISATION_RMS = 0.289
"""Standard deviation of rounding to whole counts, 1/√12, as Merline & Howell 1995 give it."""


def photon_flux_per_nm(magnitude_mag: Floats, wavelength_nm: Floats) -> FloatArray:
    """Return photons per second, cm² and nm outside the air for a magnitude at a wavelength; broadcasts.

    Zero points of U, B, V, R, I from Bessell, Castelli & Plez 1998 (A&A 333, 231), good to 1 % in the bands; between
    them in straight pieces (3 %), beyond them held.
    """
    zero = np.interp(np.asarray(wavelength_nm, dtype=np.float64), _BAND_NM, _ZERO_MAG_PER_NM)
    return np.asarray(zero * 10.0 ** (-0.4 * np.asarray(magnitude_mag, dtype=np.float64)))


def collecting_area_cm2(telescope: Telescope) -> float:
    """Return the clear area of the aperture less the obstruction, cm²."""
    return math.pi / 4 * (telescope.aperture_mm**2 - telescope.obstruction_mm**2) / 100.0


def star_rate_e_per_s(
    magnitude_mag: Floats,
    telescope: Telescope,
    sensor: Sensor,
    centre_nm: float,
    width_nm: float,
    transmission_fraction: float = 1.0,
) -> FloatArray:
    """Return the electrons per second that a whole star gives through a passband; any shape.

    magnitude_mag : as it arrives at the telescope, extinction included by the caller. transmission_fraction : of the
    filter; the telescope's own and the sensor's quantum efficiency come on top.
    """
    grasp = collecting_area_cm2(telescope) * width_nm * telescope.transmission_fraction * transmission_fraction
    return photon_flux_per_nm(magnitude_mag, centre_nm) * grasp * sensor.quantum_efficiency


def surface_rate_e_per_s(
    brightness_mag_arcsec2: Floats,
    telescope: Telescope,
    sensor: Sensor,
    centre_nm: float,
    width_nm: float,
    transmission_fraction: float = 1.0,
) -> FloatArray:
    """Return the electrons per second and pixel that a surface brightness gives through a passband; any shape."""
    scale = float(pixel_scale_arcsec(telescope.effective_focal_length_mm, sensor.pixel_um))
    per_arcsec2 = star_rate_e_per_s(
        brightness_mag_arcsec2, telescope, sensor, centre_nm, width_nm, transmission_fraction
    )
    return np.asarray(per_arcsec2 * scale**2)


def ccd_noise_e(
    source_e: Floats,
    pixels_count: Floats,
    sky_e: Floats,
    dark_e: Floats,
    read_noise_e: Floats,
    *,
    background_pixels_count: float = math.inf,
    gain_e_per_adu: float = 0.0,
) -> FloatArray:
    """Return the noise of a star measured in an aperture, electrons; broadcasts.

    source_e : the star's electrons inside the aperture. pixels_count : of the aperture. sky_e, dark_e : electrons per
    pixel in the exposure. background_pixels_count : of the area from which the sky is taken. gain_e_per_adu : adds
    the noise of rounding to counts when above 0.

    The CCD equation of Merline & Howell 1995 (Experimental Astronomy 6, 163), as in Howell's Handbook of CCD
    Astronomy and Collins et al. 2017 (AJ 153, 77). Assumes Poisson light and aligned, flat-fielded frames.
    """
    pixels = np.asarray(pixels_count, dtype=np.float64)
    rounding = (gain_e_per_adu * DIGITISATION_RMS) ** 2
    per_pixel = np.asarray(sky_e) + np.asarray(dark_e) + np.asarray(read_noise_e) ** 2 + rounding
    return np.asarray(np.sqrt(np.asarray(source_e) + pixels * (1.0 + pixels / background_pixels_count) * per_pixel))


def source_for_snr_e(snr: Floats, noise_floor_e: Floats) -> FloatArray:
    """Return the electrons a source needs for a signal-to-noise over a noise without it; broadcasts.

    The positive root of S² = snr² (S + floor²): the CCD equation solved for its source, exact.
    """
    q, floor = np.asarray(snr, dtype=np.float64) ** 2, np.asarray(noise_floor_e, dtype=np.float64) ** 2
    return np.asarray((q + np.sqrt(q**2 + 4.0 * q * floor)) / 2.0)


def sub_exposure_s(read_noise_e: Floats, background_e_per_s: Floats, share: Floats = 0.05) -> FloatArray:
    """Return the exposure at which read noise adds a share to the noise of the background, seconds; broadcasts.

    t = RN² / (((1 + share)² − 1) × background), exact. background_e_per_s : sky and dark current per pixel. With
    5 % the background collects 9.76 RN² electrons (the trade's "10 RN²"). Infinite where there is no background.
    """
    wanted = (1.0 + np.asarray(share, dtype=np.float64)) ** 2 - 1.0
    with np.errstate(divide="ignore"):
        return np.asarray(np.asarray(read_noise_e) ** 2 / (wanted * np.asarray(background_e_per_s)))


def read_noise_share(read_noise_e: Floats, background_e_per_s: Floats, exposure_s: Floats) -> FloatArray:
    """Return the share that read noise adds to the background's noise in one exposure: the inverse of the above."""
    background = np.asarray(background_e_per_s, dtype=np.float64) * np.asarray(exposure_s)
    return np.asarray(np.sqrt(1.0 + np.asarray(read_noise_e) ** 2 / background) - 1.0)


def central_pixel_fraction(fwhm_px: Floats) -> FloatArray:
    """Return the share of a Gaussian star's light in the pixel it is centred on, 0 to 1; any shape."""
    sigma = np.asarray(fwhm_px, dtype=np.float64) / _FWHM_PER_SIGMA
    side = np.vectorize(math.erf, otypes=[np.float64])(0.5 / (sigma * math.sqrt(2.0)))
    return np.asarray(side**2)


def aperture_fraction(radius_px: Floats, fwhm_px: Floats) -> FloatArray:
    """Return the share of a Gaussian star's light inside a round aperture, 0 to 1; broadcasts."""
    ratio = np.asarray(radius_px, dtype=np.float64) / np.asarray(fwhm_px, dtype=np.float64)
    return np.asarray(1.0 - np.exp(-4.0 * math.log(2.0) * ratio**2))


def best_aperture_px(fwhm_px: Floats) -> tuple[FloatArray, FloatArray]:
    """Return (radius in pixels, number of pixels) of the best aperture, never less than one pixel; any shape."""
    radius = np.maximum(BEST_RADIUS_FWHM * np.asarray(fwhm_px, dtype=np.float64), math.sqrt(1.0 / math.pi))
    return radius, math.pi * radius**2


def well_depth_e(sensor: Sensor) -> float:
    """Return the electrons at which a pixel's count stops: the full well or the last count, whichever comes first.

    Infinite when neither is known (a full well or gain of 0).
    """
    well = sensor.full_well_e if sensor.full_well_e > 0 else math.inf
    counts = sensor.gain_e_per_adu * 2**sensor.bits if sensor.gain_e_per_adu > 0 else math.inf
    return min(well, counts)


def saturation_s(
    star_e_per_s: Floats, fwhm_px: Floats, background_e_per_s: Floats, sensor: Sensor, fill_fraction: float = 1.0
) -> FloatArray:
    """Return the exposure that fills a star's central pixel to a fraction of its well, seconds; broadcasts.

    star_e_per_s : the whole star. Gaussian image centred on a pixel; real images are flatter at the top, so that
    this is the shortest time.
    """
    peak = np.asarray(star_e_per_s) * central_pixel_fraction(fwhm_px) + np.asarray(background_e_per_s)
    with np.errstate(divide="ignore"):
        return np.asarray(fill_fraction * well_depth_e(sensor) / peak)
