"""A season's table beside plain sampling of each night: windows, hours on both sides, highest and lowest altitude."""

import datetime as dt

import numpy as np
import pytest

from sidelight.ground import spans
from sidelight.season.windows import SeasonTable, target_windows, usable_hours_h
from sidelight.sky.altitude import altitude_azimuth, apparent_place, hour_angle_deg
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.flip import is_west
from sidelight.sky.horizon import horizon_from_points
from sidelight.sky.site import Site

RAGGED = horizon_from_points(
    [3.0, 40.0, 41.0, 97.0, 98.5, 130.0, 171.0, 171.2, 205.0, 250.0, 251.0, 300.0, 340.0, 341.0],
    [12.0, 15.0, 38.0, 37.0, 12.0, 23.0, 25.0, 61.0, 60.5, 50.0, 20.0, 5.0, 8.0, 45.0],
)
CASES = [
    (Site("A", 49.0, 11.0, 400.0, "UTC", RAGGED, 17.0), dt.date(2027, 2, 10), 3, 0.0),
    (Site("B", -33.0, 151.0, 50.0, "Australia/Sydney", RAGGED, 22.0), dt.date(2027, 8, 1), 3, 22.5),
    (Site("C", 83.0, -60.0, 100.0, "UTC", RAGGED, 17.0), dt.date(2027, 12, 10), 3, -35.0),
    (Site("G", 88.5, 20.0, 0.0, "UTC", RAGGED, 17.0), dt.date(2027, 12, 20), 2, 5.0),
    (Site("D", 2.0, -70.0, 2500.0, "UTC", floor_deg=25.0), dt.date(2027, 5, 1), 150, 10.0),
]
DEC_DEG = np.array([-88.0, -71.3, -52.0, -38.2, -20.0, -5.4, 8.0, 22.0, 36.5, 49.0, 62.0, 75.1, 89.2])
RA_DEG = np.linspace(3.0, 340.0, len(DEC_DEG))
STEP_DAYS = 2.0 / 1440.0


def season(case: tuple[Site, dt.date, int, float]) -> SeasonTable:
    """Return the table of a case."""
    site, first, count, flip_deg = case
    return target_windows(site, RA_DEG, DEC_DEG, first, count, flip_deg)


