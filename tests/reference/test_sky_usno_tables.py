"""Whole tables of the US Naval Observatory: every rising and setting is there, and no other.

By how much the instants differ is held by tests/comparisons/tables.py and test_accuracy.py.
"""

import datetime as dt

import numpy as np
import pytest
from tests.comparisons.tables import our_events
from tests.reference import usno

from sidelight.ground import spans
from sidelight.sky.events import night_events
from sidelight.sky.moon import moon_up, moon_up_spans
from sidelight.sky.night import night_of
from sidelight.sky.time import datetime_from_mjd

WITHOUT_A_RISE, WITHOUT_A_SET = 12, 13


@pytest.mark.parametrize(("name", "body"), [("riset_sun", "sun"), ("riset_moon", "moon")])
def test_each_day_of_a_year_has_its_events(name: str, body: str) -> None:
    """On every day of a year Sun (2007, Atlanta) and Moon (1984, Boston) rise and set as often as printed."""
    days = usno.year_of(name)
    ours = our_events(days, body)
    for kind in ("rise", "set"):
        to_the_minute = np.round((ours[kind] - days.first_mjd) * 1440.0) / 1440.0
        assert np.floor(to_the_minute + 1e-9).astype(int).tolist() == days.days_with(kind)


def test_the_years_are_read_whole() -> None:
    """As printed: 365 sunrises and sunsets; the Moon's year of 366 days lacks 12 moonrises and 13 moonsets."""
    sun, moon = usno.year_of("riset_sun"), usno.year_of("riset_moon")
    assert (sun.count, len(sun.of("rise")), len(sun.of("set"))) == (365, 365, 365)
    assert moon.count - len(moon.of("rise")) == WITHOUT_A_RISE
    assert moon.count - len(moon.of("set")) == WITHOUT_A_SET
    assert (moon.site.latitude_deg, moon.site.longitude_deg) == pytest.approx((42 + 19 / 60, -71 - 5 / 60))
    # the first and the last figures of the page: 1 January 0553 1501, 31 December 0045
    assert datetime_from_mjd(moon.of("rise")[0]) == dt.datetime(1984, 1, 1, 10, 53, tzinfo=dt.UTC)
    assert datetime_from_mjd(moon.of("set")[0]) == dt.datetime(1984, 1, 1, 20, 1, tzinfo=dt.UTC)


def test_a_moon_that_does_not_set() -> None:
    """Fairbanks, June 2006: as often up and down as printed, and up without a break on the days with asterisks."""
    days = usno.run_of("risettran_moon")
    ours = our_events(days, "moon")
    for kind in ("rise", "set"):
        assert np.floor(ours[kind] - days.first_mjd).astype(int).tolist() == days.days_with(kind)
    assert days.never == (9, 10, 11)
    for day in range(days.count):
        start = days.first_mjd + day
        up = moon_up(days.site, np.array([start]), np.array([start + 1.0])).of(0)
        assert (spans.total(up) == pytest.approx(1.0, abs=1e-9)) == (day in days.never)


def test_the_same_events_night_by_night() -> None:
    """Nights from noon to noon hold the printed year's moonrises and moonsets, each once."""
    days = usno.year_of("riset_moon")
    first = datetime_from_mjd(days.first_mjd).date()
    found: dict[str, list[float]] = {"moonrise": [], "moonset": []}
    for number in range(-1, 61):
        night = night_of(days.site, first + dt.timedelta(days=number))
        for event in night_events(days.site, night):
            found.setdefault(event.kind, []).append(event.mjd)
        assert len(moon_up_spans(days.site, night)) <= 2
    for kind in ("rise", "set"):
        printed = days.of(kind)[days.of(kind) < night.end_mjd]
        ours = np.array([mjd for mjd in found[f"moon{kind}"] if mjd >= days.first_mjd])
        assert len(ours) == len(printed)
        assert np.max(np.abs(ours - printed)) < 38.0 / 86400.0


def test_places_are_read_as_printed() -> None:
    """First rows as printed: the Moon at 1h 15m 30.229s, +13° 5′ 3.13″; Atlanta at 84° 24′ 36″ west, 322 m high."""
    moon, seen = usno.places_of("appgeo_moon"), usno.places_of("apptopo_sun")
    assert moon.ra_deg[0] == pytest.approx(15 * (1 + 15 / 60 + 30.229 / 3600), abs=1e-9)
    assert moon.dec_deg[0] == pytest.approx(13 + 5 / 60 + 3.13 / 3600, abs=1e-9)
    assert moon.dec_deg[-1] == pytest.approx(-(2 + 35 / 60 + 37.00 / 3600), abs=1e-9)
    assert seen.site is not None
    assert seen.site.longitude_deg == pytest.approx(-(84 + 24 / 60 + 36 / 3600))
    assert seen.site.elevation_m == 322.0


def test_the_quarters_are_read_as_printed() -> None:
    """1980 has 50 quarters: a full Moon on 2 January at 9:02 first, a last quarter on 29 December at 6:32 last."""
    at, ahead_deg = usno.phases_of("moon_phases")
    assert len(at) == 50
    assert datetime_from_mjd(at[0]) == dt.datetime(1980, 1, 2, 9, 2, tzinfo=dt.UTC)
    assert (ahead_deg[0], ahead_deg[-1]) == (180.0, 270.0)
    assert datetime_from_mjd(at[-1]) == dt.datetime(1980, 12, 29, 6, 32, tzinfo=dt.UTC)
