"""A run of nights at one site: dark spans, the Moon, all nights computed together."""

import datetime as dt
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray
from sidelight.sky.moon import moon_phase, moon_up
from sidelight.sky.night import DuskDawn, Night, dusk_dawn_of, nights
from sidelight.sky.site import Site
from sidelight.sky.spells import Spells
from sidelight.sky.sun import sun_below


@dataclass(frozen=True, eq=False)
class DarkNights:
    """Nights in a row and what is the same in them for every target.

    nights : n of them. dark, moon_up : spans of each night. dark_h : dark hours. moon_up_dark_h : of these, with the
    Moon up. moon_illuminated_fraction, moon_phase_angle_deg, moon_waxing : at the night's middle (mean midnight).
    All arrays have shape (n,).
    """

    nights: tuple[Night, ...]
    dark: Spells
    moon_up: Spells
    dark_h: FloatArray
    moon_up_dark_h: FloatArray
    moon_illuminated_fraction: FloatArray
    moon_phase_angle_deg: FloatArray
    moon_waxing: BoolArray

    def dusk_dawn(self, night: int) -> DuskDawn:
        """Return dusk and dawn of one night, by its number from 0."""
        one = self.nights[night]
        return dusk_dawn_of(self.dark.of(night), one.start_mjd, one.end_mjd)


def year_of_darkness(
    site: Site, first_date: dt.date, count: int = 366, sun_limit_deg: float | None = None
) -> DarkNights:
    """Return dark spans and the Moon for `count` nights from a first date, all nights at once.

    The same spans as `dark_spans` and `moon_up_spans` give one by one, to 10 ms.
    """
    run = nights(site, first_date, count)
    start, end = np.array([one.start_mjd for one in run]), np.array([one.end_mjd for one in run])
    limit_deg = site.twilight_deg if sun_limit_deg is None else sun_limit_deg
    dark = sun_below(site, start, end, limit_deg)
    up = moon_up(site, start, end)
    phase = moon_phase((start + end) / 2.0)
    return DarkNights(
        nights=run,
        dark=dark,
        moon_up=up,
        dark_h=dark.lengths_h(),
        moon_up_dark_h=_shared_h(dark, up),
        moon_illuminated_fraction=phase.illuminated_fraction,
        moon_phase_angle_deg=phase.phase_angle_deg,
        moon_waxing=phase.waxing,
    )


def _shared_h(dark: Spells, up: Spells) -> FloatArray:
    """Return the hours of each night that both sets cover, shape (n,)."""
    if not len(up.spans_mjd) or not len(dark.spans_mjd):
        return np.zeros(len(dark.offsets) - 1)
    # hours of Moon since the first night as a function of time: straight between the spans' edges
    covered = np.repeat(np.cumsum(up.spans_mjd[:, 1] - up.spans_mjd[:, 0]), 2)
    covered[0::2] -= up.spans_mjd[:, 1] - up.spans_mjd[:, 0]
    before = np.interp(dark.spans_mjd, up.spans_mjd.ravel(), covered)
    shared = np.concatenate([[0.0], np.cumsum(before[:, 1] - before[:, 0])])
    return np.asarray(np.diff(shared[dark.offsets]) * 24.0)
