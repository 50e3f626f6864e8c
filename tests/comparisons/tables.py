"""Whole tables of the US Naval Observatory: a year of sunrises, a year of moonrises, the Moon at the polar circle."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import erfa
import numpy as np
from tests.comparisons.records import Cases, Comparison, joined
from tests.reference import usno

from sidelight.ground.angles import separation_deg, unit_vector, wrap_180
from sidelight.ground.types import FloatArray
from sidelight.season.night import targets_tonight
from sidelight.season.windows import target_windows
from sidelight.sky import altitude, moon, sun
from sidelight.sky.moon import moon_up
from sidelight.sky.sun import RISE_SET_DEG, sun_below
from sidelight.sky.time import MJD_ZERO, tt_mjd

TABLE = "US Naval Observatory"
S_PER_DAY = 86400.0
ROUNDING_S = 30.0
# J2000, from the Hipparcos catalogue as PyEphem's list of bright stars has it
DENEB_DEG = (15 * 20.69053187, 45.28033800)
RIGEL_DEG = (15 * 5.24229787, -8.20164055)
WHOLE_DAY_DEG = 90.0


def events() -> Iterator[Comparison]:
    """Yield every comparison with a table of risings, settings, transits and phases."""
    yield _year("riset_sun", "sun", "sunrise and sunset, a whole year", "whole year 2007, Atlanta", 34.3, _SUN)
    yield _year("riset_moon", "moon", "moonrise and moonset, a whole year", "whole year 1984, Boston", 37.4, _MOON)
    yield from _polar_moon()
    yield _quarters()
    yield from _rigel()


def places() -> Iterator[Comparison]:
    """Yield every comparison with a table of places."""
    yield from _places()
    yield _from_atlanta()


_PLACE = "the place is given to 1′, which moves a rising by up to 3.4 s (Sun) or 4.3 s (Moon)"
_OLDER = "precession and nutation of 1980 and of 2006, whichever the table has, differ by 0.03″ (ERFA)"
_UT1 = "0.9 s of UT1"
_SUN = f"30 s are the table's rounding; {_PLACE}; 0.9 s UT1"
_MOON = f"30 s are the table's rounding; {_PLACE}; 0.9 s UT1, 2.2 s the Moon's theory"


def our_events(days: usno.Days, body: str) -> dict[str, FloatArray]:
    """Return when we have the Sun or the Moon rise and set on each of the days, found day by day as for nights."""
    start = days.first_mjd + np.arange(float(days.count))
    if body == "sun":
        below = sun_below(days.site, start, start + 1.0, RISE_SET_DEG).spans_mjd
        spans = {"set": below[:, 0], "rise": below[:, 1]}
    else:
        up = moon_up(days.site, start, start + 1.0).spans_mjd
        spans = {"rise": up[:, 0], "set": up[:, 1]}
    midnights = days.first_mjd + np.arange(days.count + 1.0)
    return {kind: edges[~np.isin(edges, midnights)] for kind, edges in spans.items()}


def _year(name: str, body: str, model: str, which: str, allowed_s: float, reason: str) -> Comparison:
    """Return a year's risings and settings; that none is missing and none too many is a test of its own."""
    days = usno.year_of(name)
    ours = our_events(days, body)
    off = joined((ours[kind] - days.of(kind)) * S_PER_DAY for kind in ("rise", "set"))
    cases = Cases(np.array([days.site.latitude_deg]), mjd=days.of("rise"))
    return Comparison(
        "sky", "night", model, f"{TABLE}, {which}", "s", off, allowed_s, reason, cases, rounding=ROUNDING_S
    )


def _polar_moon() -> Iterator[Comparison]:
    """Yield the Moon at Fairbanks, up for four days without setting: rise and set, transit and lower transit."""
    days = usno.run_of("risettran_moon")
    ours = our_events(days, "moon")
    cases = Cases(np.array([days.site.latitude_deg]), mjd=days.of("transit"))
    off = joined((ours[kind] - days.of(kind)) * S_PER_DAY for kind in ("rise", "set"))
    model, reference = "moonrise and moonset near the polar circle", f"{TABLE}, Fairbanks 2006"
    reason = (
        "30 s are the table's rounding; 18.3″ of the Moon's theory are 21 s where it rises 8° from north; 0.9 s UT1"
    )
    yield Comparison("sky", "night", model, reference, "s", off, 51.9, reason, cases, rounding=ROUNDING_S)
    off = joined(
        _late_s(lambda mjd, turn=turn: _moon_hour_angle_deg(mjd, days.site) - turn, days.of(kind))
        for kind, turn in (("transit", 0.0), ("lower", 180.0))
    )
    model, reason = "the Moon's transits", "30 s are the table's rounding; 0.9 s UT1, 1.4 s the Moon's theory"
    yield Comparison("sky", "night", model, reference, "s", off, 32.3, reason, cases, rounding=ROUNDING_S)


def _moon_hour_angle_deg(mjd: FloatArray, site: usno.Site) -> FloatArray:
    """Return the Moon's hour angle seen from a site."""
    return altitude.hour_angle_deg(moon.moon_topocentric(mjd, site)[0], mjd, site)


def _late_s(angle_deg, mjd: FloatArray) -> FloatArray:  # noqa: ANN001
    """Return how long ago an angle that grows was zero, seconds."""
    here = wrap_180(angle_deg(mjd))
    return here / wrap_180(angle_deg(mjd + 60.0 / S_PER_DAY) - here) * 60.0


