"""Where the guider's stem really is, from guide stars seen on its sensor while the main image was solved.

A star's place in the focal plane follows from the solved image; its place on the guide sensor was read off. The two
differ by where the sensor's footprint lies (stem radius, stem offset) and by how the guide camera is turned about its
own axis. That is a rigid motion of a plane: three unknowns, and each star gives two equations.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import separation_deg, wrap_180, wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray
from sidelight.ledger.estimate import UNLIKELY, Estimate, chance_of

_STEPS = 40
_FARTHEST_DEG = 20.0
_SETTLED = 9.0
"""Another seating of the guide camera is out when it fits worse by this many squared errors (three of them)."""
_SEATINGS = [(quarter, mirrored) for mirrored in (False, True) for quarter in range(4)]


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
    """Stars in the camera's frame (x along up, y towards greater position angle) and on the sensor, shape (n, 2)."""

    plane_mm: FloatArray
    sensor_mm: FloatArray
    error_mm: FloatArray
    seat_deg: float
    focal_error_share: float


@dataclass(frozen=True, eq=False)
class _Solved:
    """Radius mm, offset rad, tilt rad, relative change of focal length; covariance; squared misfit with priors."""

    values: FloatArray
    covariance: FloatArray
    misfit: float
    residual_mm: FloatArray


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
    Gauss-Newton on the weighted squares; the covariance is the inverse of the normal matrix at the solution, good
    while errors are small against the radius. All eight ways to seat a camera (quarter turns, mirrored or not) are
    tried; the rig's own is kept unless another fits better by nine squared errors. Raises BadInput without a
    sighting, or with an error that is not positive.
    """
    _check(sightings, focal_length_mm, seat_deg)
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


def _check(sightings: Sequence[GuideSighting], focal_length_mm: float, seat_deg: float) -> None:
    """Raise BadInput for what cannot be fitted."""
    if not sightings:
        raise BadInput(Problem("No guide star was given.", expected="at least one star with its place on the sensor"))
    if focal_length_mm <= 0 or seat_deg <= 0 or min(one.error_mm for one in sightings) <= 0:
        raise BadInput(
            Problem("The focal length and every error must be positive.", expected="lengths in mm above 0")
        )
    for one in sightings:
        away = float(separation_deg(one.centre_ra_deg, one.centre_dec_deg, one.star_ra_deg, one.star_dec_deg))
        if away > _FARTHEST_DEG:
            raise BadInput(
                Problem(
                    f"A guide star lies {away:.1f}° from the middle of its image; no guider reaches so far.",
                    suggestion="Check which star it was, and which image it belongs to.",
                )
            )


def _data(sightings: Sequence[GuideSighting], focal_mm: float, seat_deg: float, focal_share: float) -> _Data:
    """Return the stars where the solved images put them, and where they were seen."""
    import erfa

    columns = ("star_ra_deg", "star_dec_deg", "centre_ra_deg", "centre_dec_deg", "up_deg")
    star_ra, star_dec, ra, dec, up = (np.radians([getattr(one, name) for one in sightings]) for name in columns)
    xi, eta = erfa.tpxes(star_ra, star_dec, ra, dec)
    rho, away = focal_mm * np.hypot(xi, eta), np.arctan2(xi, eta) - up
    return _Data(
        np.column_stack([rho * np.cos(away), rho * np.sin(away)]),
        np.array([[one.along_mm, one.across_mm] for one in sightings]),
        np.array([one.error_mm for one in sightings]),
        seat_deg,
        focal_share,
    )


def _solve(data: _Data, quarter: int, mirrored: bool) -> _Solved:
    """Fit one seating."""
    seen = data.sensor_mm * ([1.0, -1.0] if mirrored else [1.0, 1.0])
    seen = seen @ _turn(quarter * np.pi / 2).T
    weight = np.repeat(1.0 / data.error_mm, 2)
    priors = np.array([1.0 / np.radians(data.seat_deg), 1.0 / max(data.focal_error_share, 1e-9)])
    # begin as if the camera were square: the angle under which the middle of the stars is seen, twice
    middle, at = data.plane_mm.mean(axis=0), seen.mean(axis=0)
    offset = np.arctan2(middle[1], middle[0])
    radius = max(np.hypot(*middle) - at[0], 1e-3)
    values = np.array([radius, offset - np.arctan2(at[1], radius + at[0]), 0.0, 0.0])
    for _ in range(_STEPS):
        residual, slope = _residual(data, seen, values)
        rows = np.vstack([slope * weight[:, None], np.diag([0.0, 0.0, *priors])[2:]])
        wanted = np.concatenate([-residual.ravel() * weight, -values[2:] * priors])
        step = np.linalg.lstsq(rows, wanted, rcond=None)[0]
        # a step of the angles beyond the linear range would overshoot
        values = values + step * min(1.0, 0.5 / max(1e-12, float(np.abs(step[1:3]).max())))
        if np.abs(step[0]) < 1e-10 * max(1.0, abs(values[0])) and np.abs(step[1:]).max() < 1e-12:
            break
    residual, slope = _residual(data, seen, values)
    rows = np.vstack([slope * weight[:, None], np.diag([0.0, 0.0, *priors])[2:]])
    misfit = float(np.sum((residual.ravel() * weight) ** 2) + np.sum((values[2:] * priors) ** 2))
    return _Solved(values, _inverse(rows), misfit, residual)


def _inverse(rows: FloatArray) -> FloatArray:
    """Return the inverse of the normal matrix; the columns are scaled first, for their units differ widely."""
    scale = np.linalg.norm(rows, axis=0)
    even = rows / scale
    return np.asarray(np.linalg.pinv(even.T @ even) / np.outer(scale, scale))


def _residual(data: _Data, seen: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return (where the fit puts the stars less where they are, mm, shape (n, 2)) and its slopes, shape (2n, 4)."""
    radius, offset, tilt, stretch = values
    outwards = _turn(offset) @ np.array([1.0, 0.0])
    on_sensor = seen @ _turn(offset + tilt).T
    put = radius * outwards + on_sensor
    residual = put - data.plane_mm * (1.0 + stretch)
    slope = np.empty((*residual.shape, 4))
    slope[..., 0] = outwards
    slope[..., 1] = put @ _QUARTER.T
    slope[..., 2] = on_sensor @ _QUARTER.T
    slope[..., 3] = -data.plane_mm
    return residual, slope.reshape(-1, 4)


