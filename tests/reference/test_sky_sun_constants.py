"""What rising, setting and twilight are measured by, and the Sun's parallax, against their published definitions."""

import numpy as np

from sidelight.sky import sun
from sidelight.sky.altitude import horizontal_deg
from sidelight.sky.site import Site


def test_definitions_of_the_observatory() -> None:
    """USNO, Rise, Set and Twilight Definitions: centre 50′ below the horizon (34′ and 16′); 6°, 12°, 18° below."""
    site = Site("A", 30.0, 0.0, 0.0, "UTC")
    limits_deg = {
        sun.RISE_SET_DEG: -50.0,
        sun.CIVIL_DEG: -360.0,
        sun.NAUTICAL_DEG: -720.0,
        sun.ASTRONOMICAL_DEG: -1080.0,
    }
    for limit_deg, arcmin in limits_deg.items():
        edges = sun.sun_below(site, np.array([60587.5]), np.array([60588.5]), limit_deg).of(0)
        assert edges.shape == (1, 2)
        np.testing.assert_allclose(sun.sun_altitude_deg(edges[0], site) * 60.0, arcmin, atol=0.01)


def test_the_suns_parallax() -> None:
    """At 1 au the Sun stands lower by the Earth's radius over the au (8.794″) times the cosine, to 0.03″.

    Radius 6378.137 km of WGS84, 149,597,870.7 km of the IAU's astronomical unit.
    """
    site = Site("A", 30.0, 0.0, 0.0, "UTC")
    mjd = 60587.0 + np.linspace(0.0, 1.0, 49)  # 4 to 5 October 2024
    assert np.abs(sun.sun_distance_au(mjd) - 1.0).max() < 4e-4
    geocentric_deg, _ = horizontal_deg(sun.sun_direction(mjd), mjd, site)
    lower_arcsec = (geocentric_deg - sun.sun_altitude_deg(mjd, site)) * 3600.0
    parallax_arcsec = np.degrees(6378.137 / 149597870.7) * 3600.0
    np.testing.assert_allclose(lower_arcsec, parallax_arcsec * np.cos(np.radians(geocentric_deg)), atol=0.03)
