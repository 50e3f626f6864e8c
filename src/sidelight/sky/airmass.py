"""Airmass: how much air a line of sight crosses, as a multiple of the zenith's.

Each model says whether it wants the apparent (refracted) altitude or the true one. Below its horizon (altitude 0)
there is no line of sight: the answer there is infinity, whose transmission is 0.
"""

import numpy as np

from sidelight.ground.types import FloatArray, Floats


def airmass_kasten_young(apparent_altitude_deg: Floats) -> FloatArray:
    """Return the airmass for an apparent altitude, 0 to 90°, at least 1; infinity below 0; broadcasts.

    Kasten & Young 1989, Applied Optics 28, 4735: the usual choice. Within 0.5 % of their table at every altitude
    (horizon 37.92 for 38.09), within 0.1 % above 4°.
    """
    altitude = np.asarray(apparent_altitude_deg, dtype=np.float64)
    held = np.clip(altitude, 0.0, 90.0)
    air = 1.0 / (np.sin(np.radians(held)) + 0.50572 * (held + 6.07995) ** -1.6364)
    return _above_horizon(air, altitude)


def airmass_pickering(apparent_altitude_deg: Floats) -> FloatArray:
    """Return the airmass for an apparent altitude, 0 to 90°, at least 1; infinity below 0; broadcasts.

    Pickering 2002, DIO 12, 20. Within 0.3 % of Kasten & Young above 5°, 0.8 % above 3°; 38.75 at the horizon.
    """
    altitude = np.asarray(apparent_altitude_deg, dtype=np.float64)
    held = np.clip(altitude, 0.0, 90.0)
    air = 1.0 / np.sin(np.radians(held + 244.0 / (165.0 + 47.0 * held**1.1)))
    return _above_horizon(air, altitude)


def airmass_young(true_altitude_deg: Floats) -> FloatArray:
    """Return the airmass for a *true* (airless) altitude, 0 to 90°, at least 1; infinity below 0; broadcasts.

    Young 1994, Applied Optics 33, 1108; its author gives an error of 0.0037 airmass at the most.
    """
    altitude = np.asarray(true_altitude_deg, dtype=np.float64)
    c = np.sin(np.radians(np.clip(altitude, 0.0, 90.0)))
    above = (1.002432 * c + 0.148386) * c + 0.0096467
    below = ((c + 0.149864) * c + 0.0102963) * c + 0.000303978
    return _above_horizon(above / below, altitude)


def airmass_hardie(apparent_altitude_deg: Floats) -> FloatArray:
    """Return the airmass for an apparent altitude, at least 1; infinity below 3°, where it stops; broadcasts.

    Hardie 1962 (in Hiltner, Astronomical Techniques): the polynomial of older photometry, within 0.1 % to airmass
    6.8 and 1 % to 10, by the SLALIB manual.
    """
    altitude = np.asarray(apparent_altitude_deg, dtype=np.float64)
    excess = 1.0 / np.sin(np.radians(np.clip(altitude, 3.0, 90.0))) - 1.0
    air = 1.0 + excess * (0.9981833 - excess * (0.002875 + 0.0008083 * excess))
    return np.where(altitude >= 3.0, np.maximum(air, 1.0), np.inf)


def _above_horizon(air: FloatArray, altitude: FloatArray) -> FloatArray:
    """Return the airmass held at 1 near the zenith, where fits dip below, and infinite below the horizon."""
    return np.where(altitude >= 0.0, np.maximum(air, 1.0), np.inf)
