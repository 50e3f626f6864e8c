"""Instants and nights: the corner cases that calendars and clocks make."""

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sidelight.ground.errors import BadInput
from sidelight.sky import time
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.night import dark_spans, dusk_dawn, dusk_dawn_of, evening_date, night_of, nights
from sidelight.sky.site import Site

MINUTE_DAYS = 1 / 1440


def place(latitude_deg: float, longitude_deg: float, zone: str) -> Site:
    """Return a bare site."""
    return Site("place", latitude_deg, longitude_deg, 0.0, zone)


def local(site: Site, mjd: float) -> dt.datetime:
    """Return an instant on the site's own clock."""
    return time.datetime_from_mjd(mjd).astimezone(ZoneInfo(site.time_zone))


def test_mjd_zero_and_epoch() -> None:
    """MJD 0 is 1858-11-17 0h UTC and J2000's noon is 51544.5, by definition; zones are taken off."""
    assert time.mjd_from_datetime(dt.datetime(1858, 11, 17, tzinfo=dt.UTC)) == 0
    assert time.mjd_from_datetime(dt.datetime(2000, 1, 1, 12, tzinfo=dt.UTC)) == 51544.5
    in_berlin = dt.datetime(2000, 1, 1, 13, tzinfo=ZoneInfo("Europe/Berlin"))
    assert time.mjd_from_datetime(in_berlin) == 51544.5


@pytest.mark.parametrize("year", [1990, 2027, 2100])
def test_datetime_there_and_back(year: int) -> None:
    """An instant survives the way through MJD to a microsecond."""
    instant = dt.datetime(year, 7, 3, 22, 41, 17, 123456, tzinfo=dt.UTC)
    back = time.datetime_from_mjd(time.mjd_from_datetime(instant))
    assert abs(back - instant) <= dt.timedelta(microseconds=1)


def test_a_time_without_zone_is_refused() -> None:
    """A naive time is refused, with the way to repair it."""
    with pytest.raises(BadInput, match="no time zone") as refused:
        time.mjd_from_datetime(dt.datetime(2027, 1, 1))  # noqa: DTZ001 - that is the point
    assert "UTC" in str(refused.value)


def test_terrestrial_time_keeps_shape_and_works_years_ahead() -> None:
    """Any shape goes through, and a date in 2100 gives the last known offset without a warning."""
    utc = np.array([[47892.0, 60000.0], [70000.0, 88000.0]])
    offset_s = (time.tt_mjd(utc) - utc) * 86400
    assert offset_s.shape == (2, 2)
    assert offset_s[1, 1] == pytest.approx(offset_s[0, 1], abs=1e-5)


@pytest.mark.parametrize(
    ("zone", "latitude_deg", "longitude_deg"),
    [
        ("Europe/Berlin", 52.5, 13.4),
        ("Pacific/Kiritimati", 1.87, -157.4),
        ("Pacific/Pago_Pago", -14.3, -170.7),
        ("Pacific/Auckland", -36.8, 174.8),
        ("Asia/Urumqi", 43.8, 87.6),
        ("America/St_Johns", 47.6, -52.7),
    ],
)
def test_a_night_is_named_by_its_evening(zone: str, latitude_deg: float, longitude_deg: float) -> None:
    """The night of a date holds 23:00 of that date and 02:00 of the next on the local clock, by the date line too."""
    site = place(latitude_deg, longitude_deg, zone)
    date = dt.date(2027, 3, 6)
    night = night_of(site, date)
    late = dt.datetime(2027, 3, 6, 23, tzinfo=ZoneInfo(zone))
    early = dt.datetime(2027, 3, 7, 2, tzinfo=ZoneInfo(zone))
    for instant in (late, early):
        assert night.start_mjd < time.mjd_from_datetime(instant) < night.end_mjd
        assert evening_date(site, time.mjd_from_datetime(instant)) == date


def test_clock_changes_do_not_move_nights() -> None:
    """Over both clock changes of a year the nights stay 24 h apart, each named once."""
    site = place(52.5, 13.4, "Europe/Berlin")
    run = nights(site, dt.date(2027, 3, 1), 300)
    assert [one.date for one in run] == [dt.date(2027, 3, 1) + dt.timedelta(days=day) for day in range(300)]
    assert np.allclose(np.diff([one.start_mjd for one in run]), 1.0, rtol=0, atol=1e-9)


def test_half_a_day_from_its_zone() -> None:
    """A station at longitude 0 that keeps New Zealand's time has a night for each date, summer time or not."""
    site = place(-90.0, 0.0, "Antarctica/McMurdo")
    starts = [one.start_mjd for one in nights(site, dt.date(2027, 1, 1), 365)]
    assert np.allclose(np.diff(starts), 1.0, rtol=0, atol=1e-9)


def test_edge_instants_belong_to_the_night_that_begins() -> None:
    """Noon itself is the first instant of the new night."""
    site = place(-33.0, 151.2, "Australia/Sydney")
    first, second = nights(site, dt.date(2027, 10, 2), 2)
    assert evening_date(site, first.start_mjd) == first.date
    assert evening_date(site, second.start_mjd) == second.date
    assert evening_date(site, np.nextafter(second.start_mjd, 0)) == first.date


