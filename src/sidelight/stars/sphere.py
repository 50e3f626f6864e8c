"""Directions round a place on the sky."""

import numpy as np

from sidelight.ground.angles import direction_deg, unit_vector
from sidelight.ground.types import FloatArray, Floats


def basis(ra_deg: Floats, dec_deg: Floats) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return unit vectors (..., 3) outwards, to the east and to the north; defined at the poles too."""
    ra, dec = np.radians(ra_deg), np.radians(dec_deg)
    zero = np.zeros(np.broadcast(ra, dec).shape)
    east = np.stack([-np.sin(ra) + zero, np.cos(ra) + zero, zero], axis=-1)
    north = np.stack([-np.sin(dec) * np.cos(ra), -np.sin(dec) * np.sin(ra), np.cos(dec) + zero], axis=-1)
    return unit_vector(ra_deg, dec_deg), east, north


def place_from(
    ra_deg: float, dec_deg: float, away_deg: Floats, position_angle_deg: Floats
) -> tuple[FloatArray, FloatArray]:
    """Return the places at a distance in a direction (north through east) from one place; broadcasts."""
    centre, east, north = basis(ra_deg, dec_deg)
    away, turn = np.broadcast_arrays(np.radians(away_deg), np.radians(position_angle_deg))
    towards = north * np.cos(turn)[..., None] + east * np.sin(turn)[..., None]
    return direction_deg(centre * np.cos(away)[..., None] + towards * np.sin(away)[..., None])
