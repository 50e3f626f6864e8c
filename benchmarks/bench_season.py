"""A year of every deep-sky object behind a 36-point skyline, beside the same windows by an altitude scan.

    python benchmarks/bench_season.py

Prints the time and the peak memory for every real object of OpenNGC (some 12,600) in 365 nights, the Moon and the
dark spans included; then, on a sample of targets and nights, the time of the same windows by astropy altitudes at
every minute, how far the scan's edges lie from the crossings, and the ratio for one target in one night.
"""

import datetime as dt
import subprocess
import sys
import time
import tracemalloc
import warnings
from collections.abc import Callable

import numpy as np

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


def every_object() -> SeasonTable:
    """Return the year of all objects."""
    table = objects()
    return target_windows(site(), table.ra_deg, table.dec_deg, FIRST, NIGHTS)


def peak_mb() -> tuple[float, float]:
    """Return resident memory of a fresh process before the year's work and its peak after it, MB."""
    try:
        import resource
    except ImportError:
        return float("nan"), float("nan")
    unit = 2**20 if sys.platform == "darwin" else 2**10
    objects()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
    every_object()
    return before, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit


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


def seconds(work: Callable[[], object], repeats: int) -> list[float]:
    """Return the times of some calls, sorted."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return sorted(times)


def main() -> None:
    """Print all figures."""
    # before anything else: a child process inherits its parent's peak
    code = "import runpy; print(*runpy.run_path(__import__('sys').argv[1])['peak_mb']())"
    output = subprocess.run([sys.executable, "-c", code, __file__], capture_output=True, text=True, check=True).stdout
    before, peak = (float(word) for word in output.split())
    table = every_object()
    count = table.dark_hours_h.size
    times = seconds(every_object, 5)
    tracemalloc.start()
    kept = every_object()
    kept_bytes, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"targets x nights            {table.dark_hours_h.shape[0]} x {NIGHTS} = {count}")
    print(f"windows                     {len(kept.start_mjd)}")
    print(f"time, best / median of 5    {times[0]:.2f} s / {times[2]:.2f} s (one thread)")
    print(f"peak memory of the process  {peak:.0f} MB ({before:.0f} MB before)")
    print(f"arrays                      {kept_bytes / 1e6:.0f} MB kept, {peak_bytes / 1e6:.0f} MB at the peak")

    random = np.random.default_rng(3)
    often = np.flatnonzero(table.has_window.mean(axis=1) > 0.5)
    rows = random.choice(often, SAMPLE_TARGETS, replace=False)
    nights = random.choice(NIGHTS, SAMPLE_NIGHTS, replace=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        scan(table, rows[:1], nights[:1])
        start = time.perf_counter()
        scanned = scan(table, rows, nights)
        spent = (time.perf_counter() - start) / len(scanned)
    ours = [table.windows(row, number).ravel() for row in rows for number in nights]
    alike = [(a, b) for a, b in zip(ours, scanned, strict=True) if len(a) == len(b)]
    off_s = max(np.max(np.abs(a - b), initial=0.0) * 86400.0 for a, b in alike)
    each = times[2] / count
    print(f"scan by astropy             {spent * 1e3:.0f} ms a target and night, every {SCAN_STEP_MIN:g} min")
    print(f"the same by crossings       {each * 1e6:.3f} us a target and night")
    print(f"ratio                       {spent / each:.0f}")
    print(f"same number of edges in     {len(alike)} of {len(ours)}; farthest edge {off_s:.3f} s from the scan's")

    ten = [Target(str(row), float(objects().ra_deg[row]), float(objects().dec_deg[row])) for row in often[:10]]
    times = seconds(lambda: target_seasons(site(), ten, FIRST), 3)
    print(f"seasons of 10 targets, warm {times[1]:.2f} s")


if __name__ == "__main__":
    main()
