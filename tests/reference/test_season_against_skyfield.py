"""Window edges over a level floor against Skyfield's rising and setting finder with JPL's DE421 (tests only)."""

import datetime as dt
from typing import Any

import numpy as np
import pytest
from skyfield.almanac import find_risings, find_settings
from skyfield.api import Star, load, wgs84

from sidelight.season.windows import target_windows
from sidelight.sky.refraction import true_altitude_deg
from sidelight.sky.site import Site
from sidelight.sky.time import MJD_ZERO, tt_mjd

SITES = [
    (Site("Bavaria", 48.1, 11.6, 520.0, "Europe/Berlin"), dt.date(2026, 10, 14)),
    (Site("Andes", -30.2, -70.8, 2400.0, "America/Santiago", floor_deg=20.0), dt.date(2031, 6, 2)),
    (Site("date line", 0.01, 179.9, 0.0, "Pacific/Fiji", floor_deg=45.0), dt.date(2040, 2, 29)),
    (Site("Svalbard", 78.2, 15.6, 100.0, "Arctic/Longyearbyen"), dt.date(2027, 12, 21)),
]


@pytest.mark.parametrize(("site", "date"), SITES, ids=[site.name for site, _ in SITES])
def test_rising_and_setting_over_the_floor(planets: Any, site: Site, date: dt.date) -> None:
    """Every edge of a window that is not dusk or dawn is a rising or setting over the floor, within 0.1 s.

    With UT1 = UTC in both.
    """
    random = np.random.default_rng(7)
    ra, dec = random.uniform(0, 360, 80), site.latitude_deg + random.uniform(-60, 60, 80)
    dec = np.clip(dec, -88, 88)
    table = target_windows(site, ra, dec, date, 1)
    night, dark = table.darkness.nights[0], table.darkness.dark.of(0).ravel()
    scale = load.timescale(delta_t=37 + 32.184)
    span = [scale.tt_jd(tt_mjd(mjd) + MJD_ZERO) for mjd in (night.start_mjd, night.end_mjd)]
    observer = planets["earth"] + wgs84.latlon(site.latitude_deg, site.longitude_deg, site.elevation_m)
    true_deg = float(true_altitude_deg(site.floor_deg, site.elevation_m))
    compared = 0
    for row in range(len(ra)):
        star = Star(ra_hours=ra[row] / 15, dec_degrees=dec[row])
        windows = table.windows(row, 0)
        for finder, edges in ((find_risings, windows[:, 0]), (find_settings, windows[:, 1])):
            times, real = finder(observer, star, *span, horizon_degrees=true_deg)
            there = times.tt[real] - MJD_ZERO
            for edge in edges[~np.isin(np.round(edges, 7), np.round(dark, 7))]:
                assert np.min(np.abs(there - tt_mjd(edge))) * 86400 < 0.1
                compared += 1
    assert compared >= 8
