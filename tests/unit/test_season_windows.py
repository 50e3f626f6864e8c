"""Windows in cases where the answer is plain: polar night and day, circumpolar, bad input, far years."""

import datetime as dt
import warnings

import numpy as np
import pytest

from sidelight.ground.errors import BadInput
from sidelight.season.night import targets_tonight
from sidelight.season.windows import target_windows, usable_hours_h
from sidelight.sky.horizon import FLAT, horizon_from_points
from sidelight.sky.site import Site


def site_at(latitude_deg: float, time_zone: str = "UTC", longitude_deg: float = 0.0) -> Site:
    """Return a site with a level skyline and the common floor of 30°."""
    return Site("here", latitude_deg, longitude_deg, 100.0, time_zone, FLAT, 30.0)


def test_circumpolar_objects_have_the_whole_dark_night() -> None:
    """What never sinks below the floor is usable from dusk to dawn on every night."""
    table = target_windows(site_at(50.0), 37.9, 89.2, dt.date(2026, 9, 1), 120)
    assert np.allclose(table.dark_hours_h[0], table.dark_h, atol=1e-5)
    for number in range(120):
        assert table.windows(0, number) == pytest.approx(table.darkness.dark.of(number), abs=1e-9)


def test_never_rising_objects_have_no_window() -> None:
    """What never rises has no window, no hours, and altitudes that say nothing."""
    table = target_windows(site_at(50.0), 100.0, -60.0, dt.date(2026, 9, 1), 40)
    assert not table.has_window.any()
    assert table.offsets[-1] == 0
    assert not table.max_altitude_deg.any()


def test_the_polar_night_has_24_dark_hours() -> None:
    """At a pole in midwinter every night is dark from noon to noon and a high object is usable all along."""
    table = target_windows(site_at(90.0), 100.0, 60.0, dt.date(2026, 12, 10), 10)
    assert table.dark_hours_h == pytest.approx(np.full((1, 10), 24.0), abs=1e-4)
    assert len(table.start_mjd) == 10


def test_an_arc_may_begin_twice_in_a_polar_night() -> None:
    """In 24 dark hours the sky turns by 361°: a target that rises just after noon rises again before the next."""
    ra = np.arange(0.0, 360.0, 0.25)
    table = target_windows(site_at(88.0), ra, np.full(ra.shape, 29.5), dt.date(2026, 12, 20), 1)
    night = table.darkness.nights[0]
    starts = [table.windows(row, 0)[:, 0] for row in range(len(ra))]
    twice = [row for row in starts if row[0] > night.start_mjd and row[-1] - row[0] > 0.9]
    assert len(twice) >= 3
    # one sidereal day, 23 h 56 min 4.09 s, lies between
    assert [row[-1] - row[0] for row in twice] == pytest.approx([0.99726957] * len(twice), abs=1e-6)


def test_polar_day_has_no_dark() -> None:
    """In the polar day nothing is usable, and the table says so without a window."""
    table = target_windows(site_at(78.0), [100.0, 37.9], [60.0, 89.2], dt.date(2026, 6, 1), 30)
    assert not table.has_window.any()
    assert not table.dark_h.any()
    assert targets_tonight(site_at(78.0), 37.9, 89.2, dt.date(2026, 6, 21))[0].reason == "It does not get dark."


def test_no_nights_and_no_targets() -> None:
    """A table of no nights or of no targets is empty, not an error."""
    assert target_windows(site_at(50.0), [10.0], [20.0], dt.date(2026, 1, 1), 0).dark_hours_h.shape == (1, 0)
    table = target_windows(site_at(50.0), [], [], dt.date(2026, 1, 1), 7)
    assert table.dark_hours_h.shape == (0, 7)
    assert len(table.dates) == 7


