"""The dark stretches of many nights as the stars see them: how far the sky turns in each, where objects stand."""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.sky.frames import sidereal_deg, sky_frame
from sidelight.sky.site import Site
from sidelight.sky.spells import Spells

SKY_TURN_DEG_PER_DAY = 360.98564736629
"""Of the mean equinox of date (IAU 1982: 1.00273790935 turns a day)."""


@dataclass(frozen=True, eq=False)
class DarkStretches:
    """All dark stretches of a run of nights, s of them: one a night, or none, or by a pole two.

    night : the number of the night each belongs to. start_mjd : its beginning. length_deg : how far the sky turns
    until its end. sidereal_deg : local apparent sidereal time at its beginning.
    to_date : (3, 3, s), matrices from ICRS to the true equator and equinox at its middle; to_date[i] gives the i-th
    component.
    shift : (3, s), the Earth's velocity as a share of light's, in the same axes.
    """

    night: IntArray
    start_mjd: FloatArray
    length_deg: FloatArray
    sidereal_deg: FloatArray
    to_date: FloatArray
    shift: FloatArray

    def places(self, icrs_directions: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return apparent right ascension (degrees, [-180, 180]) and sin(declination), shape (n, s).

        icrs_directions : unit vectors, shape (n, 3). At each stretch's middle: at its ends, half a night away, the
        place is off by 0.3″ at the most (aberration and precession go on). Light bent by the Sun is left out (0.01″).
        """
        x, y, z = (icrs_directions @ self.to_date[axis] + self.shift[axis] for axis in range(3))
        return np.degrees(np.arctan2(y, x)), z / np.sqrt(x * x + y * y + z * z)


def dark_stretches(site: Site, dark: Spells) -> DarkStretches:
    """Return the dark stretches of a run of nights from their dark spans."""
    start, end = dark.spans_mjd[:, 0], dark.spans_mjd[:, 1]
    frame = sky_frame((start + end) / 2.0)
    counts = np.diff(dark.offsets)
    return DarkStretches(
        night=np.repeat(np.arange(len(counts)), counts),
        start_mjd=start,
        length_deg=(end - start) * SKY_TURN_DEG_PER_DAY,
        sidereal_deg=sidereal_deg(start, site.longitude_deg),
        to_date=np.ascontiguousarray(np.moveaxis(frame.to_date, 0, -1)),
        shift=np.ascontiguousarray(np.einsum("sij,sj->is", frame.to_date, frame.earth_velocity_c)),
    )
