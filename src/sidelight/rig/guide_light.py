"""What the guide camera sees: signal-to-noise of guide stars, its limits, and which stars make poor ones.

All functions take arrays of magnitudes or places in the focal plane.
"""

import math
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, Floats
from sidelight.rig import photometry
from sidelight.rig.guider import guider_of
from sidelight.rig.optics import ARCSEC_PER_RAD, pixel_scale_arcsec
from sidelight.rig.records import OffAxisGuider, Rig


@dataclass(frozen=True)
class GuideLight:
    """How guide stars are exposed and judged.

    exposure_s : of one guide picture. seeing_arcsec : FWHM that the air and the mount give a star in that time.
    off_axis_arcsec : FWHM of the telescope's own star image at the prism. least_snr : what guiding needs (common
    practice: 10, better 20). sky_mag_arcsec2 : the sky's V brightness. extinction_mag : what the air takes at the
    target's altitude. centre_nm, width_nm : the guide camera's passband; an unfiltered one sees 400 to 900 nm, the
    far red of it weakly. fill_fraction : of the well that a star's peak may reach. refuse_saturating,
    refuse_companions : never guide on such a star, instead of only saying so.
    """

    exposure_s: float = 2.0
    seeing_arcsec: float = 3.0
    off_axis_arcsec: float = 2.0
    least_snr: float = 10.0
    sky_mag_arcsec2: float = 20.0
    extinction_mag: float = 0.35
    centre_nm: float = 600.0
    width_nm: float = 400.0
    fill_fraction: float = 0.85
    refuse_saturating: bool = False
    refuse_companions: bool = False


@dataclass(frozen=True, eq=False)
class StarJudgement:
    """What is to be said about guide stars, each (n,).

    too_faint : below the least signal-to-noise. saturates : fills its pixel. has_companion : another star of similar
    brightness within half the guiding box.
    """

    snr: FloatArray
    too_faint: BoolArray
    saturates: BoolArray
    has_companion: BoolArray

    @property
    def good(self) -> BoolArray:
        """Stars with nothing against them."""
        return ~(self.too_faint | self.saturates | self.has_companion)


def guide_fwhm_arcsec(rig: Rig, light: GuideLight) -> float:
    """Return the FWHM of a guide star: seeing, the off-axis image and diffraction (1.02 λ/D), added as squares."""
    diffraction = 1.02 * light.centre_nm * 1e-6 / rig.telescope.aperture_mm * ARCSEC_PER_RAD
    return math.sqrt(light.seeing_arcsec**2 + light.off_axis_arcsec**2 + diffraction**2)


def guide_fwhm_px(rig: Rig, light: GuideLight) -> float:
    """Return the FWHM of a guide star in guide pixels."""
    scale = pixel_scale_arcsec(rig.telescope.effective_focal_length_mm, guider_of(rig).sensor.pixel_um)
    return guide_fwhm_arcsec(rig, light) / float(scale)


def prism_light_fraction(rig: Rig) -> float:
    """Return the share of a star's beam that the prism's face catches, for a star at its middle, 0 to 1.

    The beam is a disc at the prism (its distance over the focal ratio wide, the guide camera in focus with the main
    one); the area it shares with the face in closed form. The obstruction is left out.
    """
    guider = guider_of(rig)
    radius = guider.prism_distance_mm / (2 * rig.telescope.focal_ratio)
    if radius <= 0:
        return 1.0
    a, c = (min(1.0, side / 2 / radius) for side in (guider.prism_along_mm, guider.prism_across_mm))
    level = math.sqrt(1.0 - c**2)
    if a <= level:
        return 4.0 * a * c / math.pi
    return 4.0 * (c * level + _under_circle(a) - _under_circle(level)) / math.pi


def _under_circle(x: float) -> float:
    """Return the area under the unit circle from 0 to x."""
    return (x * math.sqrt(1.0 - x**2) + math.asin(x)) / 2.0


def guide_star_e_per_s(magnitude_mag: Floats, rig: Rig, light: GuideLight) -> FloatArray:
    """Return the electrons per second of whole guide stars on the guide sensor; any shape."""
    return photometry.star_rate_e_per_s(
        np.asarray(magnitude_mag, dtype=np.float64) + light.extinction_mag,
        rig.telescope,
        guider_of(rig).sensor,
        light.centre_nm,
        light.width_nm,
        prism_light_fraction(rig),
    )


def _background_e_per_s(rig: Rig, light: GuideLight) -> float:
    """Return sky and dark electrons per second and guide pixel."""
    guider = guider_of(rig)
    sky = photometry.surface_rate_e_per_s(
        light.sky_mag_arcsec2,
        rig.telescope,
        guider.sensor,
        light.centre_nm,
        light.width_nm,
        prism_light_fraction(rig),
    )
    return float(sky) + guider.sensor.dark_e_per_s


