"""Laws of the arcs of hour angle: their ends lie on the edge, their insides above it, and nothing is left out."""

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.season import places

from sidelight.sky.crossings import hour_angle_arcs
from sidelight.sky.horizon import horizon_from_points
from sidelight.sky.refraction import apparent_altitude_deg
from sidelight.sky.site import Site

declinations = st.lists(st.floats(-90.0, 90.0), min_size=1, max_size=8).map(np.array)


def height_deg(site: Site, hour_angle_deg: np.ndarray, dec_deg: float) -> np.ndarray:
    """Return how far above skyline and floor an object stands, by spherical trigonometry (Meeus 13.5, 13.6)."""
    h, dec, latitude = np.radians(hour_angle_deg), np.radians(dec_deg), np.radians(site.latitude_deg)
    sin_altitude = np.sin(latitude) * np.sin(dec) + np.cos(latitude) * np.cos(dec) * np.cos(h)
    true_deg = np.degrees(np.arcsin(np.clip(sin_altitude, -1.0, 1.0)))
    south = np.cos(h) * np.sin(latitude) * np.cos(dec) - np.sin(dec) * np.cos(latitude)
    azimuth = 180.0 + np.degrees(np.arctan2(np.sin(h) * np.cos(dec), south))
    return np.asarray(apparent_altitude_deg(true_deg, site.elevation_m) - site.lowest_usable_deg(azimuth))


@settings(max_examples=60, deadline=None)
@given(site=places(), dec_deg=declinations)
def test_arcs_hold_what_stands_above_the_edge(site: Site, dec_deg: np.ndarray) -> None:
    """At every third of a degree of hour angle an object is in an arc exactly if it stands above the edge."""
    arcs = hour_angle_arcs(dec_deg, site)
    hour_angle = np.arange(-180.0, 180.0, 1.0 / 3.0)
    for row, dec in enumerate(dec_deg.tolist()):
        height = height_deg(site, hour_angle, dec)
        inside = np.zeros(len(hour_angle), dtype=bool)
        for start, end in arcs.of(row):
            inside |= np.mod(hour_angle - start, 360.0) < end - start
        wrong = (inside != (height > 0)) & (np.abs(height) > 2e-6)
        assert not np.any(wrong), (dec, hour_angle[wrong], height[wrong])


@settings(max_examples=60, deadline=None)
@given(site=places(highest_latitude_deg=89.0), dec_deg=st.lists(st.floats(-89, 89), min_size=1, max_size=8))
def test_arcs_end_on_the_edge(site: Site, dec_deg: list[float]) -> None:
    """Within 1e-5° of hour angle about each end the object crosses skyline or floor; ends are ordered, apart."""
    arcs = hour_angle_arcs(dec_deg, site)
    for row, dec in enumerate(dec_deg):
        one = arcs.of(row)
        assert np.all((one[:, 0] >= -180.0) & (one[:, 0] < 180.0) & (one[:, 1] <= one[:, 0] + 360.0))
        assert np.all(one[1:, 0] > one[:-1, 1])
        if len(one) == 1 and one[0, 1] - one[0, 0] == 360.0:
            continue
        around = one[:, :, None] + np.array([-1e-5, 0.0, 1e-5])
        height = height_deg(site, around, dec)
        crosses = (height.min(axis=2) <= 0) & (height.max(axis=2) >= 0)
        assert np.all(crosses | (np.abs(height[..., 1]) < 1e-6)), (dec, one, height)


@settings(max_examples=40, deadline=None)
@given(site=places(), dec_deg=declinations)
def test_the_other_hemisphere_is_the_mirror_image(site: Site, dec_deg: np.ndarray) -> None:
    """Turned over the equator (latitude, declination and azimuths mirrored) a sky has the same arcs."""
    horizon = horizon_from_points(180.0 - site.horizon.azimuth_deg, site.horizon.altitude_deg)
    mirrored = dataclasses.replace(site, latitude_deg=-site.latitude_deg, horizon=horizon)
    here, there = hour_angle_arcs(dec_deg, site), hour_angle_arcs(-dec_deg, mirrored)
    hour_angle = np.arange(-180.0, 180.0, 0.5)
    for row, dec in enumerate(dec_deg.tolist()):
        clear = np.abs(height_deg(site, hour_angle, dec)) > 2e-6
        both = [
            np.any(np.mod(hour_angle[:, None] - arcs.of(row)[:, 0], 360.0) < np.diff(arcs.of(row))[:, 0], axis=1)
            for arcs in (here, there)
        ]
        assert np.array_equal(both[0][clear], both[1][clear])
