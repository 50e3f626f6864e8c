"""Sky: Sun, Moon, stars, refraction, twilight and window edges, each beside a reference from outside."""

import datetime as dt
from collections.abc import Iterator
from importlib.resources import files

import erfa
import numpy as np
from skyfield.api import Star, load_file
from tests.comparisons.records import Comparison
from tests.reference.test_season_scan import EDGE_S, Scan
from tests.reference.test_sky_against_skyfield import (
    LAST_KNOWN_MJD,
    SINCE_LAST_LEAP_MJD,
    SITES,
    instants,
    over,
    skyfield_times,
)
from tests.reference.test_sky_published_events import SECOND_DAYS, USNO_TIMES, utc
from tests.strategies.season import random_places, random_site

from sidelight.ground.angles import separation_deg, unit_vector
from sidelight.season.windows import target_windows
from sidelight.sky import altitude, moon, refraction, sun
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.events import events_between

DE421 = "Skyfield with JPL DE421"


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the sky and of the season's edges."""
    kernel = load_file(str(files("skyfield_data") / "data" / "de421.bsp"))
    try:
        yield from _places(kernel)
        yield from _altitudes(kernel)
        yield from _twilight(kernel)
    finally:
        kernel.close()
    yield _refraction()
    yield from _events()
    yield _edges()


def _places(kernel: object) -> Iterator[Comparison]:
    """Yield geocentric Sun and Moon, 2000 to 2050."""
    at = instants(21, 400)
    times = skyfield_times(at)
    for name, place, allowed in (("sun", sun.sun_place, 0.03), ("moon", moon.moon_place, 18.3)):
        seen = kernel["earth"].at(times).observe(kernel[name]).apparent()  # type: ignore[index]
        ra, dec, _ = seen.radec(epoch="date")
        apart = separation_deg(*place(at)[:2], ra._degrees, dec.degrees) * 3600.0
        remark = "the worst that its theory's own header states is 18.3″" if name == "moon" else ""
        yield Comparison("sky", f"{name.capitalize()}, geocentric place", DE421, "″", apart, allowed, remark)


def _altitudes(kernel: object) -> Iterator[Comparison]:
    """Yield altitudes of Sun, Moon and stars from pole to pole."""
    sun_off, moon_off, star_off = [], [], []
    at, ahead = instants(22, 100, last=LAST_KNOWN_MJD), instants(23, 100, SINCE_LAST_LEAP_MJD)
    for site in SITES:
        there = over(kernel, site, skyfield_times(at))
        for body, ours, off in (
            ("sun", sun.sun_altitude_deg, sun_off),
            ("moon", moon.moon_altitude_deg, moon_off),
        ):
            theirs = there.observe(kernel[body]).apparent().altaz()[0].degrees  # type: ignore[index]
            off.append((ours(at, site) - theirs) * 3600.0)
        there = over(kernel, site, skyfield_times(ahead, ut1_is_utc=True))
        for ra_deg, dec_deg in ((17.0, 2.0), (200.0, -70.0), (300.0, 89.0), (100.0, 40.0)):
            theirs = there.observe(Star(ra_hours=ra_deg / 15, dec_degrees=dec_deg)).apparent().altaz()[0].degrees
            got = altitude.horizontal_deg(unit_vector(*altitude.apparent_place(ra_deg, dec_deg, ahead)), ahead, site)
            star_off.append((got[0] - theirs) * 3600.0)
    turning = "nearly all of it is the Earth's true rotation, taken as UT1 = UTC"
    yield Comparison("sky", "Sun's altitude", DE421, "″", np.concatenate(sun_off), 14.0, turning)
    both = "the Earth's rotation and the Moon's place"
    yield Comparison("sky", "Moon's altitude", DE421, "″", np.concatenate(moon_off), 31.8, both)
    yield Comparison(
        "sky",
        "star's true altitude",
        f"{DE421}, UT1 = UTC in both",
        "″",
        np.concatenate(star_off),
        0.35,
        "diurnal aberration is left out",
    )


