"""The measured skyline: apparent altitude by azimuth, joined across north."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import wrap_360
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats


@dataclass(frozen=True, eq=False)
class Horizon:
    """A skyline of straight pieces (in azimuth and altitude) between measured points.

    azimuth_deg : true azimuths, north through east, strictly rising in [0, 360), shape (n,), n >= 1.
    altitude_deg : apparent altitudes, shape (n,), each in [-5, 90).
    Between the last and the first point the skyline runs straight across north.
    """

    azimuth_deg: FloatArray
    altitude_deg: FloatArray

    def altitude_at(self, azimuth_deg: Floats) -> FloatArray:
        """Return the skyline's apparent altitude at any azimuths, degrees; the shape of the input."""
        return np.asarray(np.interp(np.asarray(azimuth_deg), self.azimuth_deg, self.altitude_deg, period=360.0))

    @property
    def highest_deg(self) -> float:
        """The highest apparent altitude of the skyline; above it every direction is free."""
        return float(np.max(self.altitude_deg))

    @property
    def lowest_deg(self) -> float:
        """The lowest apparent altitude of the skyline; below it no direction is free."""
        return float(np.min(self.altitude_deg))


FLAT = Horizon(np.array([0.0]), np.array([0.0]))


LOWEST_POINT_DEG, HIGHEST_POINT_DEG = -5.0, 90.0


def horizon_from_points(azimuth_deg: Floats, altitude_deg: Floats, declination_deg: float = 0.0) -> Horizon:
    """Return a Horizon from measured points in any order; magnetic bearings with their declination (east positive).

    Raises BadInput with every problem that `check_points` finds.
    """
    problems = check_points(azimuth_deg, altitude_deg, declination_deg)
    if problems:
        raise BadInput(problems)
    true_azimuth = _true_azimuth(azimuth_deg, declination_deg)
    order = np.argsort(true_azimuth, kind="stable")
    return Horizon(true_azimuth[order], np.atleast_1d(np.asarray(altitude_deg, dtype=np.float64))[order])


def check_points(
    azimuth_deg: Floats, altitude_deg: Floats, declination_deg: float = 0.0, lines: Sequence[int] | None = None
) -> tuple[Problem, ...]:
    """Return every problem of measured horizon points: none, out of range, not finite, an azimuth given twice.

    lines : the line of each point in the person's file, which the problems then carry.
    """
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64))
    altitude = np.atleast_1d(np.asarray(altitude_deg, dtype=np.float64))
    if azimuth.shape != altitude.shape or azimuth.ndim != 1 or not len(azimuth):
        return (
            Problem(
                "The horizon has no points.",
                expected='rows of "azimuth altitude" in degrees',
                suggestion="For a free horizon give one point: 0 0.",
            ),
        )
    if not (np.isfinite(declination_deg) and abs(declination_deg) <= 180):
        return (
            Problem(
                f"The magnetic declination {declination_deg:g}° is out of range.",
                expected="-180 to 180 degrees, east positive; 0 for true azimuths",
            ),
        )
    where = list(lines) if lines is not None else [None] * len(azimuth)
    return (
        *_out_of_range("azimuth", azimuth, (-360.0, 360.0), where),
        *_out_of_range("altitude", altitude, (LOWEST_POINT_DEG, HIGHEST_POINT_DEG), where),
        *_twice(_true_azimuth(azimuth, declination_deg), where),
    )


def _true_azimuth(azimuth_deg: Floats, declination_deg: float) -> FloatArray:
    """Return true azimuths in [0, 360) of bearings."""
    return wrap_360(np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64)) + declination_deg)


def _out_of_range(
    name: str, values: FloatArray, limits: tuple[float, float], where: Sequence[int | None]
) -> list[Problem]:
    """Return a problem for each value that is not finite or out of its limits; an altitude of 90° is out."""
    low, high = limits
    bad = ~np.isfinite(values) | (values < low) | (values > high)
    if name == "altitude":
        bad |= values >= high
    expected = "0 to 360 degrees" if name == "azimuth" else f"{low:g} to below {high:g} degrees"
    return [
        Problem(f"The horizon's {name} {values[row]:g}° is out of range.", line=where[row], expected=expected)
        for row in np.flatnonzero(bad).tolist()
    ]


def _twice(azimuth: FloatArray, where: Sequence[int | None]) -> list[Problem]:
    """Return a problem for each azimuth that a point before it has already."""
    order = np.argsort(azimuth, kind="stable")
    again = order[1:][np.diff(azimuth[order]) == 0]
    return [
        Problem(
            f"The horizon gives azimuth {azimuth[row]:g}° twice.",
            line=where[row],
            expected="each azimuth once; 0 and 360 are the same",
            suggestion="For an upright edge give two azimuths a little apart, such as 120 and 120.1.",
        )
        for row in again.tolist()
    ]
