"""The focal plane: pixel scale, field, and the sky projected on it, in millimetres drawn as on the sky."""

import numpy as np

from sidelight.ground.angles import wrap_360
from sidelight.ground.types import FloatArray, Floats

ARCSEC_PER_RAD = 206264.80624709636


def pixel_scale_arcsec(focal_length_mm: Floats, pixel_um: Floats) -> FloatArray:
    """Return the angle that one pixel at the centre of the field covers, arcseconds; broadcasts.

    A length over a length, in radians: exact on the axis; at the edge of a 3° field a pixel covers 0.2 % less.
    """
    return np.asarray(ARCSEC_PER_RAD * np.asarray(pixel_um, dtype=np.float64) / 1000.0 / np.asarray(focal_length_mm))


def field_deg(focal_length_mm: Floats, size_mm: Floats) -> FloatArray:
    """Return the angle that a centred length in the focal plane spans on the sky, degrees; broadcasts. Exact."""
    half = np.asarray(size_mm, dtype=np.float64) / 2.0 / np.asarray(focal_length_mm, dtype=np.float64)
    return np.asarray(2.0 * np.degrees(np.arctan(half)))


def plane_mm(
    ra_deg: Floats, dec_deg: Floats, ra0_deg: Floats, dec0_deg: Floats, focal_mm: Floats
) -> tuple[FloatArray, FloatArray]:
    """Return where directions fall in the focal plane: (X to the east, Y to the north) of the pointing, mm.

    ra_deg, dec_deg : the directions; ra0_deg, dec0_deg : the pointing; all broadcast.
    A direction 90° or more from the pointing never falls there: X and Y are infinite.

    Gnomonic projection (FITS WCS "TAN", Calabretta & Greisen 2002), exact for optics without distortion; held
    against ERFA's tpxes and astropy's WCS.
    """
    dec, dec0 = np.radians(dec_deg), np.radians(dec0_deg)
    across = np.radians(np.asarray(ra_deg, dtype=np.float64) - np.asarray(ra0_deg, dtype=np.float64))
    ahead = np.sin(dec) * np.sin(dec0) + np.cos(dec) * np.cos(dec0) * np.cos(across)
    seen = ahead > 1e-9
    scale = np.asarray(focal_mm, dtype=np.float64) / np.where(seen, ahead, 1.0)
    x_mm = scale * np.cos(dec) * np.sin(across)
    y_mm = scale * (np.sin(dec) * np.cos(dec0) - np.cos(dec) * np.sin(dec0) * np.cos(across))
    return np.where(seen, x_mm, np.inf), np.where(seen, y_mm, np.inf)


def sky_deg(
    x_mm: Floats, y_mm: Floats, ra0_deg: Floats, dec0_deg: Floats, focal_mm: Floats
) -> tuple[FloatArray, FloatArray]:
    """Return the direction (ra in [0, 360), dec, degrees) that falls at (X east, Y north) mm; broadcasts.

    The exact inverse of `plane_mm` for finite places.
    """
    focal = np.asarray(focal_mm, dtype=np.float64)
    xi, eta = np.asarray(x_mm, dtype=np.float64) / focal, np.asarray(y_mm, dtype=np.float64) / focal
    dec0 = np.radians(dec0_deg)
    towards_equator = np.cos(dec0) - eta * np.sin(dec0)
    north = np.sin(dec0) + eta * np.cos(dec0)
    ra = np.asarray(ra0_deg, dtype=np.float64) + np.degrees(np.arctan2(xi, towards_equator))
    return wrap_360(ra), np.asarray(np.degrees(np.arctan2(north, np.hypot(xi, towards_equator))))


def rho_q(x_mm: Floats, y_mm: Floats) -> tuple[FloatArray, FloatArray]:
    """Return (distance from the axis in mm, position angle q in [0, 360) degrees) of places in the plane.

    At the axis itself q is 0.
    """
    x, y = np.asarray(x_mm, dtype=np.float64), np.asarray(y_mm, dtype=np.float64)
    return np.asarray(np.hypot(x, y)), wrap_360(np.degrees(np.arctan2(x, y)))
