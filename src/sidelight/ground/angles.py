"""Angles in degrees: wrapping, differences, great-circle separation and position angle, sexagesimal text."""

import math
import re

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats


def wrap_360(angle_deg: Floats) -> FloatArray:
    """Return the angle in [0, 360) degrees; any shape."""
    wrapped = np.mod(np.asarray(angle_deg, dtype=np.float64), 360.0)
    # np.mod rounds a tiny negative angle up to 360 itself
    return np.where(wrapped >= 360.0, 0.0, wrapped)


def wrap_180(angle_deg: Floats) -> FloatArray:
    """Return the angle in [-180, 180) degrees; any shape."""
    return wrap_360(np.asarray(angle_deg, dtype=np.float64) + 180.0) - 180.0


def turn_deg(from_deg: Floats, to_deg: Floats) -> FloatArray:
    """Return the shortest turn from one angle to another, in [-180, 180) degrees; broadcasts."""
    return wrap_180(np.asarray(to_deg, dtype=np.float64) - np.asarray(from_deg, dtype=np.float64))


def unit_vector(ra_deg: Floats, dec_deg: Floats) -> FloatArray:
    """Return Cartesian unit vectors, shape (..., 3), for directions in degrees."""
    ra, dec = np.broadcast_arrays(np.radians(ra_deg), np.radians(dec_deg))
    return np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)], axis=-1)


def direction_deg(vector: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return (longitude in [0, 360), latitude) in degrees for vectors of shape (..., 3), any length."""
    x, y, z = vector[..., 0], vector[..., 1], vector[..., 2]
    return wrap_360(np.degrees(np.arctan2(y, x))), np.degrees(np.arctan2(z, np.hypot(x, y)))


def separation_deg(ra1_deg: Floats, dec1_deg: Floats, ra2_deg: Floats, dec2_deg: Floats) -> FloatArray:
    """Return the great-circle separation in degrees, [0, 180]; broadcasts.

    The arctangent form is accurate to rounding at every separation, antipodes included
    (Vincenty 1975, Survey Review 23, 88; on a sphere).
    """
    dec1, dec2 = np.radians(dec1_deg), np.radians(dec2_deg)
    dra = np.radians(np.asarray(ra2_deg, dtype=np.float64) - np.asarray(ra1_deg, dtype=np.float64))
    across = np.hypot(
        np.cos(dec2) * np.sin(dra),
        np.cos(dec1) * np.sin(dec2) - np.sin(dec1) * np.cos(dec2) * np.cos(dra),
    )
    along = np.sin(dec1) * np.sin(dec2) + np.cos(dec1) * np.cos(dec2) * np.cos(dra)
    return np.asarray(np.degrees(np.arctan2(across, along)))


def position_angle_deg(
    from_ra_deg: Floats, from_dec_deg: Floats, to_ra_deg: Floats, to_dec_deg: Floats
) -> FloatArray:
    """Return the position angle of the second point seen from the first: north through east, [0, 360)."""
    dec1, dec2 = np.radians(from_dec_deg), np.radians(to_dec_deg)
    dra = np.radians(np.asarray(to_ra_deg, dtype=np.float64) - np.asarray(from_ra_deg, dtype=np.float64))
    east = np.cos(dec2) * np.sin(dra)
    north = np.cos(dec1) * np.sin(dec2) - np.sin(dec1) * np.cos(dec2) * np.cos(dra)
    return wrap_360(np.degrees(np.arctan2(east, north)))


_SEXAGESIMAL = re.compile(
    r"""^\s*(?P<sign>[+\-−])?\s*
    (?P<whole>\d+(?:\.\d*)?)\s*(?P<unit>[h°d:\s]|$)\s*
    (?:(?P<minutes>\d+(?:\.\d*)?)\s*[m′':\s]?\s*)?
    (?:(?P<seconds>\d+(?:\.\d*)?)\s*[s″"]?)?\s*$""",
    re.VERBOSE,
)


_LONGEST_ANGLE = 80


def parse_angle_deg(text: str, *, hours: bool) -> float:
    """Read an angle as people write it and return degrees.

    Accepts a plain number in degrees, or sexagesimal text ("12h 34m 56.7s", "12:34:56.7",
    "+41 16 09", "41°16′09″"). With `hours`, sexagesimal text without a unit is in hours of right ascension.
    Raises BadInput when the text is not an angle or minutes or seconds reach 60.
    """
    plain = " ".join(text.split())
    # among many spaces or digits the pattern would look for very long
    match = _SEXAGESIMAL.match(plain) if len(plain) <= _LONGEST_ANGLE else None
    wanted = 'degrees as a number, or "hh mm ss" for right ascension, "±dd mm ss" for declination'
    if not match:
        raise BadInput(Problem(f'"{text}" is not an angle.', expected=wanted))
    minutes, seconds = (float(match[name] or 0) for name in ("minutes", "seconds"))
    if minutes >= 60 or seconds >= 60:
        raise BadInput(Problem(f'"{text}" has 60 or more minutes or seconds.', expected=wanted))
    value = float(match["whole"]) + minutes / 60 + seconds / 3600
    plain_number = match["minutes"] is None and match["unit"] in ("", None)
    in_hours = match["unit"] == "h" or (hours and not plain_number and match["unit"] not in ("°", "d"))
    value *= 15.0 if in_hours else 1.0
    return -value if match["sign"] in ("-", "−") else value


def _sexagesimal(value: float, decimals: int) -> tuple[int, int, float]:
    """Split a non-negative value into whole, minutes, seconds, rounded once so that 60 never shows."""
    ticks = round(value * 3600 * 10**decimals)
    seconds = (ticks % (60 * 10**decimals)) / 10**decimals
    minutes_total = ticks // (60 * 10**decimals)
    return minutes_total // 60, minutes_total % 60, seconds


def format_ra(ra_deg: float, decimals: int = 1) -> str:
    """Return right ascension as "02h 22m 32.9s"."""
    hours, minutes, seconds = _sexagesimal(float(wrap_360(ra_deg)) / 15, decimals)
    return f"{hours % 24:02d}h {minutes:02d}m {seconds:0{3 + decimals if decimals else 2}.{decimals}f}s"


def format_dec(dec_deg: float, decimals: int = 0) -> str:
    """Return declination as "+42° 20′ 57″"."""
    degrees, minutes, seconds = _sexagesimal(abs(dec_deg), decimals)
    sign = "−" if math.copysign(1.0, dec_deg) < 0 and (degrees or minutes or seconds) else "+"
    return f"{sign}{degrees:02d}° {minutes:02d}′ {seconds:0{3 + decimals if decimals else 2}.{decimals}f}″"
