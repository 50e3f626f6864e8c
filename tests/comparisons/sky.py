"""Sky: Sun, Moon and stars, twilight, risings, beside a JPL ephemeris and tables of the US Naval Observatory."""

import datetime as dt
from collections.abc import Callable, Iterator
from importlib.resources import files
from typing import Any

import numpy as np
from skyfield.almanac import fraction_illuminated
from skyfield.api import Star, load, load_file
from tests.comparisons.records import Cases, Comparison, joined
from tests.comparisons.sites import EVERYWHERE
from tests.reference.test_sky_against_skyfield import (
    LAST_KNOWN_MJD,
    SINCE_LAST_LEAP_MJD,
    instants,
    over,
    skyfield_times,
)
from tests.reference.test_sky_published_events import SECOND_DAYS, USNO_TIMES, utc

from sidelight.ground.angles import separation_deg, unit_vector
from sidelight.ground.types import FloatArray
from sidelight.sky import altitude, moon, sun
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.events import events_between
from sidelight.sky.moon import HORIZON_REFRACTION_DEG, MOON_RADIUS_KM
from sidelight.sky.night import nights
from sidelight.sky.site import Site
from sidelight.sky.time import MJD_ZERO, tt_mjd

DE421 = "Skyfield with JPL DE421"
SAME_TURN = f"{DE421}, UT1 = UTC in both"
STEEP_UP_TO_DEG = 43.5
YEARS = (2003, 2027, 2049)
STARS = ((17.0, 2.0), (200.0, -70.0), (300.0, 89.0), (100.0, 40.0))
MOON_THEORY = "18.3″ are the worst that the theory's own header states"
EARTH_TURN = "UT1 is kept within 0.9 s (13.5″) of UTC, and is taken for it"


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the sky."""
    kernel = load_file(str(files("skyfield_data") / "data" / "de421.bsp"))
    try:
        yield from _twilight(kernel)
        yield _moonrise(kernel)
        yield from _places(kernel)
        yield _phase(kernel)
        yield from _altitudes(kernel)
    finally:
        kernel.close()
    yield from _events()


def _places(kernel: Any) -> Iterator[Comparison]:
    """Yield geocentric Sun and Moon, 2000 to 2050."""
    at = instants(21, 400)
    times = skyfield_times(at)
    reasons = {"sun": "what the model's words promise", "moon": MOON_THEORY}
    for name, place, allowed in (("sun", sun.sun_place, 0.03), ("moon", moon.moon_place, 18.3)):
        seen = kernel["earth"].at(times).observe(kernel[name]).apparent()
        ra, dec, _ = seen.radec(epoch="date")
        apart = separation_deg(*place(at)[:2], ra._degrees, dec.degrees) * 3600.0
        model = f"{name.capitalize()}'s place from the Earth's centre"
        yield Comparison("sky", "night", model, DE421, "″", apart, allowed, reasons[name], Cases(mjd=at))


def _phase(kernel: Any) -> Comparison:
    """Return the Moon's lit share of its disc, 2000 to 2050."""
    at = instants(24, 400)
    theirs = fraction_illuminated(kernel, "moon", skyfield_times(at))
    off = 100.0 * (moon.moon_phase(at).illuminated_fraction - theirs)
    reason = "what the model's words promise"
    return Comparison("sky", "night", "Moon's lit share of its disc", DE421, "%", off, 0.01, reason, Cases(mjd=at))


def _altitudes(kernel: Any) -> Iterator[Comparison]:
    """Yield altitudes of Sun, Moon and stars from pole to pole."""
    sun_off, moon_off, star_off = [], [], []
    at, ahead = instants(22, 100, last=LAST_KNOWN_MJD), instants(23, 100, SINCE_LAST_LEAP_MJD)
    for site in EVERYWHERE:
        there = over(kernel, site, skyfield_times(at))
        for body, ours, off in (
            ("sun", sun.sun_altitude_deg, sun_off),
            ("moon", moon.moon_altitude_deg, moon_off),
        ):
            theirs = there.observe(kernel[body]).apparent().altaz()[0].degrees
            off.append((ours(at, site) - theirs) * 3600.0)
        there = over(kernel, site, skyfield_times(ahead, ut1_is_utc=True))
        for ra_deg, dec_deg in STARS:
            theirs = there.observe(Star(ra_hours=ra_deg / 15, dec_degrees=dec_deg)).apparent().altaz()
            got = altitude.horizontal_deg(unit_vector(*altitude.apparent_place(ra_deg, dec_deg, ahead)), ahead, site)
            star_off.append(separation_deg(got[1], got[0], theirs[1].degrees, theirs[0].degrees) * 3600.0)
    latitudes = np.array([site.latitude_deg for site in EVERYWHERE])
    reason, cases = f"{EARTH_TURN}; 0.5″ for the rest", Cases(latitudes, mjd=at)
    yield Comparison("sky", "night", "Sun's altitude", DE421, "″", joined(sun_off), 14.0, reason, cases)
    reason = f"{EARTH_TURN}; {MOON_THEORY}"
    yield Comparison("sky", "night", "Moon's altitude", DE421, "″", joined(moon_off), 31.8, reason, cases)
    reason, cases = "0.32″ of diurnal aberration are left out", Cases(latitudes, np.array(STARS)[:, 1], ahead)
    model = "star's altitude and azimuth, without air"
    yield Comparison("sky", "target", model, SAME_TURN, "″", joined(star_off), 0.35, reason, cases)


