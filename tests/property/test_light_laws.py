"""Laws of weights, effective hours, exposures and the guider's reach."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies.light import filters, skies
from tests.strategies.rig import rigs

from sidelight.light import exposure as ex
from sidelight.light.filters import Filter, sky_mag_in_band
from sidelight.light.hours import effective_hours, moon_cost_share
from sidelight.light.reach import guider_reach
from sidelight.light.weight import Sensitivity, sensitivity, signal_squared, weight_of, weights
from sidelight.rig import guide_light as gl
from sidelight.rig import photometry as ph
from sidelight.rig.records import Rig
from sidelight.sky.altitude import altitude_azimuth
from sidelight.sky.brightness import NightSky, sky_parts
from sidelight.sky.frames import sidereal_deg
from sidelight.sky.night import dark_spans, night_of
from sidelight.sky.site import Site

mags = st.floats(2.0, 16.0)


@given(sky=skies, one=filters, floor=st.floats(0.0, 5.0))
@settings(max_examples=40, deadline=None)
def test_the_moonless_zenith_is_worth_one(sky: NightSky, one: Filter, floor: float) -> None:
    """An hour at the moonless zenith counts as an hour, in every filter, for every sky and camera."""
    alone = replace(sky, glows=())
    worth = weight_of(sky_parts(alone, 90.0), np.array(90.0), alone, sensitivity(one, sky, 300.0, floor))
    assert float(worth) == pytest.approx(1.0, rel=1e-9)


@given(sky=skies, altitude=st.floats(5, 85), moon=st.floats(0, 90), rho=st.floats(1, 170), phase=st.floats(0, 170))
@settings(max_examples=50, deadline=None)
def test_moon_and_depth_only_cost(sky: NightSky, altitude: float, moon: float, rho: float, phase: float) -> None:
    """A Moon never adds worth, air takes some, and a noisy camera feels the sky less, whichever way it goes."""
    alone = replace(sky, glows=())
    sense = Sensitivity(sky.extinction_mag_per_airmass, 1.0)
    seen = np.array(altitude)
    lit = sky_parts(alone, altitude, moon_altitude_deg=moon, moon_separation_deg=rho, moon_phase_angle_deg=phase)
    with_moon = float(weight_of(lit, seen, alone, sense))
    without = float(weight_of(sky_parts(alone, altitude), seen, alone, sense))
    assert 0.0 <= with_moon <= without <= 1.0 + 1e-9
    noisy = float(weight_of(lit, seen, alone, replace(sense, floor_ratio=2.0)))
    signal = float(signal_squared(seen, sense))
    assert min(with_moon, signal) * (1 - 1e-9) <= noisy <= max(with_moon, signal) * (1 + 1e-9)


@st.composite
def dark_windows(draw: st.DrawFn) -> tuple[Site, float, float, float, float]:
    """Draw a site and a window in one of its nights, Sun below −14°, with a target well above the horizon."""
    latitude = draw(st.floats(-60.0, 60.0))
    site = Site("x", latitude, draw(st.floats(-180, 180)), draw(st.floats(0, 3000)), "UTC")
    night = night_of(site, draw(st.dates(dt.date(2020, 1, 1), dt.date(2040, 1, 1))))
    dark = dark_spans(site, night, -14.0)
    assume(len(dark))
    part = sorted(draw(st.tuples(st.floats(0, 1), st.floats(0, 1))))
    start, end = (float(dark[0, 0] + one * (dark[0, 1] - dark[0, 0])) for one in part)
    assume(end - start > 0.002)
    ra = float(sidereal_deg((start + end) / 2, site.longitude_deg)) + draw(st.floats(-30, 30))
    dec = float(np.clip(latitude + draw(st.floats(-40, 40)), -89, 89))
    assume(np.all(altitude_azimuth(ra, dec, np.linspace(start, end, 20), site)[0] > 10.0))
    return site, start, end, ra, dec


@given(window=dark_windows(), sky=skies, one=filters, floor=st.floats(0, 3))
@settings(max_examples=25, deadline=None)
def test_the_stated_error_holds_against_dense_sampling(
    window: tuple[Site, float, float, float, float], sky: NightSky, one: Filter, floor: float
) -> None:
    """An integral is within its stated error, and half a second, of the exact weight sampled 600 times."""
    site, start, end, ra, dec = window
    at = start + (np.arange(600) + 0.5) * (end - start) / 600
    dense = float(np.mean(weights(site, sky, one, ra, dec, at, floor))) * (end - start) * 24.0
    ours = effective_hours(site, sky, [one], *(np.array([x]) for x in (start, end, ra, dec)), floors_ratio=[floor])
    assert abs(float(ours.effective_h[0, 0]) - dense) <= float(ours.error_h[0, 0]) + 0.5 / 3600.0
    assert float(ours.error_h[0, 0]) < 0.01 * float(ours.dark_h[0])
    assert float(ours.moonless_h[0, 0]) >= float(ours.effective_h[0, 0]) - float(ours.error_h[0, 0])


@given(window=dark_windows(), parts=st.lists(st.floats(0, 1), min_size=1, max_size=3))
@settings(max_examples=20, deadline=None)
def test_windows_add_up(window: tuple[Site, float, float, float, float], parts: list[float]) -> None:
    """A window cut into pieces is worth the same in all, in any order, and inputs stay as they were."""
    site, start, end, ra, dec = window
    sky, one = NightSky(21.0, 0.1, "", 0.2), Filter("L", 550.0, 300.0)
    cuts = np.sort(np.concatenate([[start, end], start + np.array(parts) * (end - start)]))
    starts, ends = cuts[:-1][::-1].copy(), cuts[1:][::-1].copy()
    many = np.full(len(starts), ra), np.full(len(starts), dec)
    kept = starts.copy()
    pieces = effective_hours(site, sky, [one, replace(one, moonlight_factor=0.0)], starts, ends, *many)
    whole = effective_hours(site, sky, [one], cuts[:1], cuts[-1:], np.array([ra]), np.array([dec]))
    np.testing.assert_array_equal(starts, kept)
    slack = float(whole.error_h[0, 0] + pieces.error_h[0].sum()) + 1e-9
    assert abs(float(pieces.effective_h[0].sum()) - float(whole.effective_h[0, 0])) <= slack
    np.testing.assert_allclose(pieces.effective_h[1], pieces.moonless_h[1])
    np.testing.assert_allclose(pieces.moon_cost_share[1], 0.0, atol=1e-12)


def test_no_windows_are_no_hours() -> None:
    """No window at all gives empty arrays, not an error; a worthless window costs the Moon nothing."""
    empty = np.empty(0)
    sky = NightSky(21.0, 0.1, "", 0.2)
    site = Site("x", 50.0, 10.0, 100.0, "UTC")
    hours = effective_hours(site, sky, [Filter("L", 550.0, 300.0)], empty, empty, empty, empty)
    assert hours.effective_h.shape == (1, 0)
    assert moon_cost_share(np.array([0.0]), np.array([0.0])).tolist() == [0.0]


@given(
    rig=rigs(guided=False),
    sky=skies,
    one=filters,
    brightness=st.floats(17, 26),
    snr=st.floats(1, 100),
    sub=st.floats(1, 900),
)
@settings(max_examples=50, deadline=None)
def test_hours_and_signal_to_noise_are_inverse(
    rig: Rig, sky: NightSky, one: Filter, brightness: float, snr: float, sub: float
) -> None:
    """The hours for a signal-to-noise reach it, per pixel and per square arcsecond; longer exposures need no more."""
    given_rates = ex.rates(rig, sky, one, 0.0, brightness)
    scale = ex.camera_scale_arcsec_per_px(rig)
    pixel_h = ex.hours_for_snr_h(given_rates, snr, sub)
    area_h = ex.hours_for_snr_h(given_rates, snr, sub, scale)
    assert float(ex.snr_per_pixel(given_rates, pixel_h, sub)) == pytest.approx(snr, rel=1e-9)
    assert float(ex.snr_per_arcsec2(given_rates, area_h, sub, scale)) == pytest.approx(snr, rel=1e-9)
    assert float(ex.hours_for_snr_h(given_rates, snr, 2 * sub)) <= float(pixel_h)


@given(rig=rigs(guided=False), sky=skies, one=filters, star=st.one_of(st.none(), mags))
@settings(max_examples=50, deadline=None)
def test_the_chosen_exposure_keeps_its_bounds(rig: Rig, sky: NightSky, one: Filter, star: float | None) -> None:
    """It lies in the person's bounds, and its outcome says which wish decided."""
    wish = ex.ExposureWish(star_mag=star)
    chosen = ex.sub_exposure(rig, one, ex.rates(rig, sky, one), wish)
    assert wish.shortest_s <= chosen.chosen_s <= wish.longest_s
    assert (chosen.saturates_s is None) == (star is None)
    if chosen.outcome == "sky_limited":
        assert chosen.read_noise_share == pytest.approx(wish.read_noise_share, rel=1e-6)
    if chosen.outcome in ("held_by_star", "sky_limited") and chosen.saturates_s is not None:
        assert chosen.chosen_s <= chosen.saturates_s * (1 + 1e-12)
    if chosen.outcome in ("held_by_star", "held_by_longest"):
        assert chosen.read_noise_share > wish.read_noise_share


