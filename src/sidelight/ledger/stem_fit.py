"""Where the guider's stem really is, from guide stars seen on its sensor while the main image was solved.

A star's place in the focal plane follows from the solved image; its place on the guide sensor was read off. The two
differ by where the sensor's footprint lies (stem radius, stem offset) and by how the guide camera is turned about its
own axis. That is a rigid motion of a plane: three unknowns, and each star gives two equations.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.angles import separation_deg, wrap_180, wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray
from sidelight.ledger.estimate import UNLIKELY, Estimate, chance_of

_Plane = NDArray[np.complex128]
_FARTHEST_DEG = 20.0
_SETTLED = 9.0
"""Another seating of the guide camera is out when it fits worse by this many squared errors (three of them)."""
_MEASURED = 0.5
"""The tilt counts as measured when its error is less than this share of what was assumed."""
_SEATINGS = [(quarter, mirrored) for mirrored in (False, True) for quarter in range(4)]
_CLOSE = 1e-15


@dataclass(frozen=True)
class GuideSighting:
    """One star on the guide sensor while the main camera took an image that was solved.

    up_deg : position angle of that image's up, as it stood (no turn to the other side). centre_ra_deg,
    centre_dec_deg : its middle. star_ra_deg, star_dec_deg : the guide star, ICRS. along_mm, across_mm : its place on
    the guide sensor from the sensor's middle, outwards along the stem and towards greater position angles, as the
    rig's seating has it. error_mm : of that place along each axis, with the errors of the image's
    middle and of guiding in it.
    """

    up_deg: float
    centre_ra_deg: float
    centre_dec_deg: float
    star_ra_deg: float
    star_dec_deg: float
    along_mm: float
    across_mm: float
    error_mm: float


@dataclass(frozen=True)
class StemFit:
    """Where the stem is.

    stem_radius_mm : from the optical axis (the image's middle) to the guide sensor's middle. stem_offset_deg : the
    guider angle less the camera angle, [0, 360). tilt_deg : how far the guide camera is turned out of square.
    quarter_turns, mirrored : how its picture stands against the rig's seating. seating_settled : the stars leave no
    other way. determined : all of it follows from the stars, none from the seat's assumed squareness.
    correlation : between the errors of radius and offset. misfit_mm : root mean square over the stars.
    """

    stem_radius_mm: Estimate
    stem_offset_deg: Estimate
    tilt_deg: Estimate
    quarter_turns: int
    mirrored: bool
    seating_settled: bool
    determined: bool
    correlation: float
    misfit_mm: float
    sightings_count: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Data:
    """Stars in the camera's frame (real part along up) and on the sensor (real part outwards); focal error a share.

    Imaginary parts run towards greater position angles.
    """

    plane_mm: _Plane
    sensor_mm: _Plane
    error_mm: FloatArray
    seat_rad: float
    focal_share: float


@dataclass(frozen=True, eq=False)
class _Solved:
    """Radius mm, offset rad, tilt and focal length in units of their assumed errors; what is left, in errors.

    misfit : the squares of all that is left, assumptions too. spare : how many more equations than unknowns.
    """

    values: FloatArray
    covariance: FloatArray
    misfit: float
    spare: int
    misfit_mm: float


def fit_stem(
    sightings: Sequence[GuideSighting],
    focal_length_mm: float,
    *,
    focal_error_mm: float = 0.0,
    seat_deg: float = 1.0,
    seating_known: bool = False,
) -> StemFit:
    """Return where the stem is, with uncertainties, and say what the stars alone do not settle.

    Parameters
    ----------
    sightings : one at least; two far apart on the sensor, of one side of the meridian or of both, settle all.
    focal_length_mm, focal_error_mm : of the telescope, as the images' scale proves it.
    seat_deg : standard error with which the guide camera sits square to the stem (common practice: about 1°). It
        stands in the fit as one more measurement of the tilt, 0 ± seat_deg.
    seating_known : the places are as the rig's seating has them for certain, and no other is tried.

    Notes
    -----
    Least weighted squares; the covariance is the inverse of the normal matrix at the solution, good while errors are
    small against the radius. All eight ways to seat a camera (quarter turns, mirrored or not) are tried; the rig's
    own is kept unless another fits better by nine squared errors. The tilt counts as measured when its error is less
    than half of seat_deg. Stars whose misfit chance would give once in a hundred times are reported. Raises BadInput
    without a sighting, with an error that is not positive (the focal length's may be nothing), and for a star in the
    middle of its image or more than 20° from it.
    """
    _check(sightings, focal_length_mm, seat_deg, focal_error_mm)
    data = _data(sightings, focal_length_mm, seat_deg, focal_error_mm / focal_length_mm)
    if seating_known:
        return _answer(data, _solve(data, *_SEATINGS[0]), _SEATINGS[0], settled=True)
    solved = {seating: _solve(data, *seating) for seating in _SEATINGS}
    best = min(_SEATINGS, key=lambda seating: solved[seating].misfit)
    usual = _SEATINGS[0]
    if solved[usual].misfit - solved[best].misfit < _SETTLED:
        best = usual
    others = [solved[seating].misfit for seating in _SEATINGS if seating != best]
    settled = min(others) - solved[best].misfit >= _SETTLED
    return _answer(data, solved[best], best, settled)


def _check(
    sightings: Sequence[GuideSighting], focal_length_mm: float, seat_deg: float, focal_error_mm: float
) -> None:
    """Raise BadInput for what cannot be fitted."""
    if not sightings:
        raise BadInput(Problem("No guide star was given.", expected="at least one star with its place on the sensor"))
    if min(focal_length_mm, seat_deg, *(one.error_mm for one in sightings)) <= 0 or focal_error_mm < 0:
        raise BadInput(
            Problem("The focal length and every error must be positive.", expected="lengths in mm above 0")
        )
    for one in sightings:
        away = float(separation_deg(one.centre_ra_deg, one.centre_dec_deg, one.star_ra_deg, one.star_dec_deg))
        if not 0 < away <= _FARTHEST_DEG:
            raise BadInput(
                Problem(
                    f"A guide star lies {away:.1f}° from the middle of its image, where no guider reaches.",
                    suggestion="Check which star it was, and which image it belongs to.",
                )
            )


def _data(sightings: Sequence[GuideSighting], focal_mm: float, seat_deg: float, focal_share: float) -> _Data:
    """Return the stars where the solved images put them, and where they were seen."""
    import erfa

    columns = ("star_ra_deg", "star_dec_deg", "centre_ra_deg", "centre_dec_deg", "up_deg")
    star_ra, star_dec, ra, dec, up = (np.radians([getattr(one, name) for one in sightings]) for name in columns)
    xi, eta = erfa.tpxes(star_ra, star_dec, ra, dec)
    return _Data(
        focal_mm * (eta + 1j * xi) * np.exp(-1j * up),
        np.array([complex(one.along_mm, one.across_mm) for one in sightings]),
        np.array([one.error_mm for one in sightings]),
        float(np.radians(seat_deg)),
        focal_share,
    )


def _solve(data: _Data, quarter: int, mirrored: bool) -> _Solved:
    """Fit one seating."""
    from scipy.optimize import least_squares

    seen = 1j**quarter * (data.sensor_mm.conj() if mirrored else data.sensor_mm)
    # begin as if the stars had been seen in the sensor's middle
    middle = data.plane_mm.mean()
    start = [np.abs(middle), np.angle(middle), 0.0, 0.0]
    found = least_squares(
        _left,
        start,
        jac=_slopes,
        args=(data, seen),
        method="lm",
        x_scale="jac",
        ftol=_CLOSE,
        xtol=_CLOSE,
        gtol=_CLOSE,
    )
    slopes = _slopes(found.x, data, seen)
    left_mm = found.fun[:-2].reshape(2, -1) * data.error_mm
    return _Solved(
        found.x,
        np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64),
        float(found.fun @ found.fun),
        found.fun.size - found.x.size,
        float(np.linalg.norm(left_mm) / np.sqrt(len(seen))),
    )


def _placed(values: FloatArray, data: _Data, seen: _Plane) -> tuple[_Plane, _Plane]:
    """Return the unit vector along the stem, and the stars from the sensor's middle, in the camera's frame."""
    _, offset, tilt, _ = values
    outwards = np.exp(1j * offset)
    return outwards, seen * outwards * np.exp(1j * data.seat_rad * tilt)


def _left(values: FloatArray, data: _Data, seen: _Plane) -> FloatArray:
    """Return what the fit leaves, in errors: of the stars' places, then of the two assumptions."""
    radius, _, _, stretch = values
    outwards, on_sensor = _placed(values, data, seen)
    off_mm = radius * outwards + on_sensor - data.plane_mm * (1.0 + data.focal_share * stretch)
    return np.concatenate([_rows(off_mm, data), values[2:]])


def _slopes(values: FloatArray, data: _Data, seen: _Plane) -> FloatArray:
    """Return the derivatives of what the fit leaves, shape (2n + 2, 4)."""
    outwards, on_sensor = _placed(values, data, seen)
    turning = 1j * (values[0] * outwards + on_sensor)
    columns = (outwards, turning, 1j * data.seat_rad * on_sensor, -data.focal_share * data.plane_mm)
    return np.vstack([np.column_stack([_rows(column, data) for column in columns]), np.eye(4)[2:]])


def _rows(plane_mm: _Plane, data: _Data) -> FloatArray:
    """Return both coordinates of each star in units of its error."""
    in_errors = plane_mm / data.error_mm
    return np.concatenate([in_errors.real, in_errors.imag])


def _answer(data: _Data, solved: _Solved, seating: tuple[int, bool], settled: bool) -> StemFit:
    """Put the record together and say what rests on what."""
    errors = np.sqrt(np.diag(solved.covariance))
    tilt_known = bool(errors[2] < _MEASURED)
    determined = settled and tilt_known
    offset_deg, offset_error_deg = np.degrees([solved.values[1], errors[1]])
    seat_deg = float(np.degrees(data.seat_rad))
    tilt_deg, tilt_error_deg = seat_deg * solved.values[2], seat_deg * errors[2]
    return StemFit(
        stem_radius_mm=Estimate(float(solved.values[0]), float(errors[0]), None, determined),
        stem_offset_deg=Estimate(float(wrap_360(offset_deg)), float(offset_error_deg), None, determined),
        tilt_deg=Estimate(float(wrap_180(tilt_deg)), float(tilt_error_deg), None, tilt_known),
        quarter_turns=seating[0],
        mirrored=seating[1],
        seating_settled=settled,
        determined=determined,
        correlation=float(solved.covariance[0, 1] / np.prod(errors[:2])),
        misfit_mm=solved.misfit_mm,
        sightings_count=len(data.error_mm),
        notes=_notes(seat_deg, solved, seating, settled, tilt_known),
    )


def _notes(
    seat_deg: float,
    solved: _Solved,
    seating: tuple[int, bool],
    settled: bool,
    tilt_known: bool,
) -> tuple[str, ...]:
    """Return what a person should know about the fit."""
    notes = []
    if not settled:
        notes.append(
            "Which way up the guide camera's picture stands is not settled by these stars; it is taken as the rig has"
            " it. Stars in different corners of the guide sensor settle it."
        )
    elif seating != _SEATINGS[0]:
        turned = f"turned by {90 * seating[0]}°" if seating[0] else ""
        shown = " and ".join(part for part in (turned, "mirrored" if seating[1] else "") if part)
        notes.append(f"The guide camera's picture is {shown} against what the rig says.")
    if not tilt_known:
        notes.append(
            f"That the guide camera sits square to its stem, to {seat_deg:g}°, is assumed more than measured;"
            " a second star far from the first on the guide sensor measures it."
        )
    chance = chance_of(solved.misfit, solved.spare)
    if chance is not None and chance < UNLIKELY:
        notes.append("The stars do not fit together within their errors: a wrong star, or something moved.")
    return tuple(notes)
