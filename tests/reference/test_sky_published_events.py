"""Risings, settings and twilights against published tables, mostly of the US Naval Observatory.

Tables give whole minutes, rounded: half a minute of tolerance is theirs, and one or two seconds ours (UT1 = UTC).
"""

import datetime as dt

import pytest

from sidelight.sky import altitude, moon, sun, time
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.events import events_between, night_events
from sidelight.sky.night import dusk_dawn, night_of
from sidelight.sky.site import Site

SECOND_DAYS = 1 / 86400
ROUNDED_S = 32.0

OHIO = Site("Ohio", 41.281944, -84.362778, 0.0, "America/New_York")
LIMA = Site("Lima, Ohio", 40.8939, -83.8917, 0.0, "America/New_York")
GREENWICH = Site("on the meridian", 51.5, 0.0, 0.0, "UTC")
JCMT = Site("Mauna Kea", 19 + 49 / 60, -(155 + 29 / 60), 0.0, "Pacific/Honolulu")
FREDONIA = Site("Fredonia", 36.95, -(112 + 31 / 60), 0.0, "America/Phoenix")
SOUTH = Site("35 south", -35.0, 0.0, 0.0, "UTC")
LONDON = Site("London", 51.5, -0.1333333, 0.0, "Europe/London")


def utc(text: str, offset_h: float = 0.0) -> float:
    """Return MJD of ISO text on a clock that is so many hours ahead of UTC."""
    zone = dt.timezone(dt.timedelta(hours=offset_h))
    return time.mjd_from_datetime(dt.datetime.fromisoformat(text).replace(tzinfo=zone))


USNO_TIMES = [
    # site, day, hours of its clock ahead of UTC, {event: clock time}, tolerance in s, source
    (
        OHIO,
        "2019-11-08T04:00",
        0,
        {
            "astronomical_dawn": "2019-11-08T10:42",
            "nautical_dawn": "2019-11-08T11:15",
            "civil_dawn": "2019-11-08T11:48",
            "sunrise": "2019-11-08T12:17",
            "sunset": "2019-11-08T22:25",
            "civil_dusk": "2019-11-08T22:54",
            "nautical_dusk": "2019-11-08T23:27",
            "astronomical_dusk": "2019-11-08T23:59",
        },
        ROUNDED_S,
        "USNO, kept in Skyfield's test_almanac.py",
    ),
    (
        GREENWICH,
        "2017-01-01T00:00",
        0,
        {
            "astronomical_dawn": "2017-01-01T06:02",
            "nautical_dawn": "2017-01-01T06:43",
            "civil_dawn": "2017-01-01T07:26",
            "sunrise": "2017-01-01T08:06",
            "moonrise": "2017-01-01T09:46",
        },
        ROUNDED_S,
        "USNO, kept in Skyfield's tests",
    ),
    (
        LIMA,
        "2018-09-12T04:00",
        0,
        {"sunrise": "2018-09-12T11:13", "sunset": "2018-09-12T23:50"},
        ROUNDED_S,
        "USNO, kept in Skyfield's tests",
    ),
    (
        JCMT,
        "2003-07-15T00:00",
        -10,
        {
            "civil_dawn": "2003-07-15T05:27",
            "sunrise": "2003-07-15T05:51",
            "sunset": "2003-07-15T19:04",
            "civil_dusk": "2003-07-15T19:28",
            "moonset": "2003-07-15T07:46",
            "moonrise": "2003-07-15T21:13",
        },
        ROUNDED_S,
        "USNO, kept in perl-Astro-Coords",
    ),
    *(
        (
            FREDONIA,
            f"{day}T00:00",
            -7,
            {"sunrise": f"{day}T{rise}", "sunset": f"{day}T{set_}"},
            ROUNDED_S,
            "USNO table of 2023, kept in Skyfield's design folder",
        )
        for day, rise, set_ in [
            ("2023-01-01", "07:43", "17:24"),
            ("2023-03-20", "06:34", "18:42"),
            ("2023-06-21", "05:11", "19:53"),
            ("2023-09-23", "06:19", "18:26"),
            ("2023-12-21", "07:39", "17:17"),
        ]
    ),
    (
        SOUTH,
        "1996-07-05T00:00",
        0,
        {"sunrise": "1996-07-05T07:08:15", "sunset": "1996-07-05T17:01:04"},
        3.0,
        "NREL SPA report, by seconds; ours differs by UT1 and ΔT",
    ),
    (
        SOUTH,
        "2004-12-04T00:00",
        0,
        {"sunrise": "2004-12-04T04:38:57", "sunset": "2004-12-04T19:02:02"},
        3.0,
        "NREL SPA report, by seconds; ours differs by UT1 and ΔT",
    ),
    (
        LONDON,
        "2015-12-01T00:00",
        0,
        {
            "astronomical_dawn": "2015-12-01T05:41",
            "nautical_dawn": "2015-12-01T06:22",
            "civil_dawn": "2015-12-01T07:04",
            "sunrise": "2015-12-01T07:43",
            "sunset": "2015-12-01T15:55",
            "civil_dusk": "2015-12-01T16:34",
            "nautical_dusk": "2015-12-01T17:16",
        },
        60.0,
        "timeanddate, kept in Astral's tests; partly cut, not rounded",
    ),
    (
        LONDON,
        "2015-12-25T00:00",
        0,
        {
            "astronomical_dawn": "2015-12-25T06:01",
            "nautical_dawn": "2015-12-25T06:41",
            "civil_dawn": "2015-12-25T07:25",
            "sunrise": "2015-12-25T08:05",
            "sunset": "2015-12-25T15:55",
            "civil_dusk": "2015-12-25T16:36",
            "nautical_dusk": "2015-12-25T17:19",
        },
        60.0,
        "timeanddate, kept in Astral's tests; partly cut, not rounded",
    ),
]


