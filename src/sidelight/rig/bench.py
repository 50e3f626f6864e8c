"""Sky angles as angles on the metal: the bench's conventions, each converted in one place.

Stand behind the telescope, looking through it at the sky. A bench angle runs counter-clockwise from up, and up is
the direction from the dovetail to the tube (fork: away from the drive base, tube on the meridian). At a Newtonian one
looks into the focuser instead, and its bench angle runs counter-clockwise from "towards the open end of the tube".
With a mirror too many (a star diagonal) one looks into the port that the camera sits in, and up is where the mirrors
send what comes down the tube along its up side.

The metal turns with the tube, so that one bench angle serves both sides of the meridian.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.ground.angles import position_angle_deg, wrap_180, wrap_360
from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.guider import guider_of
from sidelight.rig.mount import Side, turn_on_side_deg
from sidelight.rig.records import Mount, Rig

LowEnd = Literal["left", "right", "neither"]

_READING_STEP_DEG = 0.05
"""Half the last digit of an angle gauge: nearer to level or upright than this, no end is the low one."""


@dataclass(frozen=True)
class GaugeReading:
    """What an angle gauge shows on a straight face.

    tilt_deg : from level, 0 to 90. low_end : as seen by who reads the bench angle; "neither" for a face that is level
    or upright to the gauge's last digit.
    """

    tilt_deg: float
    low_end: LowEnd


@dataclass(frozen=True)
class BenchBudget:
    """What the errors of one bench day may add up to, degrees of turn about the axis.

    gauge_deg : the instrument. seat_deg : how it sits on the metal. pointing_deg : the pointing error seen from the
    axis at the stem's radius; the usable rectangle has already given it up. total_deg : their root sum of squares.
    """

    gauge_deg: float
    seat_deg: float
    pointing_deg: float
    total_deg: float


def up_position_angle_deg(mount: Mount, side: Side = "west", *, southern: bool = False) -> float:
    """Return the position angle on the sky of the bench's up, degrees.

    German mount: the dovetail lies along the declination axis, which points east on the sky for targets in the west
    (90°) and west in the east (270°), in both hemispheres. Fork on a wedge: up is towards the pole that the wedge
    points at, 0° in the north and 180° for a southern site. Exact for a mount whose axes stand at right angles.
    """
    if mount.flips:
        return float(wrap_360(90.0 + turn_on_side_deg(mount, side)))
    return 180.0 if southern else 0.0


def sky_of_bench_deg(bench_deg: Floats, rig: Rig, side: Side = "west", *, southern: bool = False) -> FloatArray:
    """Return the position angle that a direction on the metal has on the sky, [0, 360) degrees; any shape.

    The direction itself, not what a thing standing there catches: the focal plane shows the sky turned by 180°.
    An odd number of mirrors reverses the sense of the angle; a Newtonian's counts on from the focuser's position.
    """
    telescope = rig.telescope
    sense = -1.0 if telescope.mirrors % 2 else 1.0
    focuser_deg = telescope.focuser_position_deg if telescope.newtonian else 0.0
    up_deg = up_position_angle_deg(rig.mount, side, southern=southern)
    return wrap_360(up_deg + focuser_deg + sense * np.asarray(bench_deg, dtype=np.float64))


def bench_of_sky_deg(angle_deg: Floats, rig: Rig, side: Side = "west", *, southern: bool = False) -> FloatArray:
    """Return the bench angle of a direction with a position angle on the sky: the inverse of `sky_of_bench_deg`."""
    sense = -1.0 if rig.telescope.mirrors % 2 else 1.0
    zero_deg = sky_of_bench_deg(0.0, rig, side, southern=southern)
    return wrap_360(sense * (np.asarray(angle_deg, dtype=np.float64) - zero_deg))


def stem_bench_deg(guider_angle_deg: Floats, rig: Rig, *, southern: bool = False) -> FloatArray:
    """Return the bench angle of the guider's stem for a guider angle g (as for targets in the west).

    The prism catches the sky on the opposite side. German mount, even mirrors: g + 90°.
    """
    return bench_of_sky_deg(np.asarray(guider_angle_deg, dtype=np.float64) + 180.0, rig, southern=southern)


def guider_angle_deg(stem_deg: Floats, rig: Rig, *, southern: bool = False) -> FloatArray:
    """Return the guider angle g of a stem at a bench angle: the inverse of `stem_bench_deg`."""
    return wrap_360(sky_of_bench_deg(stem_deg, rig, southern=southern) + 180.0)


def camera_bench_deg(camera_angle_deg: Floats, rig: Rig, *, southern: bool = False) -> FloatArray:
    """Return the bench angle of the camera's own top for a camera angle p (as for targets in the west).

    The picture's up is the camera's own top, as with any camera. German mount, even mirrors: p − 90°.
    """
    return bench_of_sky_deg(camera_angle_deg, rig, southern=southern)


def camera_angle_deg(top_deg: Floats, rig: Rig, *, southern: bool = False) -> FloatArray:
    """Return the camera angle p of a camera whose top is at a bench angle: the inverse of `camera_bench_deg`."""
    return sky_of_bench_deg(top_deg, rig, southern=southern)


def camera_width_bench_deg(camera_angle_deg: Floats, rig: Rig, *, southern: bool = False) -> FloatArray:
    """Return the bench angle of the sensor's sides along its width, [0, 180): a line has two ends.

    German mount, even mirrors: p mod 180, so that p = 0 stands the width upright and p = ±90° lays it level.
    """
    return np.asarray(np.mod(camera_bench_deg(camera_angle_deg, rig, southern=southern) + 90.0, 180.0))


def gauge_reading(bench_deg: float) -> GaugeReading:
    """Return what an angle gauge shows on a face along a bench angle, with up straight up.

    So it is with the tube resting on its dovetail on a level table; at a Newtonian with the tube upright, open end up
    (lying, see `gauge_reading_lying`); on a fork with the tube level on the meridian, drive base below, and at no
    other altitude. On a German mount with the counterweight shaft at its lowest and the tube towards the pole, up is
    straight up as seen from behind, but the back leans by the site's latitude: a gauge that does not measure in its
    own plane reads too little there.
    """
    leaning = float(np.mod(bench_deg, 180.0))
    return _reading(abs(90.0 - leaning), "right" if leaning < 90.0 else "left")


def gauge_reading_lying(bench_deg: float, focuser_position_deg: float) -> GaugeReading:
    """Return what the gauge shows at a Newtonian's focuser while the tube lies level on its dovetail.

    Looking into the focuser, the way to the open end is level then, and only as much of a face's lean shows as the
    focuser is turned to the side; straight up or down (0°, 180°) every face is level and the gauge tells nothing.
    """
    drop = np.sin(np.radians(bench_deg)) * np.sin(np.radians(focuser_position_deg))
    tilt = float(np.degrees(np.arcsin(min(1.0, abs(float(drop))))))
    # the end at the bench angle goes down with a positive drop; it is the left one between 0° and 180°
    end_is_left = float(np.mod(bench_deg, 360.0)) < 180.0
    return _reading(tilt, "left" if (drop > 0) == end_is_left else "right")


def _reading(tilt_deg: float, low_end: LowEnd) -> GaugeReading:
    """Return a reading; no end is low when the face is level or upright to the gauge's last digit."""
    plain = tilt_deg < _READING_STEP_DEG or tilt_deg > 90.0 - _READING_STEP_DEG
    return GaugeReading(tilt_deg, "neither" if plain else low_end)


