"""Season: edges of windows, transits and flips beside ERFA's whole chain to the observer at every instant."""

import datetime as dt
import warnings
from collections.abc import Iterator
from dataclasses import replace

import erfa
import numpy as np
from tests.comparisons.records import Cases, Comparison, joined
from tests.comparisons.sites import EVERYWHERE
from tests.reference.test_season_scan import EDGE_S, Scan
from tests.strategies.season import random_places, random_site

from sidelight.ground.angles import wrap_180
from sidelight.ground.types import FloatArray
from sidelight.season.night import targets_tonight
from sidelight.season.windows import target_windows
from sidelight.sky.site import Site
from sidelight.sky.time import MJD_ZERO

S_PER_DAY = 86400.0
LATITUDES_DEG = (66.5, 60.0, 52.0, 48.0, 35.0, 20.0, 0.0, -23.0, -34.0, -45.0, -55.0, -66.5)
POLAR_DEG = (90.0, 78.0, -75.0, -89.99)
FIRST = dt.date(2000, 1, 1)
DAYS = 18_200
TARGETS, NIGHTS, EDGES = 40, 60, 280
SCAN = "scan with ERFA's apparent place of each instant"
HALVINGS = 12
_MERIDIAN = "0.021 s of diurnal and 0.012 s of half a day's annual aberration, over the cosine of 80°"


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the season."""
    yield _edges(LATITUDES_DEG, 60, "edges of windows", 0.35, 1.0)
    yield _edges(POLAR_DEG, 90, "edges of windows near the poles, where the Sun sinks slowly", 0.0, 10.0)
    yield from _meridian()


def _edges(
    latitudes_deg: tuple[float, ...], first_seed: int, model: str, slowest_arcsec_per_s: float, allowed_s: float
) -> Comparison:
    """Return window edges against where ERFA's whole chain changes from usable to not, but those that only graze."""
    off, sites, declinations, at = [], [], [], []
    grazing = 0
    for seed, latitude_deg in enumerate(latitudes_deg, first_seed):
        random = np.random.default_rng(seed)
        site = replace(random_site(random), latitude_deg=latitude_deg)
        late_s, dec, edges, grazes = _edges_late_s(random, site, slowest_arcsec_per_s)
        off.append(late_s)
        sites.append(np.full(len(late_s), latitude_deg))
        declinations.append(dec)
        at.append(edges)
        grazing += grazes
    cases = Cases(joined(sites), joined(declinations), joined(at))
    reason = "what the model's words promise"
    if slowest_arcsec_per_s:
        slow = f"{slowest_arcsec_per_s:g}″"
        reason = f"{slow} where the height over the edge changes by {slow} a second; 0.33″ of aberration are left out"
    remark = f"skylines of up to 36 points; left out: {grazing} that only graze an edge, held to 2″ by other tests"
    return Comparison("season", "target", model, SCAN, "s", joined(off), allowed_s, reason, cases, remark)


def _edges_late_s(
    random: np.random.Generator, site: Site, slowest_arcsec_per_s: float
) -> tuple[FloatArray, FloatArray, FloatArray, int]:
    """Return by how much edges are later than the scan's, with declination and instant, and how many graze."""
    ra, dec = random_places(random, TARGETS)
    first = _dark_season(site.latitude_deg, FIRST + dt.timedelta(days=int(random.integers(0, DAYS))))
    table = target_windows(site, ra, dec, first, NIGHTS)
    nights = table.darkness.nights
    owner = np.repeat(np.repeat(np.arange(TARGETS), NIGHTS), np.diff(table.offsets))
    edges, owner = np.concatenate([table.start_mjd, table.end_mjd]), np.tile(owner, 2)
    cuts = np.array([mjd for night in nights for mjd in (night.start_mjd, night.end_mjd)])
    inner = np.flatnonzero(np.min(np.abs(edges[:, None] - cuts), axis=1) > 1e-9)
    some = random.permutation(inner)[:EDGES]
    edges, owner = edges[some], owner[some]

    def margin(mjd: np.ndarray) -> np.ndarray:
        return Scan(site, mjd).margin_deg(ra[owner], dec[owner]) * 3600.0  # type: ignore[arg-type]

    low, high = edges - EDGE_S / S_PER_DAY, edges + EDGE_S / S_PER_DAY
    first_margin, last_margin = margin(low), margin(high)
    before = first_margin > 0
    changes = (before != (last_margin > 0)) & (
        np.abs(last_margin - first_margin) >= 2 * EDGE_S * slowest_arcsec_per_s
    )
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        same = (margin(middle) > 0) == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    late_s = (edges - (low + high) / 2)[changes] * S_PER_DAY
    return late_s, dec[owner][changes], edges[changes], int(np.sum(~changes))


def _dark_season(latitude_deg: float, date: dt.date) -> dt.date:
    """Return a date in the same year from which on it gets dark there: autumn by the poles."""
    return date if abs(latitude_deg) < 60.0 else date.replace(month=10 if latitude_deg > 0 else 4, day=10)


def _meridian() -> Iterator[Comparison]:
    """Yield the instants of transit and flip as the hour angle that ERFA has there."""
    late: dict[str, list[FloatArray]] = {"a target's transit": [], "the flip": []}
    sites, declinations, at = [], [], []
    random = np.random.default_rng(77)
    for site in EVERYWHERE:
        ra, dec = random.uniform(0, 360, 40), random.uniform(-80, 80, 40)
        flip_deg = float(random.uniform(-10, 15))
        date = FIRST + dt.timedelta(days=int(random.integers(0, DAYS)))
        tonight = targets_tonight(site, ra, dec, date, flip_deg)
        for name, instants, wanted_deg in (
            ("a target's transit", [one.transit_mjd for one in tonight], 0.0),
            ("the flip", [one.flip_mjd for one in tonight], flip_deg),
        ):
            mjd = np.array(instants, dtype=np.float64)
            late[name].append(wrap_180(_hour_angle_deg(site, ra, dec, mjd) - wanted_deg) * 240.0)
            at.append(mjd)
        sites.append(site.latitude_deg)
        declinations.append(dec)
    cases = Cases(np.array(sites), joined(declinations), joined(at))
    reference, reason = "ERFA's hour angle there, UT1 = UTC in both", _MERIDIAN
    for name, off in late.items():
        yield Comparison("season", "target", name, reference, "s", joined(off), 0.2, reason, cases)


def _hour_angle_deg(site: Site, ra_deg: FloatArray, dec_deg: FloatArray, mjd: FloatArray) -> FloatArray:
    """Return the hour angle of ICRS places by ERFA (apco13, atciq, atioq), without air."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", erfa.ErfaWarning)
        frame, _ = erfa.apco13(
            *(MJD_ZERO, mjd, 0.0, np.radians(site.longitude_deg), np.radians(site.latitude_deg)),
            *(site.elevation_m, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5),
        )
    place = erfa.atciq(np.radians(ra_deg), np.radians(dec_deg), 0.0, 0.0, 0.0, 0.0, frame)
    return np.degrees(erfa.atioq(*place, frame)[2])
