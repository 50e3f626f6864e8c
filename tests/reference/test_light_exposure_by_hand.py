"""A single exposure and its noise written out by hand for one rig, one filter and one sky."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sidelight.light import exposure as ex
from sidelight.light.filters import Filter
from sidelight.rig.records import Rig, Sensor, Telescope
from sidelight.sky.brightness import measured_sky

CAMERA = Sensor(6000, 4000, 4.0, quantum_efficiency=0.8, read_noise_e=3.0, dark_e_per_s=0.02, full_well_e=50000.0)
RIG = Rig(Telescope(100, 500, transmission_fraction=0.9), replace(CAMERA, gain_e_per_adu=0.0))
GREEN = Filter("V", 545.0, 90.0, 0.95, extinction_mag_per_airmass=0.2)
SKY = measured_sky(21.0)
PIXEL_ARCSEC2 = (206.264806 * 4.0 / 500.0) ** 2
PER_MAG_0 = 9955.0 * math.pi * 25.0 * 90.0 * 0.9 * 0.8 * 0.95
"""Electrons per second of V = 0: 9955 photons per s, cm² and nm (Bessell, Castelli & Plez 1998) on 10 cm."""
GIVEN = ex.Rates(sky_e_per_s=2.0, dark_e_per_s=0.5, read_noise_e=4.0, object_e_per_s=0.25)


def test_an_objects_light_on_a_pixel() -> None:
    """Surface brightness, dimmed by its extinction, times the pixel's square arcseconds."""
    by_hand = PER_MAG_0 * 10 ** (-0.4 * (22.0 + 0.3)) * PIXEL_ARCSEC2
    assert float(ex.object_rate_e_per_s(RIG, GREEN, 22.0, 0.3)) == pytest.approx(by_hand, rel=1e-5)
    given = ex.rates(RIG, SKY, GREEN, 0.0, 22.0)
    assert given.object_e_per_s == pytest.approx(PER_MAG_0 * 10 ** (-0.4 * 22.2) * PIXEL_ARCSEC2, rel=1e-5)
    assert (given.dark_e_per_s, given.read_noise_e) == (0.02, 3.0)
    # through a V filter the sky is as bright as in V, but for the slope of its colour over the passband
    assert given.sky_e_per_s == pytest.approx(PER_MAG_0 * 10 ** (-0.4 * 21.0) * PIXEL_ARCSEC2, rel=0.03)


def test_the_camera_s_own_noise_against_the_sky_s() -> None:
    """Dark current 0.5 e/s and 4² e² of read noise every 32 s are 1 e²/s: half of a sky of 2 e/s."""
    assert ex.floor_ratio(GIVEN, 32.0) == pytest.approx(0.5)


def test_signal_to_noise_by_hand() -> None:
    """0.25 e/s over an hour of 32 s exposures against 0.25 + 2.5 + 16/32 e²/s, by pixel and by arcsec²."""
    by_hand = 0.25 * 3600.0 / math.sqrt((0.25 + 2.5 + 0.5) * 3600.0)
    assert float(ex.snr_per_pixel(GIVEN, 1.0, 32.0)) == pytest.approx(by_hand)
    assert float(ex.snr_per_arcsec2(GIVEN, 1.0, 32.0, 2.0)) == pytest.approx(by_hand / 2.0)
    assert float(ex.hours_for_snr_h(GIVEN, by_hand, 32.0)) == pytest.approx(1.0)
    assert float(ex.hours_for_snr_h(GIVEN, by_hand / 2.0, 32.0, 2.0)) == pytest.approx(1.0)


def test_a_single_exposure_by_hand() -> None:
    """At 5 % the sky of 2.5 e/s asks for 16 / (0.1025 × 2.5) s; there read noise adds those 5 %."""
    wish = ex.ExposureWish(shortest_s=5.0, longest_s=600.0)
    found = ex.sub_exposure(RIG, GREEN, GIVEN, wish)
    assert found.sky_limited_s == pytest.approx(16.0 / (0.1025 * 2.5))
    assert found.chosen_s == found.sky_limited_s
    assert found.read_noise_share == pytest.approx(0.05)
    assert found.outcome == "sky_limited"
    held = ex.sub_exposure(RIG, GREEN, GIVEN, replace(wish, longest_s=20.0))
    assert held.chosen_s == 20.0
    assert held.read_noise_share == pytest.approx(math.sqrt(1.0 + 16.0 / (2.5 * 20.0)) - 1.0)
    assert held.floor_ratio == pytest.approx((0.5 + 16.0 / 20.0) / 2.0)
    assert held.outcome == "held_by_longest"


def test_when_a_star_saturates() -> None:
    """A star's central pixel, integrated over a Gaussian of 2.5″, and the sky fill 50,000 electrons."""
    sigma_px = 2.5 / math.sqrt(PIXEL_ARCSEC2) / 2.3548200450309493
    share = math.erf(0.5 / (sigma_px * math.sqrt(2.0))) ** 2
    by_hand = 50000.0 / (PER_MAG_0 * 10 ** (-0.4 * 8.0) * share + 2.5)
    found = ex.sub_exposure(RIG, GREEN, GIVEN, ex.ExposureWish(star_mag=8.0, shortest_s=0.1, seeing_arcsec=2.5))
    assert found.saturates_s == pytest.approx(by_hand, rel=1e-5)
    assert found.chosen_s == pytest.approx(by_hand, rel=1e-5)
    assert found.outcome == "held_by_star"


def test_a_star_that_saturates_later_decides_nothing() -> None:
    """A star that fills its pixel after the longest exposure wanted, if before the sky's own, does not hold it."""
    wish = ex.ExposureWish(star_mag=10.5, shortest_s=1.0, longest_s=30.0)
    found = ex.sub_exposure(RIG, GREEN, GIVEN, wish)
    assert found.saturates_s is not None
    assert 30.0 < found.saturates_s < found.sky_limited_s
    assert (found.outcome, found.chosen_s) == ("held_by_longest", 30.0)


def test_frames_that_just_fit() -> None:
    """An hour holds exactly twelve exposures of 300 s where nothing is lost between them, and no clock none."""
    wish = ex.ExposureWish(between_s=0.0, dither_every_count=0)
    load = ex.night_load(CAMERA, 1.0, 300.0, wish)
    assert (load.frames_count, load.open_h, load.overhead_share) == (12, 1.0, 0.0)
    assert ex.night_load(CAMERA, -1.0, 300.0, wish).frames_count == 0


def test_the_pixel_scale() -> None:
    """206.265 × 4 µm / 500 mm is 1.65012″ a pixel."""
    assert ex.camera_scale_arcsec_per_px(RIG) == pytest.approx(1.65012, abs=2e-5)
    assert np.isinf(ex.hours_for_snr_h(replace(GIVEN, object_e_per_s=0.0), 5.0, 60.0))