def looked_at(count: int) -> list[int]:
    """Return three nights of a run."""
    return sorted({0, count // 2, count - 1})


@pytest.mark.parametrize("case", CASES, ids=lambda case: case[0].name)
def test_windows_are_where_the_object_is_up_in_the_dark(case: tuple[Site, dt.date, int, float]) -> None:
    """Every two minutes of a night an object is in a window exactly if it is dark and above skyline and floor."""
    site, table = case[0], season(case)
    hours = usable_hours_h(site, RA_DEG, DEC_DEG, case[1], case[2])
    for number in looked_at(case[2]):
        night, dark = table.darkness.nights[number], table.darkness.dark.of(number)
        at = np.arange(night.start_mjd + 1e-4, night.end_mjd, STEP_DAYS)
        altitude, azimuth = altitude_azimuth(RA_DEG[:, None], DEC_DEG[:, None], at, site)
        above = altitude - site.lowest_usable_deg(azimuth)
        for row in range(len(DEC_DEG)):
            windows = table.windows(row, number)
            assert np.all(windows[1:, 0] > windows[:-1, 1])
            edges = np.concatenate([windows.ravel(), dark.ravel(), [0.0]])
            # an edge of the skyline that is upright is passed in no time; else the object is a little off it
            sure = (np.abs(above[row]) > 0.002) & (np.abs(at[:, None] - edges).min(axis=1) > 2e-5)
            inside = spans.contains(windows, at) if len(windows) else np.zeros(len(at), dtype=bool)
            np.testing.assert_array_equal(inside[sure], ((above[row] > 0.0) & spans.contains(dark, at))[sure])
            assert table.dark_hours_h[row, number] == pytest.approx(spans.total(windows) * 24.0, abs=1e-4)
            assert hours[row, number] == pytest.approx(spans.total(windows) * 24.0, abs=1e-4)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case[0].name)
def test_hours_on_each_side_and_extremes(case: tuple[Site, dt.date, int, float]) -> None:
    """By 500 looks into each window: hours on both sides of the flip to four minutes, altitudes to 0.003°."""
    site, table, flip_deg = case[0], season(case), case[3]
    for row, number in np.ndindex(len(DEC_DEG), case[2]):
        windows = table.windows(row, number)
        if number not in looked_at(case[2]) or not len(windows):
            continue
        west_h, low, high = 0.0, 90.0, -90.0
        for start, end in windows.tolist():
            at = np.linspace(start, end, 501)
            ra, _ = apparent_place(RA_DEG[row], DEC_DEG[row], at)
            middle = (at[1:] + at[:-1]) / 2.0
            side = is_west(hour_angle_deg(np.interp(middle, at, np.unwrap(ra, period=360.0)), middle, site), flip_deg)
            west_h += float(np.mean(side)) * (end - start) * 24.0
            altitude, _ = altitude_azimuth(RA_DEG[row], DEC_DEG[row], at, site)
            low, high = min(low, float(altitude.min())), max(high, float(altitude.max()))
        assert table.hours_west_h[row, number] == pytest.approx(west_h, abs=0.06)
        total_h = spans.total(windows) * 24.0
        assert table.hours_east_h[row, number] == pytest.approx(total_h - west_h, abs=0.06)
        assert table.max_altitude_deg[row, number] == pytest.approx(high, abs=0.003)
        assert table.min_altitude_deg[row, number] == pytest.approx(low, abs=0.003)


def test_moonlit_hours_of_the_dark() -> None:
    """Hours that are dark with the Moon up are those that both sets of spans share, night by night of two months."""
    darkness = year_of_darkness(CASES[1][0], dt.date(2027, 4, 1), 60)
    for number in range(60):
        shared = spans.intersect(darkness.dark.of(number), darkness.moon_up.of(number))
        assert darkness.moon_up_dark_h[number] == pytest.approx(spans.total(shared) * 24.0, abs=1e-6)
        assert darkness.dark_h[number] == pytest.approx(spans.total(darkness.dark.of(number)) * 24.0, abs=1e-9)


@pytest.mark.parametrize(
    ("latitude_deg", "floor_deg", "grazing_deg", "ra_deg"),
    [(2.0, 25.0, 67.03, 150.0), (49.0, 17.0, 57.95, 150.0), (49.0, 17.0, 57.95, 330.0)],
)
def test_what_grazes_the_floor_is_seen_night_by_night(
    latitude_deg: float, floor_deg: float, grazing_deg: float, ra_deg: float
) -> None:
    """Objects that a season's aberration lifts over the floor at a transit, or lets below it, by arcseconds."""
    site = Site("E", latitude_deg, 11.0, 0.0, "UTC", floor_deg=floor_deg)
    dec_deg = grazing_deg + np.arange(-0.3, 0.3, 0.003)
    table = target_windows(site, ra_deg + 0.0 * dec_deg, dec_deg, dt.date(2027, 1, 5), 120)
    for number in (0, 60, 119):
        dark = table.darkness.dark.of(number)
        at = np.arange(dark[0, 0], dark[-1, 1], 0.5 * STEP_DAYS)
        altitude, _ = altitude_azimuth(ra_deg, dec_deg[:, None], at, site)
        for row in range(len(dec_deg)):
            sure = np.abs(altitude[row] - floor_deg) > 1e-3
            windows = table.windows(row, number)
            assert np.all(windows[1:, 0] > windows[:-1, 1])
            inside = spans.contains(windows, at)
            np.testing.assert_array_equal(inside[sure], (altitude[row] > floor_deg)[sure])


def test_the_first_dark_night_after_midsummer() -> None:
    """At 52° north it gets dark again in July: the night before has no window and the first one its altitudes."""
    site = Site("F", 52.0, 11.0, 0.0, "UTC", floor_deg=20.0)
    dark_h = year_of_darkness(site, dt.date(2027, 7, 1), 40).dark_h
    first = int(np.flatnonzero(dark_h > 0.0)[0])
    assert first > 0
    table = target_windows(site, 200.0, 80.0, dt.date(2027, 7, 1) + dt.timedelta(days=first - 1), 2)
    assert table.has_window.tolist() == [[False, True]]
    start, end = table.windows(0, 1)[0].tolist()
    altitude, _ = altitude_azimuth(200.0, 80.0, np.linspace(start, end, 101), site)
    assert table.max_altitude_deg[0, 1] == pytest.approx(float(altitude.max()), abs=0.003)
    assert table.min_altitude_deg[0, 1] == pytest.approx(float(altitude.min()), abs=0.003)
