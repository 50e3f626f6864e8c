"""What several solved images say together: how far the camera stands from its plan, and how far the flip is off.

Weighted linear least squares throughout. The stem of the guider has a module of its own, stem_fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import wrap_180
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray
from sidelight.ledger.estimate import UNLIKELY, Estimate, fit_linear
from sidelight.ledger.turns import Side, as_in_west_deg

_TURNED_OVER_DEG = 90.0


@dataclass(frozen=True)
class MeasuredAngle:
    """A solved image beside its plan.

    true_up_deg : position angle of the picture's up as measured. planned_deg : the camera angle planned, as in the
    west. error_deg : of the difference; None when nothing is known about it, then the scatter of the images tells.
    """

    true_up_deg: float
    planned_deg: float
    side: Side = "west"
    error_deg: float | None = None


@dataclass(frozen=True)
class RotationOffset:
    """The camera angle on the sky less the planned one.

    offset_deg : of all images, [-180, 180). flip_deg : how much greater it is in the west than in the east; an ideal
    mount has 0, and ±180 means that a side was named wrongly or that the mount did not flip. None without both sides.
    """

    offset_deg: Estimate
    flip_deg: Estimate | None
    images_count: int
    notes: tuple[str, ...] = ()


def rotation_offset(angles: Sequence[MeasuredAngle]) -> RotationOffset:
    """Return how far the camera stands from its plan; raises BadInput without an image.

    The images' offsets are averaged on the circle, weighted when every one has an error. Images more than a quarter
    turn from the first stand on their heads, which is noted.
    """
    if not angles:
        raise BadInput(Problem("No solved image was given.", expected="at least one"))
    each = np.array([as_in_west_deg(one.true_up_deg, one.side) - one.planned_deg for one in angles])
    off = wrap_180(each - each[0])
    errors = [one.error_deg for one in angles]
    fitted = fit_linear(np.ones((len(angles), 1)), off, errors)
    mean = fitted.estimate(0)
    offset = Estimate(float(wrap_180(each[0] + mean.value)), mean.error, mean.degrees_of_freedom)
    notes = []
    if np.any(np.abs(off) > _TURNED_OVER_DEG):
        notes.append(
            "Some images stand on their heads against the others: a side of the meridian was named wrongly, or the"
            " mount did not flip. The mean means nothing until that is settled."
        )
    elif fitted.chance is not None and fitted.chance < UNLIKELY:
        notes.append("The images differ by more than their errors: something turned between them.")
    if mean.error is None:
        notes.append("One image says nothing about the error; a second one does.")
    return RotationOffset(offset, _flip(angles, each, errors), len(angles), tuple(notes))


def _flip(angles: Sequence[MeasuredAngle], each: FloatArray, errors: Sequence[float | None]) -> Estimate | None:
    """Return west less east, [-180, 180), or None when one side is missing."""
    west = np.array([one.side == "west" for one in angles])
    east = np.array([one.side == "east" for one in angles])
    if not (west.any() and east.any()):
        return None
    both = west | east
    # each side from its own first image, lest sides half a turn apart fall on both ends of the circle
    first = np.where(west, each[west][0], each[east][0])
    design = np.column_stack([np.ones(both.sum()), west[both]]).astype(np.float64)
    kept = [error for error, use in zip(errors, both, strict=True) if use]
    more = fit_linear(design, wrap_180(each - first)[both], kept).estimate(1)
    apart_deg = float(wrap_180(each[west][0] - each[east][0] + more.value))
    return Estimate(apart_deg, more.error, more.degrees_of_freedom)


@dataclass(frozen=True)
class MeasuredPointing:
    """Where the mount was told to point, and where the solved image says it did; ICRS, without centring in between.

    error_arcmin : of the pointing, along each axis; None when nothing is known about it.
    """

    asked_ra_deg: float
    asked_dec_deg: float
    true_ra_deg: float
    true_dec_deg: float
    side: Side
    error_arcmin: float | None = None


@dataclass(frozen=True)
class FlipPointing:
    """How the pointing differs between the sides of the meridian, arcminutes.

    cone_arcmin : half of (how far east of the asked place the field lies in the west, less the same in the east): the
    angle by which the optical axis misses a right angle to the declination axis. declination_arcmin : half of the
    same towards the north, the zero of the declination circle. determined only with images on both sides.
    """

    cone_arcmin: Estimate
    declination_arcmin: Estimate
    images_count: int
    notes: tuple[str, ...] = ()


def flip_pointing(pointings: Sequence[MeasuredPointing]) -> FlipPointing:
    """Return the cone error and its companion from images on both sides; raises BadInput without an image.

    First-order model of an equatorial mount's pointing: east-west, a zero of the hour-angle circle times cos δ plus
    the cone error with the side's sign; north-south, a constant plus the declination zero with the side's sign.
    What an axis that is not square to the other adds (in proportion to sin δ) and the pole's misplacement go into the
    cone error: take images of like declination on both sides. Between the two sides the mount must not be
    synchronised, for that takes the difference away.
    """
    if not pointings:
        raise BadInput(Problem("No solved image was given.", expected="at least one on each side of the meridian"))
    dec = np.radians([one.asked_dec_deg for one in pointings])
    east = 60.0 * np.cos(dec) * wrap_180([one.true_ra_deg - one.asked_ra_deg for one in pointings])
    north = 60.0 * np.array([one.true_dec_deg - one.asked_dec_deg for one in pointings])
    sign = np.array([{"west": 1.0, "east": -1.0, "any": 0.0}[one.side] for one in pointings])
    errors = [one.error_arcmin for one in pointings]
    across = fit_linear(np.column_stack([np.cos(dec), sign]), east, errors)
    along = fit_linear(np.column_stack([np.ones(len(sign)), sign]), north, errors)
    notes = []
    both = {"east", "west"} <= {one.side for one in pointings}
    cone, declination = across.estimate(1), along.estimate(1)
    if not both:
        notes.append("Both sides of the meridian are needed; with one alone cone error cannot be told from a sync.")
        cone, declination = (
            Estimate(part.value, None, part.degrees_of_freedom, determined=False) for part in (cone, declination)
        )
    elif cone.error is None:
        notes.append("Two images say nothing about the error; a third one does.")
    chances = [part.chance for part in (across, along) if part.chance is not None]
    if any(chance < UNLIKELY for chance in chances):
        notes.append("The images differ by more than their errors: was the mount synchronised between them?")
    return FlipPointing(cone, declination, len(pointings), tuple(notes))
