"""The one flip rule: which side of the meridian a target counts as, decided by its hour angle."""

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.angles import wrap_180
from sidelight.ground.types import BoolArray, Floats

EAST = "east"
WEST = "west"


def is_west(hour_angle_deg: Floats, flip_hour_angle_deg: Floats = 0.0) -> BoolArray:
    """Tell whether a target counts as west: its hour angle, wrapped to [-180, 180), has reached the flip.

    hour_angle_deg : any angle, wrapped here; flip_hour_angle_deg : where the mount flips, degrees of hour angle past
    the meridian (15 degrees are an hour), negative for a mount that flips before it. Broadcasts.

    The mount flips once, going west. The other change of side, from west to east, is at hour angle ±180° (lower
    transit), where the tube must come back. Exact; common practice, no source.
    """
    return np.asarray(wrap_180(hour_angle_deg) >= np.asarray(flip_hour_angle_deg, dtype=np.float64))


def side_at(hour_angle_deg: Floats, flip_hour_angle_deg: Floats = 0.0) -> NDArray[np.str_]:
    """Return "east" or "west" for each hour angle, by the same rule as `is_west`; broadcasts."""
    return np.asarray(np.where(is_west(hour_angle_deg, flip_hour_angle_deg), WEST, EAST))