@given(rig=rigs(), sky=skies, seeing=st.floats(1, 6), exposure=st.floats(0.2, 10))
@settings(max_examples=50, deadline=None)
def test_the_guiders_limit_has_the_wanted_signal_to_noise(
    rig: Rig, sky: NightSky, seeing: float, exposure: float
) -> None:
    """A star at the limit has exactly the least signal-to-noise, and brighter stars more."""
    reach = guider_reach(rig, sky, gl.GuideLight(exposure_s=exposure, seeing_arcsec=seeing))
    at_limit, brighter = gl.guide_snr([reach.limit_mag, reach.limit_mag - 1.0], rig, reach.light)
    assert at_limit == pytest.approx(reach.light.least_snr, rel=1e-6)
    assert brighter > at_limit
    assert reach.bright_mag is not None
    assert reach.bright_mag <= reach.limit_mag
    if reach.outcome != "reaches":
        assert bool(gl.saturates(reach.limit_mag - 1e-6, rig, reach.light))
        return
    full = gl.saturates([reach.bright_mag - 0.01, reach.bright_mag + 0.01], rig, reach.light)
    assert full.tolist() == [True, False]


@given(rig=rigs())
@settings(max_examples=30, deadline=None)
def test_the_prism_catches_the_share_of_the_disc_that_it_covers(rig: Rig) -> None:
    """The closed form agrees with counting points of the beam's disc that fall on the prism's face."""
    assert rig.guider is not None
    radius = rig.guider.prism_distance_mm / (2 * rig.telescope.focal_ratio)
    axis = (np.arange(801) + 0.5) / 801 * 2 - 1
    x, y = (one * radius for one in np.meshgrid(axis, axis))
    disc = np.hypot(x, y) <= radius
    on_face = disc & (np.abs(x) <= rig.guider.prism_along_mm / 2) & (np.abs(y) <= rig.guider.prism_across_mm / 2)
    assert gl.prism_light_fraction(rig) == pytest.approx(on_face.sum() / disc.sum(), abs=3e-3)