def _turn(angle: float) -> FloatArray:
    """Return the matrix that turns a column (x, y) counter-clockwise."""
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


_QUARTER = _turn(np.pi / 2)


def _answer(data: _Data, solved: _Solved, seating: tuple[int, bool], settled: bool) -> StemFit:
    """Put the record together and say what rests on what."""
    errors = np.sqrt(np.diag(solved.covariance))
    count = len(data.error_mm)
    tilt_known = errors[2] < 0.5 * np.radians(data.seat_deg)
    determined = bool(settled and count > 1 and tilt_known)
    notes = _notes(data, solved, seating, settled, bool(tilt_known))
    correlation = float(solved.covariance[0, 1] / (errors[0] * errors[1]))
    return StemFit(
        Estimate(float(solved.values[0]), float(errors[0]), None, determined),
        Estimate(float(wrap_360(np.degrees(solved.values[1]))), float(np.degrees(errors[1])), None, determined),
        Estimate(float(wrap_180(np.degrees(solved.values[2]))), float(np.degrees(errors[2])), None, bool(tilt_known)),
        *seating,
        settled,
        determined,
        correlation,
        float(np.sqrt(np.mean(np.sum(solved.residual_mm**2, axis=1)))),
        count,
        notes,
    )


def _notes(
    data: _Data,
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
            f"That the guide camera sits square to its stem, to {data.seat_deg:g}°, is assumed more than measured;"
            " a second star far from the first on the guide sensor measures it."
        )
    chance = chance_of(solved.misfit, 2 * len(data.error_mm) - 3)
    if chance is not None and chance < UNLIKELY:
        notes.append("The stars do not fit together within their errors: a wrong star, or something moved.")
    return tuple(notes)
