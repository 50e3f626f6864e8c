"""A year of effective hours for a hundred targets, beside dense sampling and scipy's adaptive quadrature."""

import datetime as dt
import sys
import warnings
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from benchmarks.measure import Figure, Words, emit, figure, grow, measured, now

from sidelight.light.filters import USUAL_FILTERS
from sidelight.light.hours import EffectiveHours, effective_hours
from sidelight.light.weight import weights
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.sky.brightness import measured_sky
from sidelight.sky.site import Site

SITE = Site("garden", 50.0, 10.0, 300.0, "Europe/Berlin")
SKY = measured_sky(21.0)
FIRST = dt.date(2027, 1, 1)
TARGETS, NIGHTS = 100, 365
SAMPLE, STEP_S = 60, 10.0
QUAD_SAMPLE = 12


def places(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return targets all over the northern sky."""
    random = np.random.default_rng(3)
    return random.uniform(0, 360, count), np.degrees(np.arcsin(random.uniform(-0.3, 1, count)))


class Windows:
    """The windows of some targets in some nights, each with its target."""

    def __init__(self, targets: int, nights: int) -> None:
        self.ra, self.dec = places(targets)
        self.table: SeasonTable = target_windows(SITE, self.ra, self.dec, FIRST, nights)
        self.rows = np.repeat(np.repeat(np.arange(targets), nights), np.diff(self.table.offsets))

    def worth(self, filters: int = 1) -> EffectiveHours:
        """Return what all windows are worth in the first filters."""
        chosen, table = USUAL_FILTERS[:filters], self.table
        ra, dec = self.ra[self.rows], self.dec[self.rows]
        return effective_hours(SITE, SKY, chosen, table.start_mjd, table.end_mjd, ra, dec)

    def weight(self, window: int, at: np.ndarray) -> np.ndarray:
        """Return the weight at some instants of one window."""
        row = self.rows[window]
        return np.asarray(weights(SITE, SKY, USUAL_FILTERS[0], self.ra[row], self.dec[row], at))

    def sampled_h(self, window: int) -> float:
        """Return one window's effective hours by the middles of short steps."""
        start, end = self.table.start_mjd[window], self.table.end_mjd[window]
        count = max(1, round((end - start) * 86400.0 / STEP_S))
        at = start + (np.arange(count) + 0.5) * (end - start) / count
        return float(np.mean(self.weight(window, at))) * (end - start) * 24.0

    def quad_h(self, window: int) -> float:
        """Return one window's effective hours by scipy's adaptive quadrature, one instant at a time."""
        from scipy.integrate import quad

        start, end = self.table.start_mjd[window], self.table.end_mjd[window]
        value, _ = quad(lambda at: float(self.weight(window, np.array([at]))[0]), start, end, epsrel=1e-4)
        return float(value) * 24.0


def each_s(work: Callable[[int], float], windows: np.ndarray) -> tuple[float, np.ndarray]:
    """Return the time a window and the answers."""
    begin = now()
    found = np.array([work(int(window)) for window in windows])
    return (now() - begin) / len(windows), found


def main() -> None:
    """Measure."""
    Windows(1, 730).worth()
    grow("effective hours of a year", "targets", "target", (10, 30, 100, 300), lambda n: Windows(n, NIGHTS).worth)
    grow("effective hours of 100 targets", "nights", "night", (30, 90, 365, 730), lambda n: Windows(100, n).worth)
    whole = Windows(TARGETS, NIGHTS)
    count = len(whole.rows)
    ours_s, peak_mb = measured(whole.worth)
    size = f"{TARGETS} targets, {NIGHTS} nights, {count:,} windows, 1 filter"
    some = np.random.default_rng(4).choice(count, SAMPLE, replace=False)
    dense_s, dense = each_s(whole.sampled_h, some)
    plain = f"NumPy, the same weight every {STEP_S:.0f} s ({SAMPLE} windows, scaled)"
    emit(Figure("effective hours", size, ours_s, peak_mb, plain, dense_s * count))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        quad_s, _ = each_s(whole.quad_h, some[:QUAD_SAMPLE])
    plain = f"scipy.integrate.quad to 1e-4 ({QUAD_SAMPLE} windows, scaled)"
    emit(Figure("effective hours", size, ours_s, peak_mb, plain, quad_s * count))
    filters = len(USUAL_FILTERS)
    figure("the same in every usual filter", f"{filters} filters", lambda: whole.worth(filters), "none", repeats=1)
    off_s = 3600.0 * np.abs(whole.worth().effective_h[0, some] - dense)
    emit(Words(f"From the dense sampling: {off_s.max():.2f} s a window at most, {np.median(off_s):.3f} s typically."))


if __name__ == "__main__":
    main()
