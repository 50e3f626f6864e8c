"""Refraction in standard air at the site's elevation."""

import numpy as np

from sidelight.ground.types import FloatArray, Floats

_LOWEST_DEG = -1.0
_GONE_DEG = -10.0


def standard_pressure_hpa(elevation_m: Floats) -> FloatArray:
    """Return the pressure of the International Standard Atmosphere, to 11 km: 1013.25 hPa at sea level.

    Source: ICAO Doc 7488 (ISO 2533), lapse rate 6.5 K/km. Weather moves it by some 3 %.
    """
    return np.asarray(1013.25 * (1 - 0.0065 / 288.15 * np.asarray(elevation_m, dtype=np.float64)) ** 5.25588)


def standard_temperature_c(elevation_m: Floats) -> FloatArray:
    """Return the temperature of the International Standard Atmosphere, to 11 km: 15 °C at sea level (ISO 2533)."""
    return np.asarray(15.0 - 0.0065 * np.asarray(elevation_m, dtype=np.float64))


def air_factor(elevation_m: Floats) -> FloatArray:
    """Return how much standard air at this elevation refracts, as a factor on air of 1010 hPa and 10 °C.

    Source: Meeus, Astronomical Algorithms 2nd ed., p. 107: P/1010 × 283/(273 + T).
    """
    return standard_pressure_hpa(elevation_m) / 1010.0 * 283.0 / (273.0 + standard_temperature_c(elevation_m))


def refraction_of_apparent_deg(apparent_altitude_deg: Floats, elevation_m: Floats = 0.0) -> FloatArray:
    """Return how far the air has lifted what is seen at an apparent altitude, degrees, never negative; broadcasts.

    True altitude = apparent altitude − this. Good to 0.07′ of Garfinkel's theory from the horizon up, for the
    standard air (Bennett 1982, Journal of Navigation 35, 255; Meeus, formula 16.3); real air near the horizon differs
    by whole arcminutes. Below −1° the formula means nothing: it fades straight to 0 at −10°, so that the apparent
    altitude stays a rising function of the true one.
    """
    apparent = np.asarray(apparent_altitude_deg, dtype=np.float64)
    at = np.clip(apparent, _LOWEST_DEG, 90.0)
    bennett_arcmin = 1.0 / np.tan(np.radians(at + 7.31 / (at + 4.4)))
    fade = np.clip((apparent - _GONE_DEG) / (_LOWEST_DEG - _GONE_DEG), 0.0, 1.0)
    return np.asarray(np.maximum(bennett_arcmin, 0.0) / 60.0 * fade * air_factor(elevation_m))


def refraction_of_true_deg(true_altitude_deg: Floats, elevation_m: Floats = 0.0) -> FloatArray:
    """Return how far the air will lift what stands at a true (airless) altitude, degrees; broadcasts.

    Apparent altitude = true altitude + this. The exact inverse of `refraction_of_apparent_deg`, to 1e-9°: the two
    are one model, so that a place on the skyline is found alike from either side.
    """
    true = np.asarray(true_altitude_deg, dtype=np.float64)
    lift = refraction_of_apparent_deg(true, elevation_m)
    # Newton's steps, slopes by differences; the curve is smooth but for the corner at -1°
    for _ in range(8):
        apparent = true + lift
        slope = (
            refraction_of_apparent_deg(apparent + 5e-5, elevation_m)
            - refraction_of_apparent_deg(apparent - 5e-5, elevation_m)
        ) / 1e-4
        miss = refraction_of_apparent_deg(apparent, elevation_m) - lift
        lift = lift + miss / (1.0 - slope)
        if not np.any(np.abs(miss) > 1e-11):
            break
    return np.asarray(lift)


def apparent_altitude_deg(true_altitude_deg: Floats, elevation_m: Floats = 0.0) -> FloatArray:
    """Return the altitude at which a thing is seen, degrees, from its true one; broadcasts."""
    return np.asarray(true_altitude_deg, dtype=np.float64) + refraction_of_true_deg(true_altitude_deg, elevation_m)


def true_altitude_deg(apparent_altitude_deg: Floats, elevation_m: Floats = 0.0) -> FloatArray:
    """Return the true (airless) altitude of what is seen at an apparent one, degrees; broadcasts."""
    lift = refraction_of_apparent_deg(apparent_altitude_deg, elevation_m)
    return np.asarray(apparent_altitude_deg, dtype=np.float64) - lift
