"""The one place where UTC meets the site's own time zone."""

import datetime as dt
from zoneinfo import ZoneInfo

from sidelight.sky.night import evening_date
from sidelight.sky.site import Site
from sidelight.sky.time import datetime_from_mjd, mjd_from_datetime


def tonight(site: Site, now: dt.datetime | None = None) -> dt.date:
    """Return the date of the night that is on, or next, at the site; a night is named by its evening."""
    moment = now or dt.datetime.now(dt.UTC)
    return evening_date(site, mjd_from_datetime(moment))


def local(site: Site, instant: dt.datetime) -> dt.datetime:
    """Return an aware instant in the site's own zone."""
    return instant.astimezone(ZoneInfo(site.time_zone))


def utc(instant_mjd: float) -> dt.datetime:
    """Return an aware UTC datetime, to the nearest second, for an MJD."""
    exact = datetime_from_mjd(float(instant_mjd))
    return (exact + dt.timedelta(microseconds=500_000)).replace(microsecond=0)


def zone_label(site: Site, instant: dt.datetime) -> str:
    """Return the zone's name with its offset at that instant, such as "Europe/Vienna, UTC+01:00"."""
    offset = local(site, instant).strftime("%z")
    return f"{site.time_zone}, UTC{offset[:3]}:{offset[3:5]}"
