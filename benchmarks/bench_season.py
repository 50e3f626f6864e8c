"""A year of every deep-sky object behind a 36-point skyline, beside the same windows by an altitude scan."""

import datetime as dt
import sys
import warnings
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.measure import Figure, Words, emit, figure, grow, measured, now

from sidelight.season.windows import SeasonTable, target_windows
from sidelight.season.year import target_seasons
from sidelight.sky.horizon import horizon_from_points
from sidelight.sky.refraction import true_altitude_deg
from sidelight.sky.site import Site
from sidelight.targets.catalogue import objects
from sidelight.targets.records import Target

FIRST = dt.date(2027, 1, 1)
NIGHTS = 365
SCAN_STEP_MIN = 1.0
SAMPLE_TARGETS, SAMPLE_NIGHTS = 4, 3


def site() -> Site:
    """Return an invented garden with 36 points of roofs and trees."""
    heights = 12.0 + 18.0 * np.abs(np.sin(np.arange(36) * 1.7)) + 9.0 * np.cos(np.arange(36) * 0.9)
    horizon = horizon_from_points(np.arange(36) * 10.0, np.maximum(heights, 0.0))
    return Site("garden", 50.0, 10.0, 300.0, "Europe/Berlin", horizon)


def windows_of(rows: np.ndarray, nights: int) -> SeasonTable:
    """Return the windows of some objects."""
    table = objects()
    return target_windows(site(), table.ra_deg[rows], table.dec_deg[rows], FIRST, nights)


def scan(table: SeasonTable, rows: np.ndarray, nights: np.ndarray) -> list[np.ndarray]:
    """Return the windows' edges by astropy altitudes at every step through the dark, an array a target and night."""
    import astropy.units as u
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord
    from astropy.time import Time
    from astropy.utils import iers

    iers.conf.auto_download = False
    iers.conf.auto_max_age = None
    iers.conf.iers_degraded_accuracy = "ignore"
    here, catalogue = site(), objects()
    place = EarthLocation.from_geodetic(here.longitude_deg, here.latitude_deg, here.elevation_m)
    found = []
    for row in rows:
        target = SkyCoord(catalogue.ra_deg[row], catalogue.dec_deg[row], unit="deg")
        for number in nights:
            (start, end), *_ = table.darkness.dark.of(number)
            at = np.append(np.arange(start, end, SCAN_STEP_MIN / 1440.0), end)
            instants = Time(at, format="mjd")
            instants.delta_ut1_utc = 0.0
            seen = target.transform_to(AltAz(obstime=instants, location=place))
            edge = true_altitude_deg(here.lowest_usable_deg(seen.az.deg), here.elevation_m)
            over = seen.alt.to_value(u.deg) - edge
            change = np.flatnonzero((over[1:] > 0) != (over[:-1] > 0))
            # straight between the two instants
            crossings = at[change] + over[change] / (over[change] - over[change + 1]) * (at[change + 1] - at[change])
            ends = [*([start] if over[0] > 0 else []), *crossings, *([end] if over[-1] > 0 else [])]
            found.append(np.array(ends))
    return found


def beside_the_scan(table: SeasonTable, ours_s: float, peak_mb: float | None) -> np.ndarray:
    """Print the figure of the whole year beside astropy's scan of a sample; return objects that are often up."""
    random = np.random.default_rng(3)
    often = np.flatnonzero(table.has_window.mean(axis=1) > 0.5)
    rows = random.choice(often, SAMPLE_TARGETS, replace=False)
    nights = random.choice(NIGHTS, SAMPLE_NIGHTS, replace=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        scan(table, rows[:1], nights[:1])
        start = now()
        scanned = scan(table, rows, nights)
        each_s = (now() - start) / len(scanned)
    count = table.dark_hours_h.size
    size = f"{table.dark_hours_h.shape[0]:,} objects, {NIGHTS} nights"
    plain = f"astropy altitudes every minute of the dark ({len(scanned)} nights of a target scanned, scaled)"
    emit(Figure("a year of windows", size, ours_s, peak_mb, plain, each_s * count))
    ours = [table.windows(row, number).ravel() for row in rows for number in nights]
    alike = [(a, b) for a, b in zip(ours, scanned, strict=True) if len(a) == len(b)]
    off_s = max(np.max(np.abs(a - b), initial=0.0) * 86400.0 for a, b in alike)
    emit(
        Words(
            f"{len(table.start_mjd):,} windows; the scan finds as many edges in {len(alike)} of {len(ours)} "
            f"nights, {off_s:.3f} s away at most."
        )
    )
    return often


def main() -> None:
    """Measure growth, the whole, and the plain way."""
    every = np.arange(len(objects()))
    some = np.random.default_rng(5).permutation(every)

    def of_targets(count: int) -> Callable[[], object]:
        return lambda: windows_of(some[:count], NIGHTS)

    def of_nights(count: int) -> Callable[[], object]:
        return lambda: windows_of(some[:1000], count)

    windows_of(some[:1], 730)  # the Sun and Moon of these nights are kept from then on
    grow("windows of a year", "targets", "target", (10, 100, 1000, 4000, len(every)), of_targets)
    grow("windows of 1,000 targets", "nights", "night", (30, 90, 180, 365, 730), of_nights)
    ours_s, peak_mb = measured(lambda: windows_of(every, NIGHTS), 5)
    table = windows_of(every, NIGHTS)
    often = beside_the_scan(table, ours_s, peak_mb)
    ten = [Target(str(row), float(objects().ra_deg[row]), float(objects().dec_deg[row])) for row in often[:10]]
    none = "none: the same windows, put into sentences"
    figure(
        "the seasons of one's own targets", "10 targets, 365 nights", lambda: target_seasons(site(), ten, FIRST), none
    )


if __name__ == "__main__":
    main()