def test_polar_night_and_day_are_stated() -> None:
    """At the North Pole December is dark from noon to noon, June never, and March has the one dawn of the year."""
    site = place(90.0, 0.0, "UTC")
    december = dusk_dawn(site, night_of(site, dt.date(2027, 12, 21)))
    assert december.kind == "always_dark"
    assert december.dark.shape == (1, 2)
    assert december.dusk_mjd is None
    june = dusk_dawn(site, night_of(site, dt.date(2027, 6, 21)))
    assert june.kind == "never_dark"
    assert june.dark.shape == (0, 2)
    year = year_of_darkness(site, dt.date(2027, 1, 1), 365)
    edges = [year.dusk_dawn(number) for number in range(365)]
    assert sum(one.dusk_mjd is not None for one in edges) == 1
    assert sum(one.dawn_mjd is not None for one in edges) == 1


def test_two_dark_spans_beside_a_pole() -> None:
    """Where the Sun dips under the limit at both noons only, the night has two spans, and dusk comes after dawn."""
    two = dusk_dawn_of(np.array([[10.0, 10.2], [10.7, 11.0]]), 10.0, 11.0)
    assert two.kind == "dark"
    assert two.dawn_mjd == 10.2
    assert two.dusk_mjd == 10.7


def test_summer_of_high_latitudes_has_no_night() -> None:
    """At 55° north mid-June is never dark, and it gets dark again in late July."""
    site = place(55.0, 10.0, "Europe/Copenhagen")
    assert dusk_dawn(site, night_of(site, dt.date(2027, 6, 20))).kind == "never_dark"
    assert dusk_dawn(site, night_of(site, dt.date(2027, 8, 5))).kind == "dark"


def test_another_twilight_limit() -> None:
    """A stated limit is used in place of the site's own."""
    site = place(48.0, 11.0, "Europe/Berlin")
    night = night_of(site, dt.date(2027, 1, 10))
    own, nautical = dark_spans(site, night), dark_spans(site, night, -12.0)
    assert nautical[0, 0] < own[0, 0] < own[0, 1] < nautical[0, 1]


def test_evening_comes_before_morning_on_the_local_clock() -> None:
    """Dusk of a date falls on that date's evening, dawn on the next morning, east, west and south alike."""
    for site in (
        place(40.0, -105.0, "America/Denver"),
        place(-33.0, 151.2, "Australia/Sydney"),
        place(21.3, -157.9, "Pacific/Honolulu"),
    ):
        found = dusk_dawn(site, night_of(site, dt.date(2027, 8, 1)))
        assert found.dusk_mjd is not None
        assert found.dawn_mjd is not None
        dusk, dawn = local(site, found.dusk_mjd), local(site, found.dawn_mjd)
        assert dusk.date() == dt.date(2027, 8, 1)
        assert 17 <= dusk.hour <= 22
        assert dawn.date() == dt.date(2027, 8, 2)


def test_no_nights_is_an_empty_year() -> None:
    """Zero nights give empty arrays, not an error."""
    year = year_of_darkness(place(48.0, 11.0, "UTC"), dt.date(2027, 1, 1), 0)
    assert year.nights == ()
    assert year.dark_h.shape == year.moon_up_dark_h.shape == (0,)


def test_a_year_through_a_clock_change_by_the_date_line() -> None:
    """Every night of a year on the Chatham Islands (UTC+12:45, with summer time) has one dark span."""
    year = year_of_darkness(place(-44.0, -176.5, "Pacific/Chatham"), dt.date(2027, 1, 1), 365)
    assert np.all(np.diff(year.dark.offsets) == 1)
    middles = year.dark.spans_mjd.mean(axis=1)
    centres = np.array([(one.start_mjd + one.end_mjd) / 2 for one in year.nights])
    # mean midnight and the middle of the dark differ by the equation of time, 16.5 min at the most
    assert np.max(np.abs(middles - centres)) < 17 * MINUTE_DAYS


@pytest.mark.parametrize("year", [1990, 2099, 2100])
def test_far_years_work_without_a_warning(year: int) -> None:
    """From 1990 to 2100 every night has one dark span, as long as the solstices allow; warnings are errors here."""
    run = year_of_darkness(place(40.0, -105.0, "America/Denver"), dt.date(year, 1, 1), 365)
    assert np.all(np.diff(run.dark.offsets) == 1)
    latitude, tilt, depth = np.radians([40.0, 23.44, 18.0])
    solstices = np.array([tilt, -tilt])
    cosine = (-np.sin(depth) - np.sin(latitude) * np.sin(solstices)) / (np.cos(latitude) * np.cos(solstices))
    shortest_h, longest_h = 24 - 2 * np.degrees(np.arccos(cosine)) / 15
    assert np.min(run.dark_h) == pytest.approx(shortest_h, abs=0.02)
    assert np.max(run.dark_h) == pytest.approx(longest_h, abs=0.02)
