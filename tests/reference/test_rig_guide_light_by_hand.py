"""Guide stars' light beside plain integration and the CCD equation written out, at fixed rigs."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from sidelight.rig import guide_light as gl
from sidelight.rig import photometry
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope

GUIDE = Sensor(1280, 960, 3.75, quantum_efficiency=0.7, read_noise_e=3.0, dark_e_per_s=0.2, full_well_e=13000.0)
RIG = Rig(Telescope(120, 900, obstruction_mm=30), Sensor(4000, 3000, 3.8), OffAxisGuider(20.0, GUIDE))
LIGHT = gl.GuideLight()


@pytest.mark.parametrize(
    ("along_mm", "across_mm", "ratio", "distance_mm"),
    [
        (8.0, 8.0, 5.0, 60.0),
        (8.0, 5.0, 5.0, 60.0),
        (3.0, 9.0, 5.0, 60.0),
        (4.0, 4.0, 4.0, 80.0),
        (8.0, 8.0, 8.0, 60.0),
        (11.0, 8.0, 5.0, 60.0),
    ],
)
def test_the_prism_catches_what_of_the_beam_it_covers(
    along_mm: float, across_mm: float, ratio: float, distance_mm: float
) -> None:
    """The share of a round beam over a rectangular face, by numerical integration of its chords, to 1e-6."""
    guider = replace(RIG.guider, prism_along_mm=along_mm, prism_across_mm=across_mm, prism_distance_mm=distance_mm)
    rig = replace(RIG, telescope=Telescope(100, 100 * ratio), guider=guider)
    radius = distance_mm / ratio / 2.0
    reach = min(along_mm / 2.0, radius)

    def chord(x: float) -> float:
        return 2.0 * min(across_mm / 2.0, math.sqrt(max(0.0, radius**2 - x**2)))

    knee = math.sqrt(max(0.0, radius**2 - (across_mm / 2.0) ** 2))
    area = 2.0 * integrate.quad(chord, 0.0, reach, points=[min(knee, reach)])[0]
    assert gl.prism_light_fraction(rig) == pytest.approx(area / (math.pi * radius**2), abs=1e-6)


def test_a_prism_in_focus_catches_all() -> None:
    """A prism at the focal plane itself has a beam without width."""
    rig = replace(RIG, guider=replace(RIG.guider, prism_distance_mm=0.0))
    assert gl.prism_light_fraction(rig) == 1.0


def test_a_guide_star_is_as_wide_as_its_parts() -> None:
    """Seeing 3″, off-axis image 2″ and the diffraction of 120 mm at 600 nm (1.02 λ/D = 1.052″) add as squares."""
    assert gl.guide_fwhm_arcsec(RIG, LIGHT) == pytest.approx(math.sqrt(9.0 + 4.0 + 1.05195**2), abs=1e-5)
    assert gl.guide_fwhm_px(RIG, LIGHT) == pytest.approx(gl.guide_fwhm_arcsec(RIG, LIGHT) / (206.264806 * 3.75 / 900))


def background_e(light: gl.GuideLight) -> float:
    """Return sky and dark electrons per guide pixel and exposure, from the sky's own rate on a square arcsecond."""
    per_arcsec2 = photometry.star_rate_e_per_s(
        light.sky_mag_arcsec2, RIG.telescope, GUIDE, light.centre_nm, light.width_nm, gl.prism_light_fraction(RIG)
    )
    pixel_arcsec = 206264.806 * 3.75e-3 / 900
    return (float(per_arcsec2) * pixel_arcsec**2 + 0.2) * light.exposure_s


@pytest.mark.parametrize("seeing_arcsec", [2.0, 30.0])
def test_signal_to_noise_by_hand(seeing_arcsec: float) -> None:
    """The CCD equation in the best aperture; the sky comes from the box, or four apertures if more."""
    light = replace(LIGHT, seeing_arcsec=seeing_arcsec)
    radius = 0.68 * gl.guide_fwhm_px(RIG, light)
    pixels = math.pi * radius**2
    sky_pixels = max(32.0**2, 4.0 * pixels)
    star = float(gl.guide_star_e_per_s(11.0, RIG, light)) * 2.0 * (1.0 - math.exp(-4.0 * math.log(2.0) * 0.68**2))
    each = background_e(light) + 3.0**2 + 0.289**2
    noise = math.sqrt(star + pixels * (1.0 + pixels / sky_pixels) * each)
    assert float(gl.guide_snr(11.0, RIG, light)) == pytest.approx(star / noise, rel=1e-6)


def test_the_brightest_star_just_fills_its_share_of_the_well() -> None:
    """At the bright limit the central pixel, integrated over a Gaussian, and the sky hold 85 % of 13,000 e."""
    limit = gl.guide_bright_mag(RIG, LIGHT)
    sigma = gl.guide_fwhm_px(RIG, LIGHT) / 2.3548200450309493
    side = integrate.quad(lambda x: math.exp(-(x**2) / (2 * sigma**2)) / (sigma * math.sqrt(2 * math.pi)), -0.5, 0.5)[
        0
    ]
    held = float(gl.guide_star_e_per_s(limit, RIG, LIGHT)) * side**2 * 2.0 + background_e(LIGHT)
    assert held == pytest.approx(0.85 * 13000.0, rel=1e-9)
    assert gl.saturates([limit - 0.01, limit + 0.01], RIG, LIGHT).tolist() == [True, False]


@pytest.mark.parametrize("direction", [(1.0, 0.0), (0.0, 1.0), (0.6, -0.8)])
def test_company_within_half_the_guiding_box(direction: tuple[float, float]) -> None:
    """Half a box of 32 pixels of 3.75 µm is 0.06 mm: a star 0.0597 mm off is company, one 0.0603 mm off is not."""
    for off_mm, expected in ((0.0597, True), (0.0603, False)):
        x, y = (np.array([5.0, 5.0 + off_mm * part]) for part in direction)
        judged = gl.judge_guide_stars(RIG, LIGHT, x, y, np.array([10.0, 10.5]))
        assert judged.has_companion.tolist() == [expected, expected]