def _aperture(rig: Rig, light: GuideLight) -> tuple[float, float, float]:
    """Return (share of the star's light, noise without the star in electrons, pixels) of the best aperture."""
    fwhm_px = guide_fwhm_px(rig, light)
    radius, pixels = photometry.best_aperture_px(fwhm_px)
    sensor = guider_of(rig).sensor
    background = _background_e_per_s(rig, light) * light.exposure_s
    box_pixels = max(rig.tolerances.guide_box_px**2, 4.0 * float(pixels))
    floor = photometry.ccd_noise_e(
        0.0,
        pixels,
        background,
        0.0,
        sensor.read_noise_e,
        background_pixels_count=box_pixels,
        gain_e_per_adu=sensor.gain_e_per_adu,
    )
    return float(photometry.aperture_fraction(radius, fwhm_px)), float(floor), float(pixels)


def guide_snr(magnitude_mag: Floats, rig: Rig, light: GuideLight) -> FloatArray:
    """Return the signal-to-noise of guide stars of V magnitudes in one exposure; any shape.

    The CCD equation (Merline & Howell 1995) in the best aperture, the sky taken from the guiding box. V stands for
    the guide camera's broad band: red stars give up to 0.3 mag more, blue ones less. Scintillation is left out; with
    rates known to 20 %, magnitudes are good to 0.3.
    """
    share, floor, _ = _aperture(rig, light)
    source = guide_star_e_per_s(magnitude_mag, rig, light) * light.exposure_s * share
    return np.asarray(source / np.sqrt(source + floor**2))


def guide_limit_mag(rig: Rig, light: GuideLight) -> float:
    """Return the V magnitude at which a guide star just reaches the least signal-to-noise: `guide_snr` inverted."""
    share, floor, _ = _aperture(rig, light)
    needed = float(photometry.source_for_snr_e(light.least_snr, floor)) / (share * light.exposure_s)
    return 2.5 * math.log10(float(guide_star_e_per_s(0.0, rig, light)) / needed)


def guide_bright_mag(rig: Rig, light: GuideLight) -> float:
    """Return the V magnitude of the brightest star whose central pixel keeps below the fill fraction of its well.

    Minus infinity when the guide sensor's well is not known: then no star is refused for its brightness.
    """
    sensor = guider_of(rig).sensor
    room = light.fill_fraction * photometry.well_depth_e(sensor) - _background_e_per_s(rig, light) * light.exposure_s
    if room == math.inf:
        return -math.inf
    peak = float(photometry.central_pixel_fraction(guide_fwhm_px(rig, light))) * light.exposure_s
    zero = float(guide_star_e_per_s(0.0, rig, light)) * peak
    return 2.5 * math.log10(zero / room) if room > 0 else math.inf


def saturates(magnitude_mag: Floats, rig: Rig, light: GuideLight) -> BoolArray:
    """Tell which guide stars would fill their central pixel beyond the fill fraction; any shape."""
    return np.asarray(np.asarray(magnitude_mag, dtype=np.float64) < guide_bright_mag(rig, light))


def has_companion(
    x_mm: FloatArray, y_mm: FloatArray, magnitude_mag: FloatArray, reach_mm: float, within_mag: float = 1.5
) -> BoolArray:
    """Tell which stars have another one of similar brightness (or brighter) close by, shape (n,).

    x_mm, y_mm : places in the focal plane, of all stars whether usable or not. reach_mm : half the guiding box is a
    sensible reach. within_mag : a star fainter by more than this does no harm (common practice, no source).
    """
    order = np.argsort(x_mm, kind="stable")
    x, y, mag = x_mm[order], y_mm[order], magnitude_mag[order]
    last = np.searchsorted(x, x + reach_mm, side="right")
    found = np.zeros(len(x), dtype=np.bool_)
    for step in range(1, int(np.max(last - np.arange(len(x)), initial=0))):
        one = np.flatnonzero(np.arange(len(x)) + step < last)
        other = one + step
        near = np.hypot(x[one] - x[other], y[one] - y[other]) <= reach_mm
        found[one] |= near & (mag[other] <= mag[one] + within_mag)
        found[other] |= near & (mag[one] <= mag[other] + within_mag)
    back = np.empty_like(found)
    back[order] = found
    return back


def edge_distance_px(x_px: Floats, y_px: Floats, guider: OffAxisGuider) -> FloatArray:
    """Return how far places on the guide sensor, pixels from its centre, are from its nearest edge; broadcasts.

    Negative outside the sensor.
    """
    across = guider.sensor.width_px / 2 - np.abs(np.asarray(x_px, dtype=np.float64))
    up = guider.sensor.height_px / 2 - np.abs(np.asarray(y_px, dtype=np.float64))
    return np.asarray(np.minimum(across, up))


def judge_guide_stars(
    rig: Rig, light: GuideLight, x_mm: FloatArray, y_mm: FloatArray, magnitude_mag: FloatArray
) -> StarJudgement:
    """Return what is to be said about stars in the focal plane, shape (n,); give faint ones too, as companions."""
    guider = guider_of(rig)
    reach_mm = rig.tolerances.guide_box_px / 2 * guider.sensor.pixel_um / 1000.0
    snr = guide_snr(magnitude_mag, rig, light)
    return StarJudgement(
        snr=snr,
        too_faint=np.asarray(snr < light.least_snr),
        saturates=saturates(magnitude_mag, rig, light),
        has_companion=has_companion(x_mm, y_mm, magnitude_mag, reach_mm),
    )
