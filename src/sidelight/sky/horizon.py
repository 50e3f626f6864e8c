"""The measured skyline: apparent altitude by azimuth, joined across north."""

from dataclasses import dataclass

import numpy as np

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


FLAT = Horizon(np.array([0.0]), np.array([0.0]))


def horizon_from_points(azimuth_deg: Floats, altitude_deg: Floats, declination_deg: float = 0.0) -> Horizon:
    """Return a Horizon from measured points in any order; magnetic bearings with their declination (east positive).

    Raises BadInput for no points, non-finite or out-of-range values, or an azimuth that stands twice.
    """
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64))
    altitude = np.atleast_1d(np.asarray(altitude_deg, dtype=np.float64))
    if azimuth.shape != altitude.shape or not len(azimuth):
        raise BadInput(Problem("The horizon has no points.", expected='rows of "azimuth altitude" in degrees'))
    if not (np.all(np.isfinite(azimuth)) and np.all(np.abs(azimuth) <= 360)):
        raise BadInput(Problem("A horizon azimuth is out of range.", expected="0 to 360 degrees"))
    if not (np.all(np.isfinite(altitude)) and np.all((altitude >= -5) & (altitude < 90))):
        raise BadInput(Problem("A horizon altitude is out of range.", expected="-5 to 90 degrees"))
    true_azimuth = np.mod(azimuth + declination_deg, 360.0)
    order = np.argsort(true_azimuth, kind="stable")
    rising = true_azimuth[order]
    if np.any(np.diff(rising) <= 0):
        twice = float(rising[:-1][np.diff(rising) <= 0][0])
        raise BadInput(
            Problem(
                f"The horizon gives azimuth {twice:g}° twice.",
                expected="each azimuth once",
                suggestion="For an upright edge give two azimuths a little apart, such as 120 and 120.1.",
            )
        )
    return Horizon(rising, altitude[order])
