"""Sites with skylines, and places of targets, for tests of the season."""

import numpy as np
from hypothesis import strategies as st

from sidelight.sky.horizon import FLAT, Horizon, horizon_from_points
from sidelight.sky.site import Site


@st.composite
def skylines(draw: st.DrawFn) -> Horizon:
    """Draw a skyline of 1 to 24 points, steep edges a tenth of a degree wide among them."""
    tenths = draw(st.lists(st.integers(0, 3599), min_size=1, max_size=24, unique=True))
    heights = draw(st.lists(st.floats(-5.0, 70.0), min_size=len(tenths), max_size=len(tenths)))
    return horizon_from_points(np.array(tenths) / 10.0, np.array(heights))


@st.composite
def places(draw: st.DrawFn, highest_latitude_deg: float = 90.0) -> Site:
    """Draw a site anywhere, the equator and the poles among them, with its skyline, floor and twilight limit."""
    special = [value for value in (0.0, 90.0, -90.0, 66.56, -66.56) if abs(value) <= highest_latitude_deg]
    reach = st.floats(-highest_latitude_deg, highest_latitude_deg)
    return Site(
        name="anywhere",
        latitude_deg=draw(st.one_of(reach, st.sampled_from(special))),
        longitude_deg=draw(st.floats(-180.0, 180.0)),
        elevation_m=draw(st.sampled_from([0.0, 400.0, 3000.0])),
        time_zone="UTC",
        horizon=draw(st.one_of(st.just(FLAT), skylines())),
        floor_deg=draw(st.sampled_from([0.0, 20.0, 30.0, 45.0])),
        twilight_deg=draw(st.sampled_from([-18.0, -12.0, -6.0])),
    )


def random_site(random: np.random.Generator) -> Site:
    """Return a site anywhere, by a pole too, with up to 36 points of skyline."""
    latitude = random.choice(
        [random.uniform(-90, 90), random.uniform(30, 60), random.uniform(-60, -30), 89.99, -90.0]
    )
    count = int(random.integers(1, 37))
    azimuth = np.sort(random.choice(3600, count, replace=False)) / 10.0
    horizon = horizon_from_points(azimuth, random.uniform(-5, random.choice([20, 60]), count))
    return Site(
        name="anywhere",
        latitude_deg=float(latitude),
        longitude_deg=float(random.uniform(-180, 180)),
        elevation_m=float(random.uniform(-300, 4500)),
        time_zone="UTC",
        horizon=horizon,
        floor_deg=float(random.choice([0.0, 15.0, 30.0, 45.0])),
        twilight_deg=float(random.choice([-18.0, -15.0, -12.0])),
    )


def random_places(random: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return right ascensions and declinations all over the sky, the two poles and their surroundings first."""
    dec = np.degrees(np.arcsin(random.uniform(-1, 1, count)))
    dec[:4] = 90.0, -90.0, 90.0 - random.exponential(0.5), random.exponential(0.5) - 90.0
    return random.uniform(0, 360, count), dec


def grazing_places(random: np.random.Generator, site: Site, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return places that culminate within 0.02° of the skyline or floor under the meridian."""
    towards = site.lowest_usable_deg(np.where(random.random(count) < 0.5, 0.0, 180.0)) + random.normal(0, 0.01, count)
    upper = 90.0 - np.abs(site.latitude_deg)
    dec = np.clip(np.sign(site.latitude_deg or 1.0) * (towards - upper), -90.0, 90.0)
    return random.uniform(0, 360, count), dec