@given(
    stars=st.lists(st.tuples(st.floats(-2, 2), st.floats(-2, 2), st.floats(5, 14)), max_size=25),
    reach=st.floats(0.01, 1.5),
    within=st.floats(0, 3),
)
@settings(max_examples=50, deadline=None)
def test_companions_are_found_as_by_comparing_all_pairs(
    stars: list[tuple[float, float, float]], reach: float, within: float
) -> None:
    """The sweep finds the same stars with companions as looking at every pair."""
    x, y, mag = (np.array([star[k] for star in stars], dtype=float) for k in range(3))
    pairs = [
        any(
            np.hypot(x[i] - x[j], y[i] - y[j]) <= reach and mag[j] <= mag[i] + within
            for j in range(len(stars))
            if j != i
        )
        for i in range(len(stars))
    ]
    assert gl.has_companion(x, y, mag, reach, within).tolist() == pairs


@given(source=st.floats(1, 1e6), floor=st.floats(0, 1e3))
@settings(max_examples=40, deadline=None)
def test_the_ccd_equation_solved_for_its_source(source: float, floor: float) -> None:
    """The source for a signal-to-noise is the one that gives it."""
    snr = source / np.sqrt(source + floor**2)
    assert float(ph.source_for_snr_e(snr, floor)) == pytest.approx(source, rel=1e-9)


@given(fwhm=st.floats(0.3, 20), well=st.floats(1e3, 1e5), rate=st.floats(10, 1e6))
@settings(max_examples=40, deadline=None)
def test_the_central_pixel_fills_at_the_saturation_time(fwhm: float, well: float, rate: float) -> None:
    """At the saturation time the central pixel, integrated by points over a Gaussian, holds the well."""
    from sidelight.rig.records import Sensor

    sensor = Sensor(100, 100, 4.0, full_well_e=well, gain_e_per_adu=0.0)
    seconds = float(ph.saturation_s(rate, fwhm, 0.0, sensor))
    sigma = fwhm / 2.3548200450309493
    axis = (np.arange(400) + 0.5) / 400 - 0.5
    profile = np.exp(-(axis**2) / (2 * sigma**2)) / (np.sqrt(2 * np.pi) * sigma)
    assert rate * seconds * float(np.mean(profile)) ** 2 == pytest.approx(well, rel=1e-3)


@given(one=filters, mag=st.floats(16, 22.5))
@settings(max_examples=40, deadline=None)
def test_a_brighter_sky_is_brighter_in_every_filter(one: Filter, mag: float) -> None:
    """A sky a magnitude brighter in V is a magnitude brighter in every filter."""
    assert float(sky_mag_in_band(one, mag) - sky_mag_in_band(one, mag - 1.0)) == pytest.approx(1.0)