def test_far_years_make_no_noise() -> None:
    """Nights decades ahead work, without warnings."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        table = target_windows(site_at(-33.0), 201.7, -47.5, dt.date(2093, 5, 1), 20)
    assert table.has_window.all()


def test_southern_objects_belong_to_the_south() -> None:
    """Omega Centauri is high over Sydney in May and never up over Berlin."""
    south = target_windows(site_at(-33.9, "Australia/Sydney", 151.2), 201.697, -47.48, dt.date(2027, 5, 1), 10)
    north = target_windows(site_at(52.5, "Europe/Berlin", 13.4), 201.697, -47.48, dt.date(2027, 5, 1), 10)
    assert south.max_altitude_deg.min() > 70.0
    assert not north.has_window.any()


def test_clock_changes_change_nothing() -> None:
    """Hours run on smoothly over the nights in which the clocks change, one night a date."""
    site = site_at(52.5, "Europe/Berlin", 13.4)
    table = target_windows(site, 148.9, 69.1, dt.date(2027, 3, 20), 20)
    assert [date.toordinal() for date in table.dates] == list(
        range(table.dates[0].toordinal(), table.dates[0].toordinal() + 20)
    )
    assert np.all(np.abs(np.diff(table.dark_hours_h[0])) < 0.1)


def test_a_mount_that_never_flips_counts_from_the_meridian() -> None:
    """Without a flip hours east and west are those of the meridian, and no flip is told for the night."""
    site = site_at(45.0)
    never = target_windows(site, 80.0, 20.0, dt.date(2027, 1, 5), 3, None)
    zero = target_windows(site, 80.0, 20.0, dt.date(2027, 1, 5), 3, 0.0)
    assert np.array_equal(never.hours_east_h, zero.hours_east_h)
    seen = targets_tonight(site, 80.0, 20.0, dt.date(2027, 1, 5), None)[0]
    assert seen.flip_mjd is None
    assert seen.windows[0, 0] < seen.transit_mjd < seen.windows[0, 1]


def test_a_later_flip_makes_the_east_longer() -> None:
    """A flip an hour past the meridian moves an hour (of sidereal time) of a window across transit to the east."""
    site = site_at(45.0)
    at_meridian = target_windows(site, 80.0, 20.0, dt.date(2027, 1, 5), 1, 0.0)
    later = target_windows(site, 80.0, 20.0, dt.date(2027, 1, 5), 1, 15.0)
    assert later.hours_east_h[0, 0] - at_meridian.hours_east_h[0, 0] == pytest.approx(0.99727, abs=1e-4)


def test_a_lower_transit_turns_west_into_east() -> None:
    """A circumpolar object that passes lower transit in the night is west before and east after it."""
    site = Site("low floor", 60.0, 0.0, 0.0, "UTC", FLAT, 10.0)
    seen = targets_tonight(site, 270.0, 70.0, dt.date(2026, 12, 21))[0]
    assert seen.hours_west_h == pytest.approx(seen.hours_east_h, abs=0.2)
    assert seen.west_spans[0, 1] == pytest.approx(seen.east_spans[-1, 0], abs=1e-9)
    assert seen.min_altitude_deg == pytest.approx(40.0, abs=0.1)


def test_the_sun_limit_can_be_asked_for() -> None:
    """With the nautical limit there is more time than with the astronomical one."""
    site = site_at(50.0)
    deep = usable_hours_h(site, 37.9, 89.2, dt.date(2027, 3, 1), 1)
    bright = usable_hours_h(site, 37.9, 89.2, dt.date(2027, 3, 1), 1, -12.0)
    assert bright[0, 0] > deep[0, 0] + 1.0


@pytest.mark.parametrize(
    ("ra", "dec", "count", "flip", "word"),
    [
        ([10.0, 20.0], [5.0], 3, 0.0, "pair"),
        ([np.nan], [5.0], 3, 0.0, "Target 1"),
        ([10.0, 10.0], [90.0, 90.01], 3, 0.0, "^Target 2"),
        ([10.0, 10.0], [-90.01, -90.0], 3, 0.0, "Target 1"),
        ([10.0], [5.0], -1, 0.0, "-1 nights"),
        ([10.0], [5.0], 3, 200.0, "flip"),
        ([10.0], [5.0], 3, np.nan, "flip"),
    ],
)
def test_bad_input_is_refused(ra: list[float], dec: list[float], count: int, flip: float, word: str) -> None:
    """Lists that do not pair, places off the sky, a negative count, a flip out of range: each named."""
    with pytest.raises(BadInput, match=word):
        target_windows(site_at(50.0), ra, dec, dt.date(2027, 1, 1), count, flip)


def test_inputs_stay_as_they_are() -> None:
    """Neither the places nor the skyline are modified."""
    horizon = horizon_from_points([0.0, 90.0, 200.0], [10.0, 40.0, 5.0])
    ra, dec = np.array([10.0, 100.0]), np.array([40.0, -5.0])
    copies = [array.copy() for array in (ra, dec, horizon.azimuth_deg, horizon.altitude_deg)]
    target_windows(Site("s", 50.0, 0.0, 0.0, "UTC", horizon), ra, dec, dt.date(2027, 1, 1), 5)
    for before, after in zip(copies, (ra, dec, horizon.azimuth_deg, horizon.altitude_deg), strict=True):
        assert np.array_equal(before, after)
