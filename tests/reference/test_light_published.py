"""Photons, the CCD equation and exposures against published figures, the source beside each."""

import math

import numpy as np
import pytest

from sidelight.light import exposure as ex
from sidelight.light import filters as fl
from sidelight.rig import guide_light as gl
from sidelight.rig import photometry as ph
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.sky.airmass import airmass_kasten_young

PERFECT = Telescope(100.0, 1000.0, transmission_fraction=1.0)
ALL_SEEING = Sensor(1000, 1000, 4.848136811, quantum_efficiency=1.0)


def test_photons_of_a_faint_v_star() -> None:
    """V 23.90 gives 2.42 photons per second and m² in Δλ/λ 0.16 (Bessell 1979, as a CfA course page works it out)."""
    rate = float(ph.photon_flux_per_nm(23.90, 545.0)) * 1e4 * 0.16 * 545.0
    assert rate == pytest.approx(2.42, rel=0.015)


def test_zero_points() -> None:
    """Bessell, Castelli & Plez 1998: photons of magnitude 0 per s, cm² and Å in U, B, V, R, I."""
    per_angstrom = ph.photon_flux_per_nm(0.0, [366.0, 438.0, 545.0, 641.0, 798.0]) / 10.0
    np.testing.assert_allclose(per_angstrom, [756.1, 1392.6, 995.5, 702.0, 452.0], rtol=1e-9)


def test_photons_from_energy() -> None:
    """The V zero point is its energy, 3.631e-9 erg/s/cm²/Å (the same table), over that of a photon, to 1 %."""
    photon_erg = 6.62607015e-27 * 2.99792458e10 / 545e-7
    assert 3.631e-9 / photon_erg == pytest.approx(float(ph.photon_flux_per_nm(0.0, 545.0)) / 10.0, rel=0.01)


def test_a_dark_sky_through_ten_centimetres() -> None:
    """V 22.0 through a perfect 10 cm telescope and 88 nm: 0.10905 photons per s and arcsec² (Bessell 1998)."""
    scale = ex.camera_scale_arcsec_per_px(Rig(PERFECT, ALL_SEEING))
    assert scale == pytest.approx(1.0, rel=1e-9)
    assert float(ph.surface_rate_e_per_s(22.0, PERFECT, ALL_SEEING, 545.0, 88.0)) == pytest.approx(0.10905, abs=1e-4)


def test_noise_of_a_star_with_and_without_rounding() -> None:
    """The test of a photometry package (stellarphot): 89.078616 e, with rounding to counts 89.10182 e."""
    given = (1000 * 1.5, 20.0, 15 * 1.5, 7 * 18.0, 12.0)
    assert float(ph.ccd_noise_e(*given, background_pixels_count=200)) == pytest.approx(89.078616, abs=1e-6)
    rounded = float(ph.ccd_noise_e(*given, background_pixels_count=200, gain_e_per_adu=1.5))
    assert rounded == pytest.approx(89.10182, abs=2e-6)


def test_photon_noise_alone() -> None:
    """Twenty-five electrons and nothing else: signal-to-noise 5 (astropy's test of the CCD equation)."""
    assert 25.0 / float(ph.ccd_noise_e(25.0, 1.0, 0.0, 0.0, 0.0)) == pytest.approx(5.0)


def test_howells_example() -> None:
    """Howell, Handbook of CCD Astronomy, 4.4 (figures from memory): 24013 counts, gain 5, sky 620, S/N about 342."""
    source = 24013 * 5.0
    noise = float(ph.ccd_noise_e(source, 1.0, 620 * 5.0, 22 * 300 / 3600, 5.0))
    assert source / noise == pytest.approx(342, abs=1)
    assert math.sqrt(source) == pytest.approx(346, abs=1)


def test_read_noise_and_sub_exposure() -> None:
    """Read noise 1.5 e, 0.5 e/s of sky, 5 %: 43.9 s; for 2, 5, 10 % the sky needs 24.75, 9.76, 4.76 RN² (algebra)."""
    assert float(ph.sub_exposure_s(1.5, 0.5, 0.05)) == pytest.approx(43.90, abs=0.01)
    np.testing.assert_allclose(ph.sub_exposure_s(1.0, 1.0, [0.02, 0.05, 0.10]), [24.75, 9.756, 4.762], atol=5e-3)


