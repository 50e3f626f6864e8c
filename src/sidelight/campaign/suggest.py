"""Which objects of a catalogue fill hours that are free: overlap of windows with them, framing in bulk, rank."""

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, Floats
from sidelight.season.windows import SeasonTable
from sidelight.sky.altitude import apparent_place
from sidelight.sky.frames import sidereal_deg
from sidelight.sky.site import Site

TURN_DEG_PER_DAY = 360.98564736629


def hours_in(
    table: SeasonTable, site: Site, ra_deg: Floats, dec_deg: Floats, free_mjd: FloatArray, flip_hour_angle_deg: float
) -> tuple[FloatArray, FloatArray]:
    """Return the hours (east, west) of the flip that each target's windows share with free spans, shapes (n,).

    table : windows of n targets at these ICRS places. free_mjd : sorted, disjoint spans, shape (k, 2). The flip is
    placed by the apparent place at the run's middle and mean sidereal rate: right to some seconds over months.
    """
    count, nights = table.dark_hours_h.shape
    owner = np.repeat(np.arange(count), np.add.reduceat(np.diff(table.offsets), np.arange(0, count * nights, nights)))
    if not len(owner) or not len(free_mjd):
        return np.zeros(count), np.zeros(count)
    start, end = table.start_mjd, table.end_mjd
    middle = float(np.median(start))
    ra, _ = apparent_place(np.atleast_1d(ra_deg), np.atleast_1d(dec_deg), middle)
    sidereal = float(sidereal_deg(middle, site.longitude_deg))
    past = np.mod(sidereal + (start - middle) * TURN_DEG_PER_DAY - ra[owner] - flip_hour_angle_deg, 360.0)
    in_west = 180.0 - flip_hour_angle_deg
    begins_west = past < in_west
    first = start + (np.where(begins_west, in_west, 360.0) - past) / TURN_DEG_PER_DAY
    second = first + np.where(begins_west, 360.0 - in_west, in_west) / TURN_DEG_PER_DAY
    cuts = [start, np.minimum(first, end), np.minimum(second, end), end]
    until = [_free_until(free_mjd, one) for one in cuts]
    outer = (until[1] - until[0]) + (until[3] - until[2])
    inner = until[2] - until[1]
    west = np.where(begins_west, outer, inner) * 24.0
    east = np.where(begins_west, inner, outer) * 24.0
    both = (np.bincount(owner, one, minlength=count).astype(np.float64) for one in (east, west))
    return next(both), next(both)


def _free_until(free_mjd: FloatArray, mjd: FloatArray) -> FloatArray:
    """Return the free days before instants, counted from the first span."""
    lengths = free_mjd[:, 1] - free_mjd[:, 0]
    known = np.repeat(np.cumsum(lengths), 2)
    known[0::2] -= lengths
    return np.asarray(np.interp(mjd, free_mjd.ravel(), known))


def fits_frame(
    major_arcmin: Floats,
    minor_arcmin: Floats,
    position_angle_deg: Floats,
    camera_angle_deg: Floats,
    frame_arcmin: tuple[float, float],
) -> BoolArray:
    """Tell whether centred ellipses fit a frame (width, height) at a camera angle; broadcasts.

    major_arcmin, minor_arcmin : full axes. An unknown position angle (NaN) or minor axis counts as a circle. Plane
    geometry: off by less than a thousandth for objects under two degrees.
    """
    major = np.asarray(major_arcmin, dtype=np.float64)
    angle = np.asarray(position_angle_deg, dtype=np.float64)
    round_one = np.isnan(angle) | np.isnan(np.asarray(minor_arcmin, dtype=np.float64))
    minor = np.where(round_one, major, minor_arcmin)
    turned = np.radians(np.where(round_one, 0.0, angle) - np.asarray(camera_angle_deg, dtype=np.float64))
    up = np.hypot(major * np.cos(turned), minor * np.sin(turned))
    across = np.hypot(major * np.sin(turned), minor * np.cos(turned))
    return np.asarray((across <= frame_arcmin[0]) & (up <= frame_arcmin[1]))


def rank(signal_to_noise: Floats, size_arcmin: Floats, wanted_snr: float, frame_short_arcmin: float) -> FloatArray:
    """Return a score between 0 and 1: S / (S + wanted) times a / (a + a third of the frame's shorter side).

    signal_to_noise : on one square arcsecond in the hours there are. size_arcmin : longest axis. Either at its
    reference counts a half; the rest is taste, and a person's own counts more.
    """
    snr, size = np.asarray(signal_to_noise, dtype=np.float64), np.asarray(size_arcmin, dtype=np.float64)
    return np.asarray(snr / (snr + wanted_snr) * size / (size + frame_short_arcmin / 3.0))