@pytest.mark.parametrize(("site", "start", "offset_h", "expected", "tolerance_s", "source"), USNO_TIMES)
def test_published_times(
    site: Site, start: str, offset_h: float, expected: dict[str, str], tolerance_s: float, source: str
) -> None:
    """Each published event is there once in its 24 hours, at its published time."""
    begin = utc(start, offset_h)
    found = events_between(site, begin, begin + 1.0)
    for kind, clock in expected.items():
        times = [event.mjd for event in found if event.kind == kind]
        assert len(times) == 1, (kind, source)
        assert abs(times[0] - utc(clock, offset_h)) < tolerance_s * SECOND_DAYS, (kind, source)


@pytest.mark.parametrize(
    ("site", "clock", "offset_h", "tolerance_s", "source"),
    [
        (GREENWICH, "2017-01-01T12:04", 0, ROUNDED_S, "USNO"),
        (JCMT, "2003-07-15T12:28", -10, ROUNDED_S, "USNO"),
        (SOUTH, "1996-07-05T12:04:36", 0, 2.0, "NREL SPA report"),
        (SOUTH, "2004-12-04T11:50:22", 0, 2.0, "NREL SPA report"),
    ],
)
def test_transits_of_the_sun(site: Site, clock: str, offset_h: float, tolerance_s: float, source: str) -> None:
    """At the published transit the Sun's hour angle is zero."""
    at = utc(clock, offset_h)
    hour_angle_deg = altitude.hour_angle_deg(sun.sun_place(at)[0], at, site)
    assert abs(float(hour_angle_deg)) * 240 < tolerance_s, source


def test_transit_of_the_moon() -> None:
    """USNO by perl-Astro-Coords: the Moon crosses the meridian of Mauna Kea on 2003-07-15 at 02:05 HST."""
    at = utc("2003-07-15T02:05", -10)
    hour_angle_deg = altitude.hour_angle_deg(moon.moon_topocentric(at, JCMT)[0], at, JCMT)
    assert abs(float(hour_angle_deg)) * 240 < ROUNDED_S


def test_the_evening_belongs_to_its_date() -> None:
    """The sunset of the night of 2023-06-21 at Fredonia is that date's (19:53 MST), though it is the 22nd in UTC."""
    events = night_events(FREDONIA, night_of(FREDONIA, dt.date(2023, 6, 21)))
    sunset = next(event.mjd for event in events if event.kind == "sunset")
    assert abs(sunset - utc("2023-06-21T19:53", -7)) < ROUNDED_S * SECOND_DAYS


@pytest.mark.parametrize(
    ("latitude_deg", "limit_deg", "kind"),
    [(48.4, -18.0, "dark"), (48.7, -18.0, "never_dark"), (54.4, -12.0, "dark"), (54.7, -12.0, "never_dark")],
)
def test_where_midsummer_has_no_night(latitude_deg: float, limit_deg: float, kind: str) -> None:
    """The Sun's greatest depth at the solstice is 90° − latitude − 23.44°: the border is at 48.56° and 54.56°."""
    for sign, date in ((1.0, dt.date(2025, 6, 20)), (-1.0, dt.date(2025, 12, 21))):
        site = Site("border", sign * latitude_deg, 0.0, 0.0, "UTC")
        assert dusk_dawn(site, night_of(site, date), limit_deg).kind == kind


def test_the_polar_year() -> None:
    """At the poles the astronomical night lasts while the Sun is 18° on the other side, some 11 weeks.

    The Sun's declination is −18° on 13 November and 29 January, +18° on 13 May and 1 August, give or take two days
    (handbook tables, from memory).
    """
    for latitude_deg, first, last in ((90.0, (11, 13), (1, 29)), (-90.0, (5, 13), (8, 1))):
        site = Site("pole", latitude_deg, 0.0, 0.0, "UTC")
        year = year_of_darkness(site, dt.date(2026, 3, 1), 365)
        dark = [one.date for one, hours in zip(year.nights, year.dark_h, strict=True) if hours > 0]
        for date, (month, day) in ((dark[0], first), (dark[-1], last)):
            assert abs((date - dt.date(date.year, month, day)).days) <= 2
        assert len(dark) == (dark[-1] - dark[0]).days + 1