def test_the_best_aperture() -> None:
    """The aperture that measures a faint Gaussian star best is 0.67 FWHM in radius (Howell 1989: 0.6 to 0.7)."""
    radius = np.linspace(0.3, 1.5, 12001)
    best = radius[np.argmax(ph.aperture_fraction(radius, 1.0) / radius)]
    assert best == pytest.approx(0.673, abs=1e-3)
    assert pytest.approx(best, abs=0.02) == ph.BEST_RADIUS_FWHM


def test_the_thirty_degree_rule() -> None:
    """Airmass 2 is at 29.9° (Kasten & Young 1989): there a star loses one extinction more than at the zenith."""
    assert float(airmass_kasten_young(29.905)) == pytest.approx(2.0, abs=1e-3)


def test_the_dark_sky_s_colour() -> None:
    """Benn & Ellison 1998, La Palma: dark sky B 22.7, V 21.9, R 21.0; through such bands ours has those colours."""
    b, v, r = (
        float(fl.sky_mag_in_band(fl.Filter(n, nm, 30.0), 21.9)) for n, nm in (("B", 438), ("V", 545), ("R", 641))
    )
    np.testing.assert_allclose([b - v, v - r], [0.8, 0.9], atol=0.15)


def test_moonlight_is_sunlight_scattered_by_molecules() -> None:
    """Sunlight (B−V 0.65, V−R 0.36), reddened by the Moon (0.1, 0.05), scattered as λ⁻⁴: within 35 % of ours."""
    dark = {"B": 22.7, "V": 21.8, "R": 20.9}
    sunlit = {"B": 0.75, "V": 0.0, "R": -0.41}
    nm = {"B": 438.0, "V": 545.0, "R": 641.0}
    for band, middle in nm.items():
        blue = (nm["V"] / middle) ** 4
        moon = 10 ** (-0.4 * sunlit[band]) * blue
        expected = moon / 10 ** (-0.4 * (dark[band] - dark["V"]))
        assert fl.moonlight_factor(fl.Filter(band, middle, 26.0)) == pytest.approx(expected, rel=0.35)


def test_a_guider_reaches_what_the_trade_says_at_least() -> None:
    """Common practice, no source: behind 80 to 200 mm an off-axis guider finds V 11 to 13 in 2 to 4 s, or better."""
    for aperture, focal in ((80, 480), (130, 900), (200, 1600)):
        rig = Rig(Telescope(aperture, focal), Sensor(4000, 3000, 3.8), OffAxisGuider(20.0, Sensor(1280, 960, 3.75)))
        assert 11.0 < gl.guide_limit_mag(rig, gl.GuideLight()) < 16.5


def test_the_limit_follows_the_ccd_equation_by_hand() -> None:
    """At the limiting magnitude the CCD equation, written out here with its own aperture, gives the wanted S/N."""
    guide = Sensor(1280, 960, 3.75, quantum_efficiency=0.7, read_noise_e=3.5, dark_e_per_s=0.5, gain_e_per_adu=0.0)
    rig = Rig(Telescope(150, 900), Sensor(4000, 3000, 3.8), OffAxisGuider(20.0, guide, prism_distance_mm=30.0))
    light = gl.GuideLight(exposure_s=3.0, least_snr=12.0)
    fwhm = math.sqrt(3.0**2 + 2.0**2 + (1.02 * 600e-9 / 0.15 * 206264.8) ** 2) / (206.2648 * 3.75 / 900)
    pixels = math.pi * (0.68 * fwhm) ** 2
    grasp = math.pi / 4 * 15.0**2 * 400.0 * 0.8 * 0.7 * 3.0
    zero = float(np.interp(600.0, [545.0, 641.0], [9955.0, 7020.0]))
    star = zero * 10 ** (-0.4 * (gl.guide_limit_mag(rig, light) + 0.35)) * grasp
    inside = star * (1 - math.exp(-4 * math.log(2) * 0.68**2))
    sky = zero * 10 ** (-0.4 * 20.0) * grasp * (206.2648 * 3.75 / 900) ** 2
    box = max(32.0**2, 4 * pixels)
    noise = math.sqrt(inside + pixels * (1 + pixels / box) * (sky + 0.5 * 3.0 + 3.5**2))
    assert inside / noise == pytest.approx(12.0, rel=1e-5)
