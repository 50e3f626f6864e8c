"""A year of effective hours for a hundred targets, beside the same integral by dense sampling.

    python benchmarks/bench_light.py

Prints the time for 100 targets in 365 nights with one filter and with seven; then, on a sample of windows, the time
of sampling the weight every 10 s, the difference, and the ratio for one window.
"""

import datetime as dt
import time
from collections.abc import Callable

import numpy as np

from sidelight.light.filters import USUAL_FILTERS
from sidelight.light.hours import EffectiveHours, effective_hours
from sidelight.light.weight import weights
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.sky.brightness import measured_sky
from sidelight.sky.site import Site

SITE = Site("garden", 50.0, 10.0, 300.0, "Europe/Berlin")
SKY = measured_sky(21.0)
TARGETS, NIGHTS = 100, 365
SAMPLE, STEP_S = 60, 10.0


def best_of(times: int, work: Callable[[], object]) -> float:
    """Return the shortest time of some runs, seconds."""
    took = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        took.append(time.perf_counter() - begin)
    return min(took)


def places() -> tuple[np.ndarray, np.ndarray]:
    """Return targets all over the northern sky."""
    random = np.random.default_rng(3)
    return random.uniform(0, 360, TARGETS), np.degrees(np.arcsin(random.uniform(-0.3, 1, TARGETS)))


def worth(table: SeasonTable, rows: np.ndarray, ra: np.ndarray, dec: np.ndarray, filters: int) -> EffectiveHours:
    """Return what all windows are worth in the first filters."""
    chosen = USUAL_FILTERS[:filters]
    return effective_hours(SITE, SKY, chosen, table.start_mjd, table.end_mjd, ra[rows], dec[rows])


def sampled(table: SeasonTable, row: int, window: int, ra: np.ndarray, dec: np.ndarray) -> float:
    """Return one window's effective hours by the middles of short steps."""
    start, end = table.start_mjd[window], table.end_mjd[window]
    count = max(1, round((end - start) * 86400.0 / STEP_S))
    at = start + (np.arange(count) + 0.5) * (end - start) / count
    found = weights(SITE, SKY, USUAL_FILTERS[0], ra[row], dec[row], at)
    return float(np.mean(found)) * (end - start) * 24.0


def main() -> None:
    """Measure and print."""
    ra, dec = places()
    table = target_windows(SITE, ra, dec, dt.date(2027, 1, 1), NIGHTS)
    rows = np.repeat(np.repeat(np.arange(TARGETS), NIGHTS), np.diff(table.offsets))
    one_s = best_of(3, lambda: worth(table, rows, ra, dec, 1))
    seven_s = best_of(1, lambda: worth(table, rows, ra, dec, len(USUAL_FILTERS)))
    print(f"{TARGETS} targets, {NIGHTS} nights, {len(rows)} windows: {one_s:.2f} s, with 7 filters {seven_s:.2f} s")
    found = worth(table, rows, ra, dec, 1)
    some = np.random.default_rng(4).choice(len(rows), SAMPLE, replace=False)
    begin = time.perf_counter()
    dense = np.array([sampled(table, int(rows[window]), int(window), ra, dec) for window in some])
    dense_s = time.perf_counter() - begin
    off_s = 3600.0 * np.abs(found.effective_h[0, some] - dense)
    year = float(np.abs(found.effective_h[0, some].sum() / dense.sum() - 1.0))
    print(f"sampled every {STEP_S:.0f} s: {1e3 * dense_s / SAMPLE:.1f} ms a window")
    print(f"difference: {off_s.max():.2f} s at most, {np.median(off_s):.3f} s typically; of the sum {year:.1e}")
    print(f"error stated by the quadrature: {3600 * found.error_h[0, some].max():.2f} s at most")
    print(f"ratio for one window: {dense_s / SAMPLE / (one_s / len(rows)):.0f}")


if __name__ == "__main__":
    main()
