"""Sun, Moon and targets for hundreds of thousands of instants at once: slow things tabulated, the sky turned by hand.

Only for weights. Against the exact places of `sky`: targets within 0.001° from 4° up and 0.02° at the horizon, the
Moon within 0.04° at the horizon and 0.003° higher up, the Sun within 0.001°.
"""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import unit_vector
from sidelight.ground.types import FloatArray, IntArray
from sidelight.light.weight import Directions
from sidelight.sky.frames import sidereal_deg, sky_frame
from sidelight.sky.moon import moon_phase, moon_topocentric
from sidelight.sky.refraction import refraction_of_apparent_deg
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_place

_STEP_DAYS = 1.0 / 48.0
_SUN_PARALLAX_DEG = 8.794 / 3600.0
_TURN_DEG_PER_DAY = 360.98564736629
"""Turn of the Earth against the equinox in a day of Universal Time (IAU 1982 sidereal time; 0.1″ a day covers later
models)."""


@dataclass(frozen=True, eq=False)
class SkyTable:
    """Sun and Moon on an even grid of instants: unit vectors of date and the Moon's phase angle, rows (n, 7)."""

    start_mjd: float
    rows: FloatArray

    def at(self, mjd: FloatArray) -> FloatArray:
        """Return rows at instants inside the grid, shape (*mjd.shape, 7), in straight pieces."""
        place = (mjd - self.start_mjd) / _STEP_DAYS
        cell = np.minimum(place.astype(np.int64), len(self.rows) - 2)
        part = (place - cell)[..., None]
        return np.asarray(self.rows[cell] * (1.0 - part) + self.rows[cell + 1] * part)


def sky_table(site: Site, start_mjd: float, end_mjd: float) -> SkyTable:
    """Tabulate Sun and Moon from start to end, half an hour apart (1e-5 of a right angle in straight pieces)."""
    count = int(np.ceil((end_mjd - start_mjd) / _STEP_DAYS)) + 2
    at = start_mjd + _STEP_DAYS * np.arange(count)
    moon_ra, moon_dec, _ = moon_topocentric(at, site)
    moon, sun = unit_vector(moon_ra, moon_dec), unit_vector(*sun_place(at))
    return SkyTable(start_mjd, np.column_stack([moon, sun, moon_phase(at).phase_angle_deg]))


def of_date(ra_deg: FloatArray, dec_deg: FloatArray, mjd: FloatArray) -> FloatArray:
    """Return unit vectors of date, shape (n, 3), for ICRS directions (n,) on the days of instants (n,)."""
    days, row = np.unique(np.floor(mjd), return_inverse=True)
    frame = sky_frame(days + 0.5)
    moved = unit_vector(ra_deg, dec_deg) + frame.earth_velocity_c[row]
    turned = np.einsum("nij,nj->ni", frame.to_date[row], moved)
    return np.asarray(turned / np.linalg.norm(turned, axis=-1, keepdims=True))


def sightlines(site: Site, table: SkyTable, target: FloatArray, mjd: FloatArray, *, with_azimuth: bool) -> Directions:
    """Return the directions for targets, unit vectors of date (n, 3), each at its own instants, shape (n, m)."""
    zenith, north, east = _frame(site, mjd)
    rows = table.at(mjd)
    moon, sun = rows[..., 0:3], rows[..., 3:6]
    # chords are a little short, which close to the Moon would count as an angle
    moon = moon / np.sqrt(_dot(moon, moon))[..., None]
    up = _dot(zenith, target[:, None, :])
    azimuth = None
    if with_azimuth:
        azimuth = np.degrees(np.arctan2(_dot(east, target[:, None, :]), _dot(north, target[:, None, :])))
    return Directions(
        altitude_deg=_seen_deg(up, site),
        azimuth_deg=azimuth,
        sun_altitude_deg=_sun_altitude_deg(_dot(zenith, sun)),
        moon_altitude_deg=_seen_deg(_dot(zenith, moon), site),
        moon_separation_deg=np.asarray(np.degrees(np.arccos(np.clip(_dot(moon, target[:, None, :]), -1.0, 1.0)))),
        moon_phase_angle_deg=rows[..., 6],
    )


def _frame(site: Site, mjd: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the site's zenith, north and east at instants (n, m) as vectors of date, shape (n, m, 3)."""
    middle = mjd[:, mjd.shape[1] // 2]
    turned = sidereal_deg(middle, site.longitude_deg)[:, None] + _TURN_DEG_PER_DAY * (mjd - middle[:, None])
    angle, latitude = np.radians(turned), np.radians(site.latitude_deg)
    c, s, zero = np.cos(angle), np.sin(angle), np.zeros_like(angle)
    up, level = np.sin(latitude), np.cos(latitude)
    return (
        np.stack([level * c, level * s, zero + up], axis=-1),
        np.stack([-up * c, -up * s, zero + level], axis=-1),
        np.stack([-s, c, zero], axis=-1),
    )


def _dot(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return scalar products over the last axis."""
    return np.asarray(np.einsum("...i,...i->...", one, other))


def _sun_altitude_deg(sine: FloatArray) -> FloatArray:
    """Return true altitudes of the Sun with its parallax, which twilight at the edge of night feels by 0.3 %."""
    true = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    return np.asarray(true - _SUN_PARALLAX_DEG * np.cos(np.radians(true)))


def _seen_deg(sine: FloatArray, site: Site) -> FloatArray:
    """Return apparent altitudes for sines of true ones, by two steps of refraction (1″ off at 4°, 1′ at 0°)."""
    true = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    lift = refraction_of_apparent_deg(true, site.elevation_m)
    return np.asarray(true + refraction_of_apparent_deg(true + lift, site.elevation_m))


def ragged(starts: IntArray, counts: IntArray) -> tuple[IntArray, IntArray]:
    """Return (owner, number) of the elements of ragged rows: numbers run from starts[i], counts[i] of them."""
    owner = np.repeat(np.arange(len(counts)), counts)
    first = np.cumsum(counts) - counts
    return owner, np.arange(len(owner)) - first[owner] + starts[owner]
