"""What windows are worth: hours west of the flip, highest and lowest altitude."""

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.season.cuts import Windows
from sidelight.sky.refraction import refraction_of_true_deg
from sidelight.sky.site import Site

_LIFT_AT_DEG = np.linspace(-2.0, 90.0, 1841)
"""Every 0.05°: straight between them, refraction is right to 0.1″ from the horizon up."""


def west_deg(found: Windows, flip_hour_angle_deg: float) -> FloatArray:
    """Return how much of each window lies west by the flip rule, degrees of hour angle, shape (w,).

    West runs from the flip to the lower transit, as `sidelight.sky.flip.is_west` says.
    """
    in_a_turn = 180.0 - flip_hour_angle_deg

    def west_until(turned_deg: FloatArray) -> FloatArray:
        past_flip = found.dusk_hour_angle_deg + turned_deg - flip_hour_angle_deg
        turns = np.floor(past_flip * (1.0 / 360.0))
        return np.asarray(turns * in_a_turn + np.minimum(past_flip - 360.0 * turns, in_a_turn))

    return west_until(found.end_deg) - west_until(found.start_deg)


def from_meridian_deg(found: Windows) -> tuple[FloatArray, FloatArray]:
    """Return the smallest and the largest distance in hour angle from upper transit in each window, 0 to 180."""
    start = found.dusk_hour_angle_deg + found.start_deg
    end = found.dusk_hour_angle_deg + found.end_deg
    start_turns, end_turns = start * (1.0 / 360.0), end * (1.0 / 360.0)
    from_start = np.abs(start - 360.0 * np.round(start_turns))
    from_end = np.abs(end - 360.0 * np.round(end_turns))
    transits = np.floor(end_turns) > np.floor(start_turns)
    lower_transits = np.floor(end_turns + 0.5) > np.floor(start_turns + 0.5)
    nearest = np.where(transits, 0.0, np.minimum(from_start, from_end))
    return nearest, np.where(lower_transits, 180.0, np.maximum(from_start, from_end))


def extreme_altitudes_deg(found: Windows, first: IntArray, site: Site) -> tuple[FloatArray, FloatArray]:
    """Return the highest and the lowest apparent altitude in groups of windows of one object and night.

    first : the first window of each group, ascending, shape (k,); the groups cover all windows. Within 0.001° of the
    altitude that the full apparent place gives.
    """
    nearest, farthest = from_meridian_deg(found)
    lift = refraction_of_true_deg(_LIFT_AT_DEG, site.elevation_m)
    sin_dec, latitude = found.sin_dec[first], np.radians(site.latitude_deg)
    along, across = np.sin(latitude) * sin_dec, np.cos(latitude) * np.sqrt(1.0 - sin_dec * sin_dec)

    def apparent_deg(hour_angle_deg: FloatArray) -> FloatArray:
        up = along + across * np.cos(np.radians(hour_angle_deg))
        true_deg = np.degrees(np.arcsin(np.clip(up, -1.0, 1.0)))
        return np.asarray(true_deg + np.interp(true_deg, _LIFT_AT_DEG, lift))

    # the altitude falls all the way from upper to lower transit
    return apparent_deg(np.minimum.reduceat(nearest, first)), apparent_deg(np.maximum.reduceat(farthest, first))
