"""A year of dark spans and Moon spans: all nights at once, beside a minute grid with Astropy's Sun and Moon."""

import datetime as dt
import sys
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.measure import Words, clock, emit, figure, grow, seconds

from sidelight.sky import frames
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.moon import moon_up_spans
from sidelight.sky.night import dark_spans, nights
from sidelight.sky.site import Site

SITE = Site("garden", 48.1, 11.6, 520.0, "Europe/Berlin")
FIRST, COUNT, SAMPLE = dt.date(2027, 1, 1), 365, 4


def one_by_one(count: int) -> None:
    """Each night on its own."""
    for night in nights(SITE, FIRST, count):
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


def afresh(count: int) -> Callable[[], object]:
    """Return the work of nights of which nothing is known yet."""

    def work() -> None:
        frames._KEPT.clear()
        year_of_darkness(SITE, FIRST, count)

    return work


def main() -> None:
    """Measure."""
    year_of_darkness(SITE, FIRST, 1)
    grow("dark and Moon spans, nothing known", "nights", "night", (30, 90, 180, 365, 730), afresh)
    figure(
        "dark and Moon spans of a year",
        f"{COUNT} nights",
        afresh(COUNT),
        f"astropy's Sun and Moon every minute ({SAMPLE} nights, scaled)",
        minute_grid,
        times=COUNT / SAMPLE,
    )
    again_s, single_s = seconds(lambda: year_of_darkness(SITE, FIRST, COUNT)), seconds(lambda: one_by_one(30)) / 30
    emit(
        Words(
            f"The same year again takes {clock(again_s)}. A night on its own takes {clock(single_s)}, a night of the "
            f"year {clock(again_s / COUNT)}."
        )
    )


if __name__ == "__main__":
    main()
