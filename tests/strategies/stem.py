"""Stems with a guide camera on them, what they see, and how badly a supposed stem fits it.

Of another make than the fit: spherical triangles and ERFA's separations and position angles instead of a projection,
matrices instead of complex numbers, the focal length itself instead of its relative change, derivatives by
differences.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import erfa
import numpy as np
from hypothesis import strategies as st
from scipy.optimize import least_squares

from sidelight.ground.types import FloatArray
from sidelight.ledger.stem_fit import GuideSighting

FOCAL_MM = 1600.0


@dataclass(frozen=True)
class Stem:
    """A stem as it is: quarters and mirrored say how the camera's picture stands against the rig's seating."""

    radius_mm: float = 20.0
    offset_deg: float = 77.0
    tilt_deg: float = 0.0
    quarters: int = 0
    mirrored: bool = False
    focal_mm: float = FOCAL_MM


@dataclass(frozen=True)
class Spot:
    """A star so far out of and aside from the sensor's middle, and by how much its place was read wrongly."""

    out_mm: float
    aside_mm: float
    error_mm: float = 0.01
    wrong_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Supposed:
    """What a fit is told beside the stars."""

    seat_deg: float = 1.0
    focal_error_mm: float = 0.0
    quarters: int = 0
    mirrored: bool = False


def rotated(x: float, y: float, angle_deg: float) -> tuple[float, float]:
    """Turn a point from x towards y."""
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return float(cos * x - sin * y), float(sin * x + cos * y)


def seen_by(stem: Stem, spot: Spot, up_deg: float, centre_deg: tuple[float, float]) -> GuideSighting:
    """Return the star that falls on a spot, and where its camera shows it."""
    x, y = rotated(spot.out_mm, spot.aside_mm, stem.tilt_deg)
    x, y = rotated(stem.radius_mm + x, y, stem.offset_deg)
    away = np.arctan(np.hypot(x, y) / stem.focal_mm)
    angle, dec = np.radians(up_deg) + np.arctan2(y, x), np.radians(centre_deg[1])
    star_dec = np.arcsin(np.sin(dec) * np.cos(away) + np.cos(dec) * np.sin(away) * np.cos(angle))
    east = np.arctan2(np.sin(angle) * np.sin(away) * np.cos(dec), np.cos(away) - np.sin(dec) * np.sin(star_dec))
    along, across = rotated(spot.out_mm, spot.aside_mm, -90.0 * stem.quarters)
    across = -across if stem.mirrored else across
    star = (centre_deg[0] + float(np.degrees(east))) % 360.0, float(np.degrees(star_dec))
    place = along + spot.wrong_mm[0], across + spot.wrong_mm[1]
    return GuideSighting(up_deg, *centre_deg, *star, *place, spot.error_mm)


def sightings_of(stem: Stem, spots: Sequence[Spot]) -> list[GuideSighting]:
    """Return the spots of one stem, each with an image of its own."""
    return [
        seen_by(stem, spot, (40.0 + 190.0 * number) % 360.0, (30.0 + 70.0 * number, 50.0 - 25.0 * (number % 5)))
        for number, spot in enumerate(spots)
    ]


def left_over(values: FloatArray, sightings: Sequence[GuideSighting], supposed: Supposed) -> FloatArray:
    """Return what radius mm, offset °, tilt ° (and focal length mm) leave, in errors: stars, tilt, focal length."""
    radius_mm, offset_deg, tilt_deg = values[:3]
    focal_mm = values[3] if len(values) > 3 else FOCAL_MM
    left = []
    for one in sightings:
        sky = np.radians([one.centre_ra_deg, one.centre_dec_deg, one.star_ra_deg, one.star_dec_deg])
        out_mm = focal_mm * np.tan(erfa.seps(*sky))
        x, y = rotated(out_mm, 0.0, float(np.degrees(erfa.pas(*sky))) - one.up_deg - offset_deg)
        across_mm = -one.across_mm if supposed.mirrored else one.across_mm
        along, across = rotated(one.along_mm, across_mm, 90.0 * supposed.quarters + tilt_deg)
        left += [(radius_mm + along - x) / one.error_mm, (across - y) / one.error_mm]
    left.append(tilt_deg / supposed.seat_deg)
    if len(values) > 3:
        left.append((focal_mm - FOCAL_MM) / supposed.focal_error_mm)
    return np.array(left)


@dataclass(frozen=True, eq=False)
class Least:
    """The stem that fits best: values and errors as in left_over, their correlations, squares, misfit in mm."""

    values: FloatArray
    errors: FloatArray
    correlations: FloatArray
    squares: float
    misfit_mm: float


def least(sightings: Sequence[GuideSighting], supposed: Supposed, near: Stem) -> Least:
    """Search for the best stem near another with derivatives from differences."""
    start = [near.radius_mm, near.offset_deg, near.tilt_deg]
    start += [near.focal_mm] if supposed.focal_error_mm else []
    found = least_squares(
        left_over, start, "3-point", args=(sightings, supposed), x_scale="jac", xtol=1e-13, ftol=None
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    errors = np.sqrt(np.diag(covariance))
    of_stars = found.fun[: 2 * len(sightings)].reshape(-1, 2) * [[one.error_mm] for one in sightings]
    misfit_mm = float(np.sqrt(np.mean(np.sum(of_stars**2, axis=1))))
    return Least(found.x, errors, covariance / np.outer(errors, errors), float(np.sum(found.fun**2)), misfit_mm)


true_stems = st.builds(
    Stem,
    radius_mm=st.floats(4.0, 60.0),
    offset_deg=st.floats(0.0, 360.0),
    tilt_deg=st.floats(-3.0, 3.0),
    quarters=st.integers(0, 3),
    mirrored=st.booleans(),
)
