"""Moonrise and moonset are what the US Naval Observatory defines them to be."""

import datetime as dt

import numpy as np
import pytest

from sidelight.sky.moon import moon_altitude_deg, moon_topocentric, moon_up_spans
from sidelight.sky.night import nights
from sidelight.sky.site import Site


@pytest.mark.parametrize("latitude_deg", [-44.0, 0.0, 52.0])
def test_the_upper_limb_stands_at_the_refracted_horizon(latitude_deg: float) -> None:
    """USNO: the limb at −34′, seen from the site; radius 1737.4 km (IAU, Archinal et al. 2018); to 0.5″."""
    site = Site("A", latitude_deg, 11.0, 200.0, "UTC")
    edges = []
    for night in nights(site, dt.date(2027, 3, 1), 29):
        spans = moon_up_spans(site, night)
        inner = spans[(spans > night.start_mjd + 1e-6) & (spans < night.end_mjd - 1e-6)]
        edges += inner.tolist()
    assert len(edges) > 20
    at = np.array(edges)
    radius_deg = np.degrees(np.arcsin(1737.4 / moon_topocentric(at, site)[2]))
    limb_arcmin = (moon_altitude_deg(at, site) + radius_deg) * 60.0
    np.testing.assert_allclose(limb_arcmin, -34.0, atol=0.5 / 60.0)
