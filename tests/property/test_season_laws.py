"""Laws of windows: within the dark, in order, adding up, and the same whichever way they are asked for."""

import datetime as dt

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.season import places

from sidelight.ground import spans
from sidelight.season.night import targets_tonight
from sidelight.season.windows import SeasonTable, target_windows, usable_hours_h
from sidelight.season.year import moonless_hours_h
from sidelight.sky.altitude import altitude_azimuth, apparent_place, hour_angle_deg
from sidelight.sky.flip import is_west
from sidelight.sky.site import Site

targets = st.lists(st.tuples(st.floats(0.0, 360.0), st.floats(-90.0, 90.0)), min_size=1, max_size=6)
dates = st.dates(dt.date(2018, 1, 1), dt.date(2060, 12, 31))
flips = st.sampled_from([0.0, 7.5, -15.0, 30.0])
SECOND_H = 1.0 / 3600.0


def table_of(
    site: Site, places_deg: list[tuple[float, float]], first: dt.date, count: int, flip: float
) -> SeasonTable:
    """Return the table of some places."""
    ra, dec = zip(*places_deg, strict=True)
    return target_windows(site, ra, dec, first, count, flip)


@settings(max_examples=40, deadline=None)
@given(site=places(), places_deg=targets, first=dates, flip=flips)
def test_windows_are_in_the_dark_and_add_up(
    site: Site, places_deg: list[tuple[float, float]], first: dt.date, flip: float
) -> None:
    """Windows are sorted, apart and dark; their length is the dark hours, which east and west share."""
    table = table_of(site, places_deg, first, 30, flip)
    for row in range(len(places_deg)):
        for number in range(30):
            windows, dark = table.windows(row, number), table.darkness.dark.of(number)
            assert np.all(np.diff(windows.ravel()) > 0)
            assert abs(spans.total(windows) - spans.total(spans.intersect(windows, dark))) < 1e-8
            assert abs(spans.total(windows) * 24.0 - table.dark_hours_h[row, number]) < 1e-5
    assert np.allclose(table.hours_east_h + table.hours_west_h, table.dark_hours_h, atol=1e-5)
    assert np.all(table.hours_east_h >= -1e-6)
    assert np.all(table.hours_west_h >= -1e-6)
    assert np.array_equal(table.has_window, np.diff(table.offsets).reshape(len(places_deg), -1) > 0)
    moonless = moonless_hours_h(table)
    assert np.all(moonless <= table.dark_hours_h + 1e-5)
    with_moon = table.dark_hours_h - moonless
    assert np.all(with_moon <= table.moon_up_h + 1e-5)


@settings(max_examples=30, deadline=None)
@given(site=places(), places_deg=targets, first=dates, flip=flips)
def test_the_altitudes_bound_those_of_the_windows(
    site: Site, places_deg: list[tuple[float, float]], first: dt.date, flip: float
) -> None:
    """No altitude in a window exceeds the night's highest or lies under its lowest; both are reached."""
    table = table_of(site, places_deg, first, 5, flip)
    for row, (ra, dec) in enumerate(places_deg):
        for number in np.flatnonzero(table.has_window[row]).tolist():
            windows = table.windows(row, number)
            at = np.concatenate([np.linspace(start, end, 400) for start, end in windows])
            altitude, azimuth = altitude_azimuth(ra, dec, at, site)
            high, low = table.max_altitude_deg[row, number], table.min_altitude_deg[row, number]
            # between two instants, at most 2 minutes apart, an object may pass the zenith
            assert high - 0.3 < altitude.max() < high + 0.005
            assert abs(altitude.min() - low) < 0.005
            assert np.all(altitude - site.lowest_usable_deg(azimuth) > -0.05)


@settings(max_examples=30, deadline=None)
@given(site=places(), places_deg=targets, first=dates, flip=flips)
def test_a_night_alone_is_the_night_among_others(
    site: Site, places_deg: list[tuple[float, float]], first: dt.date, flip: float
) -> None:
    """A night of a long table is the same asked for alone, and targets do not depend on their neighbours."""
    table = table_of(site, places_deg, first, 200, flip)
    other = first + dt.timedelta(days=137)
    alone = table_of(site, places_deg[::-1], other, 1, flip)
    hours = usable_hours_h(site, *zip(*places_deg, strict=True), other, 1)[:, 0]
    assert np.allclose(table.dark_hours_h[:, 137], hours, atol=SECOND_H)
    assert np.allclose(alone.dark_hours_h[::-1, 0], hours, atol=SECOND_H)
    assert np.allclose(alone.hours_west_h[::-1, 0], table.hours_west_h[:, 137], atol=SECOND_H)


@settings(max_examples=40, deadline=None)
@given(site=places(), places_deg=targets, date=dates, flip=flips)
def test_sides_follow_the_flip_rule(
    site: Site, places_deg: list[tuple[float, float]], date: dt.date, flip: float
) -> None:
    """West spans are where the flip rule says west; hours east and west are the windows within them."""
    away = [(ra, min(max(dec, -89.0), 89.0)) for ra, dec in places_deg]
    table = table_of(site, away, date, 1, flip)
    night = table.darkness.nights[0]
    at = np.linspace(night.start_mjd, night.end_mjd, 721)
    for row, seen in enumerate(targets_tonight(site, *zip(*away, strict=True), date, flip)):
        hour_angle = hour_angle_deg(apparent_place(*away[row], at)[0], at, site)
        clear = (np.abs(hour_angle - flip) > 0.02) & (np.abs(hour_angle) < 179.98)
        assert np.array_equal(spans.contains(seen.west_spans, at)[clear], is_west(hour_angle, flip)[clear])
        assert abs(spans.total(spans.intersect(seen.windows, seen.west_spans)) * 24 - seen.hours_west_h) < SECOND_H
        assert abs(spans.total(spans.intersect(seen.windows, seen.east_spans)) * 24 - seen.hours_east_h) < SECOND_H
        assert seen.flip_mjd is not None
        for instant, wanted in ((seen.transit_mjd, 0.0), (seen.flip_mjd, flip)):
            assert night.start_mjd <= instant < night.end_mjd
            reached = hour_angle_deg(apparent_place(*away[row], instant)[0], instant, site)
            assert abs(reached - wanted) < 0.02