def _twilight(kernel: object) -> Iterator[Comparison]:
    """Yield dusks and dawns as the Sun's altitude there, in a year ahead."""
    off = []
    for site in SITES:
        nights = year_of_darkness(site, dt.date(2027, 1, 1), 365)
        ends = [edge for night in nights.nights for edge in (night.start_mjd, night.end_mjd)]
        edges = nights.dark.spans_mjd.ravel()
        edges = edges[~np.isin(edges, ends)]
        seen = over(kernel, site, skyfield_times(edges, ut1_is_utc=True)).observe(kernel["sun"]).apparent()  # type: ignore[index]
        off.append((seen.altaz()[0].degrees - site.twilight_deg) * 3600.0)
    yield Comparison(
        "sky", "dusk and dawn, as the Sun's altitude", f"{DE421}, UT1 = UTC in both", "″", np.concatenate(off), 0.6
    )


def _refraction() -> Comparison:
    """Return refraction above 20°."""
    altitudes, off = np.linspace(20, 90, 71), []
    for elevation_m in (0.0, 1500.0, 4000.0):
        pressure = float(refraction.standard_pressure_hpa(elevation_m))
        a, b = erfa.refco(pressure, float(refraction.standard_temperature_c(elevation_m)), 0.0, 0.55)
        tangent = np.tan(np.radians(90 - altitudes))
        expected = np.degrees(a * tangent + b * tangent**3)
        off.append((refraction.refraction_of_apparent_deg(altitudes, elevation_m) - expected) * 3600.0)
    return Comparison("sky", "refraction above 20°", "ERFA refco", "″", np.concatenate(off), 4.2)


def _events() -> Iterator[Comparison]:
    """Yield published risings, settings and twilights, by the table's own rounding."""
    rounded, exact = [], []
    for site, start, offset_h, expected, tolerance_s, _ in USNO_TIMES:
        begin = utc(start, offset_h)
        found = {event.kind: event.mjd for event in events_between(site, begin, begin + 1.0)}
        off = [(found[kind] - utc(clock, offset_h)) / SECOND_DAYS for kind, clock in expected.items()]
        if tolerance_s < 60.0:
            (exact if tolerance_s < 10.0 else rounded).extend(off)
    yield Comparison(
        "sky",
        "risings, settings, twilights",
        "US Naval Observatory tables",
        "s",
        np.array(rounded),
        32.0,
        "the tables give whole minutes: 30 s are theirs",
    )
    yield Comparison("sky", "sunrise and sunset", "NREL SPA report, to the second", "s", np.array(exact), 3.0)


def _edges() -> Comparison:
    """Return window edges against where ERFA's whole chain changes from usable to not."""
    off = [_edges_off_s(np.random.default_rng(seed)) for seed in (31, 32, 33, 34)]
    reference = "scan with ERFA's apparent place of each instant"
    return Comparison("season", "edges of windows", reference, "s", np.concatenate(off), 10.0)


def _edges_off_s(random: np.random.Generator) -> np.ndarray:
    """Return by how much edges are later than the scan's, at one site; those that graze are left out."""
    site = random_site(random)
    ra, dec = random_places(random, 40)
    first = dt.date(2017, 6, 1) + dt.timedelta(days=int(random.integers(0, 12_000)))
    table = target_windows(site, ra, dec, first, 60)
    nights = table.darkness.nights
    owner = np.repeat(np.repeat(np.arange(40), 60), np.diff(table.offsets))
    edges, owner = np.concatenate([table.start_mjd, table.end_mjd]), np.tile(owner, 2)
    cuts = np.array([mjd for night in nights for mjd in (night.start_mjd, night.end_mjd)])
    inner = np.flatnonzero(np.min(np.abs(edges[:, None] - cuts), axis=1) > 1e-9)
    some = random.permutation(inner)[:500]
    edges, owner = edges[some], owner[some]

    def usable(mjd: np.ndarray) -> np.ndarray:
        return Scan(site, mjd).margin_deg(ra[owner], dec[owner]) > 0  # type: ignore[arg-type]

    low, high = edges - EDGE_S * SECOND_DAYS, edges + EDGE_S * SECOND_DAYS
    before = usable(low)
    changes = before != usable(high)
    for _ in range(12):
        middle = (low + high) / 2
        same = usable(middle) == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.asarray((edges - (low + high) / 2)[changes] / SECOND_DAYS)
