"""Laws of the night sky's brightness."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.light import brightnesses, extinctions, phase_angles, skies

from sidelight.sky import brightness as br
from sidelight.sky import extinction as ex
from sidelight.sky.brightness import NightSky

zenith_distances = st.floats(0.0, 90.0)


@given(mag=st.floats(5.0, 25.0))
@settings(max_examples=40, deadline=None)
def test_magnitudes_and_nanolamberts_are_inverse(mag: float) -> None:
    """There and back, and 2.5 magnitudes are a factor of ten."""
    assert float(br.mag_from_nl(br.nl_from_mag(mag))) == pytest.approx(mag, abs=1e-9)
    assert float(br.nl_from_mag(mag - 2.5) / br.nl_from_mag(mag)) == pytest.approx(10.0, rel=1e-4)


@given(z=zenith_distances, zm=zenith_distances, rho=st.floats(0.0, 180.0), phase=phase_angles, k=extinctions)
@settings(max_examples=50, deadline=None)
def test_moonlight_falls_with_phase(z: float, zm: float, rho: float, phase: float, k: float) -> None:
    """Moonlight is never negative nor infinite, and a less illuminated Moon gives less of it."""
    fuller, thinner = (float(br.moonlight_nl(rho, z, zm, one, k)) for one in (phase, min(phase + 5.0, 180.0)))
    assert np.isfinite(fuller)
    assert 0.0 <= thinner <= fuller


@given(sky=skies, altitude=st.floats(5.0, 90.0), azimuth=st.floats(0, 360), rho=st.floats(1, 180), phase=phase_angles)
@settings(max_examples=50, deadline=None)
def test_a_moon_or_sun_below_the_horizon_adds_nothing(
    sky: NightSky, altitude: float, azimuth: float, rho: float, phase: float
) -> None:
    """With the Moon down and the Sun below −18.5° only the site's own sky is left."""
    parts = br.sky_parts(
        sky,
        altitude,
        azimuth_deg=azimuth,
        sun_altitude_deg=-18.5,
        moon_altitude_deg=-0.27,
        moon_separation_deg=rho,
        moon_phase_angle_deg=phase,
    )
    assert float(parts.moon_nl) == 0.0
    assert float(parts.twilight_nl) == 0.0
    assert float(parts.total_nl) == pytest.approx(float(parts.airglow_nl + parts.glow_nl))


@given(k=extinctions, low=st.floats(0.0, 89.0), step=st.floats(0.0, 1.0))
@settings(max_examples=40, deadline=None)
def test_a_rising_moon_is_not_switched_on(k: float, low: float, step: float) -> None:
    """The factor on a low Moon's light rises steadily from nearly nothing at the horizon to 1."""
    low_factor, high_factor = br.low_moon_factor(low, k), br.low_moon_factor(low + step, k)
    assert float(high_factor) >= float(low_factor) - 1e-3
    assert 0.0 < float(low_factor) <= 1.0
    assert float(br.low_moon_factor(0.0, max(k, 0.1))) < 0.1


@given(sun=st.floats(-30.0, -5.0))
@settings(max_examples=40, deadline=None)
def test_twilight_only_fades(sun: float) -> None:
    """A lower Sun gives no more twilight, and none at all below −18.5°."""
    here, lower = float(br.twilight_nl(sun)), float(br.twilight_nl(sun - 0.5))
    assert 0.0 <= lower <= here
    if sun < -18.5:
        assert here == 0.0


@given(sky=skies)
@settings(max_examples=30, deadline=None)
def test_a_glow_is_what_was_measured_where_it_was_measured(sky: NightSky) -> None:
    """Airglow and a town's glow together are the measured brightness in its direction, if that is the brighter."""
    for glow in sky.glows:
        alone = NightSky(sky.zenith_mag_arcsec2, 0.1, "", sky.extinction_mag_per_airmass, (glow,))
        parts = br.sky_parts(alone, glow.altitude_deg, azimuth_deg=glow.azimuth_deg)
        expected = max(float(br.nl_from_mag(glow.sky_mag_arcsec2)), float(parts.airglow_nl))
        assert float(parts.total_nl) == pytest.approx(expected, rel=1e-9)


@given(v=st.floats(0.01, 1.0), nm=st.floats(350.0, 1000.0), elevation=st.floats(0.0, 4500.0))
@settings(max_examples=40, deadline=None)
def test_extinction_in_v_is_what_was_given(v: float, nm: float, elevation: float) -> None:
    """At 550 nm the extinction is the given one, elsewhere positive, and more in the blue than in the far red."""
    assert float(ex.extinction_mag_per_airmass(550.0, v, elevation)) == pytest.approx(v)
    assert float(ex.extinction_mag_per_airmass(nm, v, elevation)) > 0.0
    blue, red = ex.extinction_mag_per_airmass([420.0, 800.0], v, elevation)
    assert blue > red


@given(mag=brightnesses, k=extinctions, z=zenith_distances)
@settings(max_examples=40, deadline=None)
def test_the_zenith_is_the_reference(mag: float, k: float, z: float) -> None:
    """Airglow at the zenith is the zenith's brightness, whatever the extinction."""
    nl = float(br.nl_from_mag(mag))
    assert float(br.airglow_nl(0.0, nl, k)) == pytest.approx(nl)
    assert float(br.airglow_nl(z, nl, 0.0)) >= nl * (1 - 1e-12)