def _quarters() -> Comparison:
    """Return the Moon's quarters of a year."""
    at, ahead_deg = usno.phases_of("moon_phases")
    off = -_late_s(lambda mjd: moon.moon_phase(mjd).ahead_deg - ahead_deg, at)
    reason = "30 s are the table's rounding; 18.3″ of the Moon's theory are 40.7 s at its slowest; 0.9 s UT1"
    reference = f"{TABLE}, year 1980"
    cases = Cases(mjd=at)
    return Comparison(
        "sky", "night", "new, half and full Moon", reference, "s", off, 71.6, reason, cases, rounding=30.0
    )


def _places() -> Iterator[Comparison]:
    """Yield the tables' apparent places of date, seen from the Earth's centre and from Atlanta."""
    reference = f"{TABLE}, tables of apparent places"
    for name, model, subject, place, allowed, reason in (
        (
            "sun",
            "Sun's place from the Earth's centre",
            "night",
            sun.sun_place,
            0.1,
            f"0.03″ promised; {_OLDER}; {_UT1}",
        ),
        ("moon", "Moon's place from the Earth's centre", "night", moon.moon_place, 18.8, f"18.3″ stated; {_UT1}"),
        ("deneb", "star's place of date", "target", _deneb, 0.06, f"{_OLDER}; Deneb's own motion is 0.015″"),
    ):
        given = usno.places_of(f"appgeo_{name}")
        off = separation_deg(*place(given.mjd)[:2], given.ra_deg, given.dec_deg) * 3600.0
        yield Comparison("sky", subject, model, reference, "″", off, allowed, reason, Cases(mjd=given.mjd))
    given = usno.places_of("apptopo_moon")
    assert given.site is not None
    ours = moon.moon_topocentric(given.mjd, given.site)[:2]
    off = separation_deg(*ours, given.ra_deg, given.dec_deg) * 3600.0
    cases = Cases(np.array([given.site.latitude_deg]), mjd=given.mjd)
    reason = f"18.3″ stated; {_UT1}"
    yield Comparison("sky", "night", "Moon's place from a site", reference, "″", off, 18.8, reason, cases)


def _deneb(mjd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return Deneb's apparent place."""
    return altitude.apparent_place(*DENEB_DEG, mjd)


def _from_atlanta() -> Comparison:
    """Return the altitudes of Sun and Deneb against the places the tables have for Atlanta, turned by ERFA."""
    off, at = [], []
    for name in ("sun", "deneb"):
        given = usno.places_of(f"apptopo_{name}")
        assert given.site is not None
        site = given.site
        turned = erfa.gst06a(MJD_ZERO, given.mjd, MJD_ZERO, tt_mjd(given.mjd))
        hour_angle = turned + np.radians(site.longitude_deg - given.ra_deg)
        theirs = np.degrees(erfa.hd2ae(hour_angle, np.radians(given.dec_deg), np.radians(site.latitude_deg))[1])
        ours = (
            sun.sun_altitude_deg(given.mjd, site)
            if name == "sun"
            else altitude.horizontal_deg(unit_vector(*_deneb(given.mjd)), given.mjd, site)[0]
        )
        off.append((ours - theirs) * 3600.0)
        at.append(given.mjd)
    cases = Cases(np.array([site.latitude_deg]), mjd=joined(at))
    reason = "0.32″ of diurnal aberration are left out; 0.1″ as for the places"
    reference = f"{TABLE}, tables of places seen from Atlanta"
    return Comparison("sky", "target", "altitude of Sun and Deneb", reference, "″", joined(off), 0.42, reason, cases)


def _rigel() -> Iterator[Comparison]:
    """Yield a star's risings, settings and transits, as edges of windows over a level horizon by day and night."""
    days = usno.run_of("risettran_rigel")
    site = replace(days.site, floor_deg=0.0, time_zone="America/New_York")
    first = dt.date(2006, 4, 28)
    table = target_windows(site, *RIGEL_DEG, first, days.count + 2, sun_limit_deg=WHOLE_DAY_DEG)
    cuts = np.array([edge for night in table.darkness.nights for edge in (night.start_mjd, night.end_mjd)])
    off = []
    for kind, edges in (("rise", table.start_mjd), ("set", table.end_mjd)):
        inner = edges[np.min(np.abs(edges[:, None] - cuts), axis=1) > 1e-6]
        off.append((_within(days, inner) - days.of(kind)) * S_PER_DAY)
    cases = Cases(np.array([site.latitude_deg]), np.array([RIGEL_DEG[1]]), days.of("transit"))
    reason = "30 s are the table's rounding; 34′ of refraction there, 33.98′ here are 0.2 s; 0.9 s UT1"
    reference = f"{TABLE}, Rigel at Philadelphia 2006"
    yield Comparison(
        "season",
        "target",
        "a star's rising and setting",
        reference,
        "s",
        joined(off),
        31.1,
        reason,
        cases,
        rounding=30.0,
    )
    found = [
        targets_tonight(site, *RIGEL_DEG, first + dt.timedelta(days=n))[0].transit_mjd for n in range(days.count + 2)
    ]
    off = (_within(days, np.array(found)) - days.of("transit")) * S_PER_DAY
    reason = "30 s are the table's rounding; 0.9 s UT1"
    yield Comparison(
        "season", "target", "a star's transit", reference, "s", off, 30.9, reason, cases, rounding=ROUNDING_S
    )


def _within(days: usno.Days, mjd: FloatArray) -> FloatArray:
    """Return the instants within a table's days."""
    return mjd[(mjd >= days.first_mjd) & (mjd < days.first_mjd + days.count)]