def clock_position(bench_deg: float) -> str:
    """Return a bench angle as an hour hand shows it, "12:00" up and "3:00" to the right, to the minute (0.5°)."""
    minutes = round(float(wrap_360(-bench_deg)) * 2.0) % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"


def bench_of_clock_deg(hours: int, minutes: int = 0) -> float:
    """Return the bench angle of a clock position, [0, 360) degrees: the inverse of `clock_position`."""
    return float(wrap_360(-(hours * 60 + minutes) / 2.0))


def pole_of_date_turn_deg(ra_deg: Floats, dec_deg: Floats, since_2000_years: Floats) -> FloatArray:
    """Return how much greater position angles are against the pole of date than against ICRS north; broadcasts.

    Add it to an ICRS angle to get what the mount, whose axis points at the pole of date, has to hold. In [-180, 180).
    Precession IAU 2006 (ERFA); nutation, left out, adds at most 9″/cos δ. The double-star observer's rule,
    0.0056° × years × sin α / cos δ, is its first term.
    """
    import erfa

    pole = erfa.pmat06(2451545.0, np.asarray(since_2000_years, dtype=np.float64) * 365.25)[..., 2, :]
    pole_ra_deg, pole_dec_deg = np.degrees(erfa.c2s(pole))
    return wrap_180(-position_angle_deg(ra_deg, dec_deg, pole_ra_deg, pole_dec_deg))


def bench_budget(rig: Rig) -> BenchBudget:
    """Return what gauge, seat and pointing use up of a set-up's slack; raises BadInput without a guider."""
    gauge, seat = rig.tolerances.gauge_deg, rig.tolerances.seat_deg
    off_mm = rig.telescope.effective_focal_length_mm * np.tan(np.radians(rig.tolerances.pointing_arcmin / 60.0))
    pointing = float(np.degrees(np.arctan2(off_mm, guider_of(rig).stem_radius_mm)))
    return BenchBudget(gauge, seat, pointing, float(np.sqrt(gauge**2 + seat**2 + pointing**2)))
