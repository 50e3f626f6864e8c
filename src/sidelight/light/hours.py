"""Effective hours: the weight of an instant integrated over windows, for many targets and nights at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.light.filters import Filter
from sidelight.light.sightlines import SkyTable, of_date, ragged, sightlines, sky_table
from sidelight.light.weight import Sensitivity, sensitivity, signal_squared, variance_gain
from sidelight.sky.brightness import NightSky
from sidelight.sky.moon import moon_up
from sidelight.sky.site import Site

_NODES = 8
_LEFT_OUT = (1, 6)
_BLOCK = 8192
_LOW_MOON_DAYS = 0.75 / 24.0
_TABLES_SHARE = 1e-4
"""What the tabulated geometry and the places without aberration may add to an integral's error, of its value."""


@dataclass(frozen=True, eq=False)
class EffectiveHours:
    """What windows are worth; n windows, f filters.

    dark_h : (n,) their lengths. effective_h : (f, n). moonless_h : (f, n), the same had there been no Moon.
    error_h : (f, n), how far off an integral may be, not counting the models behind the weight.
    """

    dark_h: FloatArray
    effective_h: FloatArray
    moonless_h: FloatArray
    error_h: FloatArray

    @property
    def moon_cost_share(self) -> FloatArray:
        """What the Moon takes of each window, 0 to 1, shape (f, n); 0 for a window of no worth."""
        return moon_cost_share(self.effective_h, self.moonless_h)


def moon_cost_share(effective_h: FloatArray, moonless_h: FloatArray) -> FloatArray:
    """Return the share of worth that the Moon takes, 0 to 1: 0.78 is "takes 78 %"; 0 where there is no worth."""
    worth = np.asarray(moonless_h, dtype=np.float64)
    kept = np.asarray(effective_h, dtype=np.float64) / np.where(worth > 0, worth, 1.0)
    return np.where(worth > 0, np.clip(1.0 - kept, 0.0, 1.0), 0.0)


def effective_hours(
    site: Site,
    sky: NightSky,
    filters: Sequence[Filter],
    starts_mjd: FloatArray,
    ends_mjd: FloatArray,
    ra_deg: FloatArray,
    dec_deg: FloatArray,
    floors_ratio: Sequence[float] | None = None,
) -> EffectiveHours:
    """Return what windows are worth, each for its own ICRS target.

    Parameters
    ----------
    filters : for each the weights are integrated; the sky's geometry is worked out once for all.
    starts_mjd, ends_mjd, ra_deg, dec_deg : (n,), windows of at most a day, in any order.
    floors_ratio : one for each filter, the camera's own noise (see `Sensitivity`); 0 if None.

    Notes
    -----
    Windows are cut where the Moon rises or sets and three quarters of an hour inside, where its light changes fast,
    and each piece is integrated by eight Gauss-Legendre nodes. `error_h` is the difference from a rule of two nodes
    less, which is far less exact, and 1e-4 of the value for the tabulated geometry. Against sampling every 10 s, a
    year of a hundred targets is off by less than 1e-5, a window by 2 s, unless a Moon passes within 10° of the
    target, where the published model itself has a step. All that is small beside the Moon model's own 8 to 23 %.
    """
    senses = [
        sensitivity(one, sky, site.elevation_m, floor)
        for one, floor in zip(filters, floors_ratio or [0.0] * len(filters), strict=True)
    ]
    starts, ends = np.asarray(starts_mjd, dtype=np.float64), np.asarray(ends_mjd, dtype=np.float64)
    total = np.zeros((3, len(senses), len(starts)))
    if len(starts):
        table = sky_table(site, float(starts.min()), float(ends.max()))
        owner, low, high = _pieces(site, starts, ends)
        towards = of_date(np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64), starts)
        for first in range(0, len(owner), _BLOCK):
            part = slice(first, first + _BLOCK)
            sums = _integrals(site, sky, senses, table, towards[owner[part]], low[part], high[part])
            for kind, which in np.ndindex(3, len(senses)):
                total[kind, which] += np.bincount(owner[part], sums[kind, which], minlength=len(starts))
    return EffectiveHours((ends - starts) * 24.0, total[0], total[1], total[2] + _TABLES_SHARE * total[0])


def _pieces(site: Site, starts: FloatArray, ends: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return (window, start, end) of the pieces that windows fall into: about moonrise and moonset."""
    days = np.unique(np.concatenate([np.floor(starts), np.floor(ends)]))
    up = moon_up(site, days, days + 1.0).spans_mjd
    edges = np.unique(np.concatenate([up.ravel(), up[:, 0] + _LOW_MOON_DAYS, up[:, 1] - _LOW_MOON_DAYS]))
    first = np.searchsorted(edges, starts, side="right")
    inside = np.searchsorted(edges, ends, side="left") - first
    inside = np.maximum(inside, 0)
    owner, cut = ragged(first, inside + 1)
    # piece `cut` runs from the edge before it to edge `cut`; a window's first and last piece end with the window
    padded = np.concatenate([edges, [np.inf]])
    low = np.where(cut == first[owner], starts[owner], padded[cut - 1])
    high = np.where(cut == (first + inside)[owner], ends[owner], padded[cut])
    return owner, low, high


def _integrals(
    site: Site,
    sky: NightSky,
    senses: Sequence[Sensitivity],
    table: SkyTable,
    towards: FloatArray,
    low: FloatArray,
    high: FloatArray,
) -> FloatArray:
    """Return hours of pieces, shape (3, filters, pieces): effective, moonless, difference from the lower rule."""
    at, full, rough = _rule()
    half = (high - low) / 2.0
    mjd = (low + high)[:, None] / 2.0 + half[:, None] * at
    where = sightlines(site, table, towards, mjd, with_azimuth=bool(sky.glows))
    parts = where.sky_parts(sky)
    dark = parts.airglow_nl + parts.twilight_nl + parts.glow_nl
    sums = np.empty((3, len(senses), len(low)))
    for which, sense in enumerate(senses):
        signal = signal_squared(where.altitude_deg, sense)
        weight = signal * variance_gain(dark + sense.moonlight_factor * parts.moon_nl, sky, sense)
        moonless = signal * variance_gain(dark, sky, sense)
        sums[:, which] = np.stack([weight @ full, moonless @ full, np.abs(weight @ (full - rough))])
    return sums * half * 24.0


@lru_cache(maxsize=1)
def _rule() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return nodes on [−1, 1], their Gauss-Legendre weights, and weights of the rule that leaves two nodes out."""
    at, full = np.polynomial.legendre.leggauss(_NODES)
    kept = np.setdiff1d(np.arange(_NODES), _LEFT_OUT)
    # weights that integrate every Legendre polynomial up to the number of nodes: 2 for the first, 0 for the others
    moments = np.zeros(len(kept))
    moments[0] = 2.0
    rough = np.zeros(_NODES)
    rough[kept] = np.linalg.solve(np.polynomial.legendre.legvander(at[kept], len(kept) - 1).T, moments)
    return at, full, rough
