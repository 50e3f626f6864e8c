"""A year of dark spans and Moon spans: all nights at once, one by one, and by a minute grid with Astropy's Sun."""

import datetime as dt
import time

import numpy as np

from sidelight.sky import frames
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.moon import moon_up_spans
from sidelight.sky.night import dark_spans, nights
from sidelight.sky.site import Site

SITE = Site("garden", 48.1, 11.6, 520.0, "Europe/Berlin")
FIRST, COUNT, SAMPLE = dt.date(2027, 1, 1), 365, 10


def seconds(work) -> float:  # noqa: ANN001 - any function
    """Return the best time of three runs."""
    times = []
    for _ in range(3):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def one_by_one() -> None:
    """Each night on its own."""
    for night in nights(SITE, FIRST, COUNT):
        dark_spans(SITE, night)
        moon_up_spans(SITE, night)


def minute_grid() -> None:
    """Sun and Moon of a few nights each minute, by Astropy (no tables fetched)."""
    from astropy import units as u
    from astropy.coordinates import AltAz, EarthLocation, get_body
    from astropy.time import Time
    from astropy.utils import iers

    iers.conf.auto_download = False
    iers.conf.auto_max_age = None
    where = EarthLocation.from_geodetic(SITE.longitude_deg * u.deg, SITE.latitude_deg * u.deg)
    for night in nights(SITE, FIRST, SAMPLE):
        at = Time(np.arange(night.start_mjd, night.end_mjd, 1 / 1440), format="mjd")
        for body in ("sun", "moon"):
            get_body(body, at, where).transform_to(AltAz(obstime=at, location=where))


def main() -> None:
    """Print the three times and their ratios."""
    frames._KEPT.clear()
    begin = time.perf_counter()
    year_of_darkness(SITE, FIRST, COUNT)
    cold_s = time.perf_counter() - begin
    warm_s = seconds(lambda: year_of_darkness(SITE, FIRST, COUNT))
    single_s, grid_s = seconds(one_by_one), seconds(minute_grid) * COUNT / SAMPLE
    print(f"a year at once      {cold_s * 1e3:9.1f} ms the first time, {warm_s * 1e3:.1f} ms again")
    print(f"night by night      {single_s * 1e3:9.1f} ms  {single_s / warm_s:8.0f} x")
    print(f"minute grid, Astropy{grid_s * 1e3:9.1f} ms  {grid_s / warm_s:8.0f} x  (from {SAMPLE} nights)")


if __name__ == "__main__":
    main()
