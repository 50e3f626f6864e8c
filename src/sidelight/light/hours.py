"""Effective hours: the weight of an instant integrated over windows, for many targets and nights at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.light.filters import Filter
from sidelight.light.sightlines import SkyTable, of_date, ragged, sightlines, sky_table
from sidelight.light.weight import Sensitivity, sensitivity, signal_squared, variance_gain
from sidelight.sky.brightness import TWILIGHT_ENDS_DEG, NightSky
from sidelight.sky.moon import moon_up
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_altitude_deg, sun_below

_NODES = 8
_LEFT_OUT = ((1, 6), (2,))
_BLOCK = 8192
_LOW_MOON_DAYS = 0.75 / 24.0
_NIGHT_DEG = -17.95
_HALVINGS = 4
_PIECE_TOLERANCE_H = 0.002
"""A piece whose error may be more than this (7 s) is halved, so often at the most."""
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


@dataclass(frozen=True, eq=False)
class _Overhead:
    """What all pieces share: site, sky, filters, Sun and Moon, and each window's target as a vector of date."""

    site: Site
    sky: NightSky
    senses: Sequence[Sensitivity]
    table: SkyTable
    towards: FloatArray


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
    Windows are cut where the Moon rises or sets, three quarters of an hour inside, where its light changes fast, and
    where twilight ends; each piece is integrated by eight Gauss-Legendre nodes, and halved while twice the difference
    from rules on six and seven of them is over 7 s. `error_h` is the sum of what is left, and 1e-4 of the value for
    the tabulated geometry. Against sampling every 10 s, a year of a hundred targets is off by less than 1e-5 and a
    window by less than 2 s; more, as stated, where the target passes within 10° of the Moon, for the published model
    has a step there. All that is small beside the Moon model's own 8 to 23 %.
    """
    senses = [
        sensitivity(one, sky, site.elevation_m, floor)
        for one, floor in zip(filters, floors_ratio or [0.0] * len(filters), strict=True)
    ]
    starts, ends = np.asarray(starts_mjd, dtype=np.float64), np.asarray(ends_mjd, dtype=np.float64)
    total = np.zeros((3, len(senses), len(starts)))
    if len(starts):
        towards = of_date(np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64), starts)
        over = _Overhead(site, sky, senses, sky_table(site, float(starts.min()), float(ends.max())), towards)
        owner, low, high = _pieces(site, starts, ends)
        for round_left in reversed(range(_HALVINGS + 1)):
            sums = _integrals(over, owner, low, high)
            good = np.all(sums[2] <= _PIECE_TOLERANCE_H, axis=0) | (round_left == 0)
            for kind, which in np.ndindex(3, len(senses)):
                total[kind, which] += np.bincount(owner[good], sums[kind, which, good], minlength=len(starts))
            owner, low, high = _halved(owner[~good], low[~good], high[~good])
            if not len(owner):
                break
    return EffectiveHours((ends - starts) * 24.0, total[0], total[1], total[2] + _TABLES_SHARE * total[0])


def _halved(owner: IntArray, low: FloatArray, high: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return both halves of each piece."""
    middle = (low + high) / 2.0
    return np.concatenate([owner, owner]), np.concatenate([low, middle]), np.concatenate([middle, high])


def _pieces(site: Site, starts: FloatArray, ends: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return (window, start, end) of the pieces that windows fall into."""
    edges = _edges(site, starts, ends)
    first = np.searchsorted(edges, starts, side="right")
    inside = np.searchsorted(edges, ends, side="left") - first
    inside = np.maximum(inside, 0)
    owner, cut = ragged(first, inside + 1)
    # piece `cut` runs from the edge before it to edge `cut`; a window's first and last piece end with the window
    padded = np.concatenate([edges, [np.inf]])
    low = np.where(cut == first[owner], starts[owner], padded[cut - 1])
    high = np.where(cut == (first + inside)[owner], ends[owner], padded[cut])
    return owner, low, high


def _edges(site: Site, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Return the instants about which the sky's light changes its way, sorted: of the Moon, and of twilight's end.

    Twilight is looked at only where a window reaches into it.
    """
    days = np.unique(np.concatenate([np.floor(starts), np.floor(ends)]))
    up = moon_up(site, days, days + 1.0).spans_mjd
    edges = [up.ravel(), up[:, 0] + _LOW_MOON_DAYS, up[:, 1] - _LOW_MOON_DAYS]
    limits = np.unique(np.concatenate([starts, ends]))
    if np.any(sun_altitude_deg(limits, site) > _NIGHT_DEG):
        edges.append(sun_below(site, days, days + 1.0, TWILIGHT_ENDS_DEG).spans_mjd.ravel())
    return np.unique(np.concatenate(edges))


def _integrals(over: _Overhead, owner: IntArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return hours of pieces, shape (3, filters, pieces): effective, moonless, how far off they may be."""
    blocks = [slice(first, first + _BLOCK) for first in range(0, len(owner), _BLOCK)]
    return np.concatenate([_block(over, owner[part], low[part], high[part]) for part in blocks], axis=-1)


def _block(over: _Overhead, owner: IntArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return `_integrals` of as many pieces as fit into a processor's cache."""
    at, full, rough = _rule()
    half = (high - low) / 2.0
    mjd = (low + high)[:, None] / 2.0 + half[:, None] * at
    where = sightlines(over.site, over.table, over.towards[owner], mjd, with_azimuth=bool(over.sky.glows))
    parts = where.sky_parts(over.sky)
    dark = parts.airglow_nl + parts.twilight_nl + parts.glow_nl
    sums = np.empty((3, len(over.senses), len(low)))
    for which, sense in enumerate(over.senses):
        signal = signal_squared(where.altitude_deg, sense)
        weight = signal * variance_gain(dark + sense.moonlight_factor * parts.moon_nl, over.sky, sense)
        moonless = signal * variance_gain(dark, over.sky, sense)
        apart = np.max(np.abs(weight @ (full[:, None] - rough)), axis=-1)
        sums[:, which] = np.stack([weight @ full, moonless @ full, 2.0 * apart])
    return sums * half * 24.0


@lru_cache(maxsize=1)
def _rule() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return nodes on [−1, 1], their Gauss-Legendre weights, and the weights of two rules on fewer of them, (8, 2).

    One of the two may agree with the full rule by chance, as one wave of the function can fall into step with it.
    """
    at, full = np.polynomial.legendre.leggauss(_NODES)
    rough = np.zeros((_NODES, len(_LEFT_OUT)))
    for which, left_out in enumerate(_LEFT_OUT):
        kept = np.setdiff1d(np.arange(_NODES), left_out)
        # weights that integrate every Legendre polynomial up to the number of nodes: 2 for the first, else 0
        moments = np.zeros(len(kept))
        moments[0] = 2.0
        rough[kept, which] = np.linalg.solve(np.polynomial.legendre.legvander(at[kept], len(kept) - 1).T, moments)
    return at, full, rough
