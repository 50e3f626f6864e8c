"""How the guide camera's picture stands, and which stars are on it: all that the spots of one check allow together.

A star's place in the focal plane and its place on the guide sensor differ by a turn and a shift. Each way the picture
can stand, with each choice of stars, either asks for a turn and a shift that the metal can have, or it is out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.types import FloatArray
from sidelight.rig.guider import PICTURE_SIGNS, along_across
from sidelight.rig.records import OffAxisGuider, Picture

STEM_OFF_DEG = 5.0
RADIUS_OFF_MM = 2.0
"""How far the stem may stand off from where it was set, and its radius be wrong, for its picture to be read."""
_TILT_OFF_DEG = 3.0
_TILT_DEG = 1.0
"""How square a guide camera sits to its stem: surely, and usually (common practice: about 1°)."""
_RIVAL = 9.0
"""A reading is out when it fits worse than the best by so many squared errors."""
_KEPT = 300
_TURNS = np.radians(np.arange(-STEM_OFF_DEG - _TILT_OFF_DEG, STEM_OFF_DEG + _TILT_OFF_DEG + 0.01, 0.05))


@dataclass(frozen=True, eq=False)
class SpotChoice:
    """A spot and the stars it may be.

    right_mm, up_mm : on the guide camera's picture, from its middle. outwards_mm, across_mm : of each star in the
    focal plane, from the telescope's axis, along the stem as it is believed to stand and towards greater position
    angles, shape (n,).
    """

    right_mm: float
    up_mm: float
    outwards_mm: FloatArray
    across_mm: FloatArray


@dataclass(frozen=True)
class Reading:
    """One way the picture can stand with one star for each spot; misfit : squared errors."""

    picture: Picture
    stars: tuple[int, ...]
    misfit: float


def readings(
    spots: Sequence[SpotChoice], guider: OffAxisGuider, pictures: Sequence[Picture], error_mm: float
) -> tuple[Reading, ...]:
    """Return every reading that the spots leave possible, the best first; none when nothing fits.

    error_mm : of a spot's place along each axis. A reading has a stem within STEM_OFF_DEG and RADIUS_OFF_MM of what
    is believed, a camera square to it within a few degrees, and fits as well as its errors allow.
    """
    found: list[Reading] = []
    for picture in pictures:
        found += _of_picture(spots, guider, picture, error_mm)
    found.sort(key=lambda one: one.misfit)
    return tuple(one for one in found if one.misfit - found[0].misfit < _RIVAL)


def _of_picture(
    spots: Sequence[SpotChoice], guider: OffAxisGuider, picture: Picture, error_mm: float
) -> list[Reading]:
    """Return the readings of one way, star by star: what does not fit with some spots does not fit with more."""
    right_sign, up_sign = PICTURE_SIGNS[picture]
    partial: list[tuple[tuple[int, ...], float]] = [((), 0.0)]
    seen: list[complex] = []
    worst = _RIVAL + 2.0 * len(spots)
    for number, spot in enumerate(spots):
        along, across = along_across(right_sign * spot.right_mm, up_sign * spot.up_mm, guider)
        seen.append(complex(float(along), float(across)))
        longer = [(*stars, k) for stars, _ in partial for k in range(len(spot.outwards_mm))]
        judged = [
            (stars, _misfit(_places(spots[: number + 1], stars), np.array(seen), guider, error_mm))
            for stars in longer
        ]
        partial = sorted((one for one in judged if one[1] < worst), key=lambda one: one[1])[:_KEPT]
    return [Reading(picture, stars, misfit) for stars, misfit in partial]


def _places(spots: Sequence[SpotChoice], stars: Sequence[int]) -> NDArray[np.complex128]:
    """Return the chosen stars in the focal plane, outwards + i across."""
    return np.array([complex(one.outwards_mm[k], one.across_mm[k]) for one, k in zip(spots, stars, strict=True)])


def _misfit(
    places: NDArray[np.complex128], seen: NDArray[np.complex128], guider: OffAxisGuider, error_mm: float
) -> float:
    """Return the squared errors of the best turn and shift that the metal can have; infinite without one.

    A turn of the picture by stem and tilt, exp(i turn), and the middle of the sensor at radius · exp(i stem).
    """
    turned = np.exp(1j * _TURNS)
    middle = places.mean() - turned * seen.mean()
    stem, radius = np.angle(middle), np.abs(middle)
    tilt_deg = np.degrees(_TURNS - stem)
    left = places - turned[:, None] * seen - middle[:, None]
    squares = np.sum(np.abs(left) ** 2, axis=1) / error_mm**2 + (tilt_deg / _TILT_DEG) ** 2
    can_be = (
        (np.abs(np.degrees(stem)) <= STEM_OFF_DEG)
        & (np.abs(radius - guider.stem_radius_mm) <= RADIUS_OFF_MM)
        & (np.abs(tilt_deg) <= _TILT_OFF_DEG)
    )
    return float(np.min(squares, where=can_be, initial=np.inf))
