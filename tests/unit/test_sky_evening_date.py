"""Nights are named and found rightly at every longitude in every clock's zone, however far the two are apart."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from sidelight.sky.night import evening_date, night_of
from sidelight.sky.site import Site
from sidelight.sky.time import mjd_from_datetime

LONGITUDES = (-180.0, 30.2, -179.3, -157.4, -100.0, -44.9, -0.4, 0.0, 15.2, 89.6, 134.0, 179.3, 180.0)
ZONES = ("UTC", "Europe/Berlin", "Pacific/Kiritimati", "Pacific/Honolulu", "Asia/Kolkata", "Etc/GMT+12", "Etc/GMT-12")
SECOND_DAYS = 1.0 / 86400.0


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("longitude_deg", LONGITUDES)
def test_a_night_begins_at_the_mean_noon_nearest_to_civil_noon(longitude_deg: float, zone: str) -> None:
    """Of all mean noons (12 h less the longitude's hours, UTC) it is the one nearest to noon in standard time."""
    site = Site("A", 10.0, longitude_deg, 0.0, zone)
    for date in (dt.date(2027, 1, 15), dt.date(2027, 7, 15)):
        midday = dt.datetime.combine(date, dt.time(12), tzinfo=ZoneInfo(zone))
        civil = mjd_from_datetime(midday) + (midday.dst() or dt.timedelta()) / dt.timedelta(days=1)
        start = night_of(site, date).start_mjd
        off_noon = (start + longitude_deg / 360.0) % 1.0
        assert off_noon == pytest.approx(0.5, abs=1e-9)
        assert abs(start - civil) <= 0.5 + 1e-9


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("longitude_deg", LONGITUDES)
def test_an_instant_belongs_to_the_night_it_lies_in(longitude_deg: float, zone: str) -> None:
    """From a night's first second to its last, the night found is that night; noon itself begins the new one."""
    site = Site("A", 10.0, longitude_deg, 0.0, zone)
    for date in (dt.date(2027, 1, 15), dt.date(2027, 7, 15)):
        night = night_of(site, date)
        for mjd in (night.start_mjd, night.start_mjd + 0.5, night.end_mjd - SECOND_DAYS):
            assert evening_date(site, mjd) == date
        assert evening_date(site, night.start_mjd - SECOND_DAYS) == date - dt.timedelta(days=1)
