"""What windows are worth beside plain counting of transits and a dense look at altitudes."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest

from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.season.cuts import Windows
from sidelight.season.measures import from_meridian_deg
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.sky.altitude import altitude_azimuth, apparent_place, hour_angle_deg
from sidelight.sky.horizon import FLAT
from sidelight.sky.night import night_of
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_altitude_deg

SITE = Site("here", 30.0, 0.0, 200.0, "UTC", FLAT, 5.0)
NORTH, SOUTH = (Site("far", latitude_deg, 0.0, 0.0, "UTC", FLAT, 20.0) for latitude_deg in (84.6, -84.6))
EDGES_DEG = (-3.7, -3.5, -1.0, -0.01, 0.01, 1.0, 3.5, 3.7)
"""Of hour angle, to either side of a transit."""


def windows_between(start_deg: FloatArray, end_deg: FloatArray) -> Windows:
    """Return windows from one hour angle to another, counted on through the turns."""
    none = np.zeros(len(start_deg), dtype=np.int64)
    return Windows(none, none, np.zeros(len(start_deg)), end_deg - start_deg, start_deg, np.zeros(len(start_deg)))


def test_transits_are_passed_exactly() -> None:
    """A window that begins or ends beside a transit, by 0.01° to 3.7°, has passed it or not, in any turn."""
    edges = np.array([half * 180.0 + aside for half in range(-4, 5) for aside in EDGES_DEG])
    start, end = (one.ravel() for one in np.meshgrid(edges, edges))
    kept = (end > start) & (end - start <= 361.0)
    start, end = start[kept], end[kept]
    nearest, farthest = from_meridian_deg(windows_between(start, end))
    for one, (first, last) in enumerate(zip(start.tolist(), end.tolist(), strict=True)):
        away = [min(abs(edge - 360.0 * turn) for turn in range(-4, 5)) for edge in (first, last)]
        upper = any(first < 360.0 * turn < last for turn in range(-4, 5))
        lower = any(first < 360.0 * turn + 180.0 < last for turn in range(-4, 5))
        assert nearest[one] == pytest.approx(0.0 if upper else min(away), abs=1e-9)
        assert farthest[one] == pytest.approx(180.0 if lower else max(away), abs=1e-9)


def beside_the_meridian(at_mjd: float, lower: bool) -> tuple[FloatArray, FloatArray]:
    """Return directions that stand within 4° of hour angle from a transit at an instant, near the zenith or pole."""
    ra_now, _ = apparent_place(0.0, 0.0, at_mjd)
    sidereal_deg = float(hour_angle_deg(ra_now, at_mjd, SITE))
    ra = np.mod(sidereal_deg - np.array([-3.5, -2.0, -0.5, 0.5, 2.0, 3.5]) + (180.0 if lower else 0.0), 360.0)
    dec = np.full(len(ra), 75.0 if lower else 29.5)
    return ra, dec


def extremes_seen(table: SeasonTable, row: int, ra_deg: float, dec_deg: float) -> tuple[float, float]:
    """Return the lowest and the highest altitude of 2001 looks into each window of the first night."""
    seen = [
        altitude_azimuth(ra_deg, dec_deg, np.linspace(start, end, 2001), SITE)[0]
        for start, end in table.windows(row, 0).tolist()
    ]
    return float(np.min(np.concatenate(seen))), float(np.max(np.concatenate(seen)))


@pytest.mark.parametrize("lower", [False, True])
@pytest.mark.parametrize("edge", [0, 1])
def test_a_window_cut_off_beside_a_transit_has_the_altitude_of_its_end(edge: int, lower: bool) -> None:
    """What dusk or dawn cuts off within 4° of the meridian is no higher, or lower, than it gets: to 0.001°."""
    date = dt.date(2027, 2, 10)
    dark = target_windows(SITE, 0.0, 89.0, date, 1).darkness.dark.of(0)
    ra, dec = beside_the_meridian(float(dark.ravel()[edge]), lower)
    table = target_windows(SITE, ra, dec, date, 1)
    for row in range(len(ra)):
        low, high = extremes_seen(table, row, float(ra[row]), float(dec[row]))
        assert table.max_altitude_deg[row, 0] == pytest.approx(high, abs=0.001)
        assert table.min_altitude_deg[row, 0] == pytest.approx(low, abs=0.001)


@pytest.mark.parametrize(
    ("site", "date"), [(NORTH, dt.date(2027, 12, 21)), (SOUTH, dt.date(2027, 6, 21))], ids=["north", "south"]
)
@pytest.mark.parametrize("limit_above_deg", [-0.002, 0.1])
def test_windows_at_the_ends_of_a_polar_night(site: Site, date: dt.date, limit_above_deg: float) -> None:
    """Dark for 23¾ hours or for 24: what rises in the last minutes, or sets in the first, is seen as it stands."""
    night = night_of(site, date)
    highest_deg = float(np.max(sun_altitude_deg(np.linspace(night.start_mjd, night.end_mjd, 2001), site)))
    ra = np.arange(0.0, 360.0, 0.5)
    dec = np.full(len(ra), math.copysign(19.0, site.latitude_deg))
    table = target_windows(site, ra, dec, date, 1, sun_limit_deg=highest_deg + limit_above_deg)
    ((begin, end),) = table.darkness.dark.of(0).tolist()
    assert 23.7 < (end - begin) * 24.0 <= (23.93 if limit_above_deg < 0.0 else 24.0)
    at = np.arange(end - 1e-5, begin, -1.0 / 1440.0)[::-1]
    altitude, _ = altitude_azimuth(ra[:, None], dec[:, None], at, site)
    above, sure = altitude > site.floor_deg, np.abs(altitude - site.floor_deg) > 1e-3
    # four minutes of time are a degree of the sky's turning
    assert np.count_nonzero(above[:, -1] & ~above[:, -14]) >= 5
    assert np.count_nonzero(above[:, 0] & ~above[:, 13]) >= 5
    for row in range(len(ra)):
        inside = spans.contains(table.windows(row, 0), at)
        np.testing.assert_array_equal(inside[sure[row]], above[row][sure[row]])


@pytest.mark.parametrize("date", [dt.date(2027, month, 20) for month in (2, 5, 8, 11)], ids=str)
def test_what_dips_below_the_floor_for_minutes_at_dusk(date: dt.date) -> None:
    """A circumpolar object that misses the floor by 0.006°, for a quarter of an hour, is usable before and after."""
    level = Site("level", 45.0, 0.0, 0.0, "UTC", FLAT, 10.0)
    dusk = float(target_windows(level, 0.0, 89.0, date, 1).darkness.dark.of(0)[0, 0])
    ra_now, _ = apparent_place(0.0, 0.0, dusk)
    # lower transits from four degrees before dusk to four after
    ra = np.mod(float(hour_angle_deg(ra_now, dusk, level)) + 180.0 + np.arange(-4.0, 4.0, 0.1), 360.0)
    dec = np.full(len(ra), 66.0)
    at = np.arange(dusk + 1e-6, dusk + 0.04, 1.0 / 8640.0)
    altitude, _ = altitude_azimuth(ra[:, None], dec[:, None], at, level)
    floor_deg = float(np.min(altitude)) + 0.006
    above, sure = altitude > floor_deg, np.abs(altitude - floor_deg) > 1e-3
    assert np.count_nonzero(above[:, 0] & ~above.all(axis=1)) >= 8
    table = target_windows(replace(level, floor_deg=floor_deg), ra, dec, date, 1)
    for row in range(len(ra)):
        inside = spans.contains(table.windows(row, 0), at)
        np.testing.assert_array_equal(inside[sure[row]], above[row][sure[row]])