def _same_turn(mjd: FloatArray) -> Any:
    """Return Skyfield's times with UT1 = UTC, for instants between which no leap second lies."""
    tt = tt_mjd(mjd)
    return load.timescale(delta_t=float((tt - mjd)[0]) * 86400.0).tt_jd(tt + MJD_ZERO)


def _twilight(kernel: Any) -> Iterator[Comparison]:
    """Yield dusks and dawns of three years as the Sun's altitude there; where it sinks steeply, in seconds."""
    off, late, at, steep_at = [], [], [], []
    for site in EVERYWHERE:
        for year in YEARS:
            darkness = year_of_darkness(site, dt.date(year, 1, 1), 365)
            ends = [edge for night in darkness.nights for edge in (night.start_mjd, night.end_mjd)]
            edges = darkness.dark.spans_mjd.ravel()
            edges = edges[~np.isin(edges, ends)]
            seen = over(kernel, site, _same_turn(edges)).observe(kernel["sun"]).apparent()
            apart = (seen.altaz()[0].degrees - site.twilight_deg) * 3600.0
            off.append(apart)
            at.append(edges)
            if abs(site.latitude_deg) < STEEP_UP_TO_DEG:
                late.append(apart / _arcsec_per_s(lambda mjd, site=site: sun.sun_altitude_deg(mjd, site), edges))
                steep_at.append(edges)
    everywhere = Cases(np.array([site.latitude_deg for site in EVERYWHERE]), mjd=joined(at))
    reason = "what the model's words promise for the Sun's altitude"
    model = "dusk and dawn, as the Sun's altitude"
    yield Comparison("sky", "night", model, SAME_TURN, "″", joined(off), 0.6, reason, everywhere)
    steep = np.array([site.latitude_deg for site in EVERYWHERE if abs(site.latitude_deg) < STEEP_UP_TO_DEG])
    reason = "0.6″, where the Sun never sinks by less than 5″ in a second"
    model, cases = "dusk and dawn", Cases(steep, mjd=joined(steep_at))
    yield Comparison("sky", "night", model, SAME_TURN, "s", joined(late), 0.12, reason, cases)


def _arcsec_per_s(height: Callable[[FloatArray], FloatArray], mjd: FloatArray) -> FloatArray:
    """Return how fast a height in degrees changes."""
    return (height(mjd + 30 * SECOND_DAYS) - height(mjd - 30 * SECOND_DAYS)) * 60.0


def _moonrise(kernel: Any) -> Comparison:
    """Return moonrises and moonsets of two years as the altitude of the Moon's upper limb there."""
    off, at = [], []
    for site in EVERYWHERE:
        for year in YEARS[1:]:
            edges = _moon_edges(site, dt.date(year, 1, 1), 365)
            seen = over(kernel, site, _same_turn(edges)).observe(kernel["moon"]).apparent()
            centre, _, distance = seen.altaz()
            limb_deg = centre.degrees + np.degrees(np.arcsin(MOON_RADIUS_KM / distance.km))
            off.append((limb_deg + HORIZON_REFRACTION_DEG) * 3600.0)
            at.append(edges)
    latitudes = np.array([site.latitude_deg for site in EVERYWHERE])
    model = "moonrise and moonset, as the altitude of the Moon's limb"
    cases = Cases(latitudes, mjd=joined(at))
    return Comparison(
        "sky", "night", model, SAME_TURN, "″", joined(off), 19.0, f"{MOON_THEORY}; 0.7″ for the rest", cases
    )


def _moon_edges(site: Site, first: dt.date, count: int) -> FloatArray:
    """Return when the Moon's limb crosses a level horizon in a run of nights."""
    run = nights(site, first, count)
    start, end = run[0].start_mjd, run[-1].end_mjd
    edges = moon.moon_up(site, np.array([start]), np.array([end])).spans_mjd.ravel()
    return edges[(edges > start) & (edges < end)]


def _events() -> Iterator[Comparison]:
    """Yield published risings, settings and twilights of single days."""
    rounded, exact = [], []
    for site, start, offset_h, expected, tolerance_s, _ in USNO_TIMES:
        begin = utc(start, offset_h)
        found = {event.kind: event.mjd for event in events_between(site, begin, begin + 1.0)}
        off = [
            ((found[kind] - utc(clock, offset_h)) / SECOND_DAYS, site.latitude_deg, found[kind])
            for kind, clock in expected.items()
        ]
        if tolerance_s < 60.0:
            (exact if tolerance_s < 10.0 else rounded).extend(off)
    off, latitudes, at = np.array(rounded).T
    model, reference = "risings, settings, twilights of single days", "US Naval Observatory, as kept by public tests"
    reason = "30 s are the tables' rounding; 0.9 s UT1, 1 s the Moon's theory"
    yield Comparison(
        "sky", "night", model, reference, "s", off, 32.0, reason, Cases(latitudes, mjd=at), rounding=30.0
    )
    off, latitudes, at = np.array(exact).T
    reason = "0.5 s are the table's rounding; UT1 and the TT it was worked out with differ by up to 2 s"
    model, reference = "sunrise and sunset of single days", "NREL SPA report, to the second"
    yield Comparison("sky", "night", model, reference, "s", off, 3.0, reason, Cases(latitudes, mjd=at), rounding=0.5)
