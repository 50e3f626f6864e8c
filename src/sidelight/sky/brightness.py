"""The night sky's own light in V: airglow, Moon, twilight, a town's glow; and the zenith it is measured against.

Brightness is in nanolamberts (nL) between functions, so that parts add; magnitudes per square arcsecond at the edges.
"""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.airmass import airmass_kasten_young
from sidelight.sky.extinction import clear_v_mag_per_airmass

_NL_SCALE, _NL_OFFSET, _NL_SLOPE = 34.08, 20.7233, 0.92104
_GLOW_FALLS_IN_DEG = 20.0
_MOON_RADIUS_DEG = 0.26
_TWILIGHT_FROM_DEG, _TWILIGHT = 95.0, (11.84, 1.518, -0.057)
_TWILIGHT_ENDS = -_TWILIGHT[1] / (2 * _TWILIGHT[2])
TWILIGHT_ENDS_DEG = 90.0 - _TWILIGHT_FROM_DEG - _TWILIGHT_ENDS
"""True altitude of the Sun below which `twilight_nl` is 0: −18.3°."""


@dataclass(frozen=True)
class Glow:
    """A town's light over one direction, from one measurement on a moonless night.

    azimuth_deg : where the town lies. sky_mag_arcsec2 : the whole sky's brightness measured at altitude_deg in that
    direction. width_deg : how wide it is along the horizon, at half its strength.
    """

    azimuth_deg: float
    sky_mag_arcsec2: float
    altitude_deg: float = 30.0
    width_deg: float = 60.0


@dataclass(frozen=True)
class NightSky:
    """How dark a site is on a moonless night.

    zenith_mag_arcsec2 : V brightness of the moonless zenith, with its uncertainty (one sigma) and where it is from.
    extinction_mag_per_airmass : in V. glows : of towns, beyond what the zenith shows.
    """

    zenith_mag_arcsec2: float
    uncertainty_mag: float
    source: str
    extinction_mag_per_airmass: float
    glows: tuple[Glow, ...] = ()

    @property
    def zenith_nl(self) -> float:
        """The moonless zenith in nanolamberts."""
        return float(nl_from_mag(self.zenith_mag_arcsec2))


@dataclass(frozen=True, eq=False)
class SkyParts:
    """The sky's V brightness in some directions, part by part, nL; the arrays broadcast against each other."""

    airglow_nl: FloatArray
    moon_nl: FloatArray
    twilight_nl: FloatArray
    glow_nl: FloatArray

    @property
    def total_nl(self) -> FloatArray:
        """All parts together."""
        return np.asarray(self.airglow_nl + self.moon_nl + self.twilight_nl + self.glow_nl)


DARKNESS_CLASSES: tuple[tuple[float, float], ...] = (
    (21.9, 0.2),
    (21.7, 0.2),
    (21.4, 0.3),
    (20.8, 0.5),
    (19.8, 0.6),
    (18.9, 0.5),
    (18.2, 0.5),
    (17.6, 0.6),
    (17.0, 0.8),
)
"""Zenith V brightness and its uncertainty for darkness classes 1 (darkest) to 9 of Bortle (Sky & Telescope, February
2001). The article itself gives no brightness: these are middles of the ranges that later became customary (from
memory), and the eye's judgement of a class adds to the uncertainty. A measurement is always better."""


def measured_sky(
    zenith_mag_arcsec2: float,
    uncertainty_mag: float = 0.1,
    *,
    extinction_mag_per_airmass: float | None = None,
    elevation_m: float = 0.0,
    glows: tuple[Glow, ...] = (),
) -> NightSky:
    """Return the sky of a measured zenith; extinction None takes an ordinary clear night's at the elevation.

    Raises BadInput with every problem of `check_night_sky`. A hand-held meter is good to 0.1 mag (common practice).
    """
    k = (
        float(clear_v_mag_per_airmass(elevation_m))
        if extinction_mag_per_airmass is None
        else extinction_mag_per_airmass
    )
    sky = NightSky(zenith_mag_arcsec2, uncertainty_mag, "measured at the zenith", k, glows)
    problems = check_night_sky(sky)
    if problems:
        raise BadInput(problems)
    return sky


def sky_of_class(
    darkness_class: int,
    *,
    extinction_mag_per_airmass: float | None = None,
    elevation_m: float = 0.0,
    glows: tuple[Glow, ...] = (),
) -> NightSky:
    """Return the sky of a darkness class, 1 to 9, with its large uncertainty; raises BadInput for another number."""
    if darkness_class not in range(1, len(DARKNESS_CLASSES) + 1):
        raise BadInput(
            Problem(
                f"There is no darkness class {darkness_class}.",
                key="darkness_class",
                expected="a whole number from 1 (darkest) to 9 (city)",
                suggestion="Better, give the measured zenith brightness in mag/arcsec².",
            )
        )
    zenith, uncertainty = DARKNESS_CLASSES[darkness_class - 1]
    k = (
        float(clear_v_mag_per_airmass(elevation_m))
        if extinction_mag_per_airmass is None
        else extinction_mag_per_airmass
    )
    source = f"darkness class {darkness_class}, by custom {zenith:g} ± {uncertainty:g} mag/arcsec²; not a measurement"
    return NightSky(zenith, uncertainty, source, k, glows)


def check_night_sky(sky: NightSky) -> tuple[Problem, ...]:
    """Return everything that is wrong with a night sky, each with its key; none is an empty tuple."""
    values = {
        "zenith_mag_arcsec2": (sky.zenith_mag_arcsec2, 10.0, 23.0),
        "uncertainty_mag": (sky.uncertainty_mag, 0.0, 5.0),
        "extinction_mag_per_airmass": (sky.extinction_mag_per_airmass, 0.0, 2.0),
    }
    for number, glow in enumerate(sky.glows):
        values[f"glows[{number}].azimuth_deg"] = (glow.azimuth_deg, -360.0, 360.0)
        values[f"glows[{number}].sky_mag_arcsec2"] = (glow.sky_mag_arcsec2, 8.0, 23.0)
        values[f"glows[{number}].altitude_deg"] = (glow.altitude_deg, 0.0, 90.0)
        values[f"glows[{number}].width_deg"] = (glow.width_deg, 1.0, 360.0)
    return tuple(
        Problem(f"{value:g} is out of range.", key=key, expected=f"{low:g} to {high:g}")
        for key, (value, low, high) in values.items()
        if not low <= value <= high
    )


def nl_from_mag(brightness_mag_arcsec2: Floats) -> FloatArray:
    """Return nanolamberts for V mag/arcsec²; any shape. Krisciunas & Schaefer 1991, eq. 1 (Garstang 1986)."""
    return np.asarray(
        _NL_SCALE * np.exp(_NL_OFFSET - _NL_SLOPE * np.asarray(brightness_mag_arcsec2, dtype=np.float64))
    )


def mag_from_nl(brightness_nl: Floats) -> FloatArray:
    """Return V mag/arcsec² for nanolamberts above 0; any shape. The inverse of `nl_from_mag`."""
    return np.asarray((_NL_OFFSET - np.log(np.asarray(brightness_nl, dtype=np.float64) / _NL_SCALE)) / _NL_SLOPE)


def sky_airmass(zenith_distance_deg: Floats) -> FloatArray:
    """Return the path through a glowing or scattering layer, 1 at the zenith to 5 at the horizon; any shape.

    Krisciunas & Schaefer 1991, eq. 3. It belongs to that model; for a star's extinction use `sky.airmass`.
    """
    held = np.radians(np.clip(np.asarray(zenith_distance_deg, dtype=np.float64), 0.0, 90.0))
    return np.asarray((1.0 - 0.96 * np.sin(held) ** 2) ** -0.5)


def airglow_nl(zenith_distance_deg: Floats, zenith_nl: Floats, v_mag_per_airmass: Floats) -> FloatArray:
    """Return the moonless sky's brightness at a zenith distance, nL; broadcasts.

    Krisciunas & Schaefer 1991, eq. 2. All of the zenith's light brightens towards the horizon as airglow does; at
    airmass 1.5 that is 0.1 mag more than Benn & Ellison 1998 found on La Palma (0.25 mag), where starlight and
    zodiacal light have their part. A town's light brightens more steeply: give it as a Glow.
    """
    air = sky_airmass(zenith_distance_deg)
    passed = 10.0 ** (-0.4 * np.asarray(v_mag_per_airmass) * (air - 1.0))
    return np.asarray(np.asarray(zenith_nl) * passed * air)


def moon_v_mag(phase_angle_deg: Floats) -> FloatArray:
    """Return the Moon's V magnitude at a phase angle in degrees (0 full, 180 new); any shape.

    Krisciunas & Schaefer 1991, eq. 9. Within 7° of full the real Moon is up to 35 % brighter (their remark).
    """
    angle = np.abs(np.asarray(phase_angle_deg, dtype=np.float64))
    return np.asarray(-12.73 + 0.026 * angle + 4e-9 * angle**4)


def moon_illuminance(phase_angle_deg: Floats) -> FloatArray:
    """Return the Moon's illuminance outside the air, foot-candles; Krisciunas & Schaefer 1991, eq. 8 and 20."""
    return np.asarray(10.0 ** (-0.4 * (moon_v_mag(phase_angle_deg) + 16.57)))


def moon_scattering(separation_from_moon_deg: Floats) -> FloatArray:
    """Return the scattering function f at an angle from the Moon, degrees; any shape.

    Krisciunas & Schaefer 1991, eq. 16 to 21: molecules, 10^5.36 (1.06 + cos²ρ), and haze, 10^(6.15 − ρ/40) from 10°
    on, 6.2e7 ρ⁻² nearer (held at 0.25°, the Moon's own edge). The published pieces step by 16 % at 10°.
    """
    rho = np.asarray(separation_from_moon_deg, dtype=np.float64)
    molecules = 10.0**5.36 * (1.06 + np.cos(np.radians(rho)) ** 2)
    haze = np.where(rho < 10.0, 6.2e7 / np.maximum(rho, 0.25) ** 2, 10.0 ** (6.15 - rho / 40.0))
    return np.asarray(molecules + haze)


def moonlight_nl(
    separation_from_moon_deg: Floats,
    zenith_distance_deg: Floats,
    moon_zenith_distance_deg: Floats,
    phase_angle_deg: Floats,
    v_mag_per_airmass: Floats,
) -> FloatArray:
    """Return the brightness that a Moon above the horizon adds to the sky, nL in V; broadcasts.

    Krisciunas & Schaefer 1991 (PASP 103, 1033), eq. 15, as published: single scattering. Its authors state 8 to 23 %
    of accuracy; Jones et al. 2013 (A&A 560, A91) find under 20 % with a fuller model. The Moon's distance is left out
    (±12 %).
    """
    k = np.asarray(v_mag_per_airmass, dtype=np.float64)
    arriving = moon_illuminance(phase_angle_deg) * 10.0 ** (-0.4 * k * sky_airmass(moon_zenith_distance_deg))
    scattered = 1.0 - 10.0 ** (-0.4 * k * sky_airmass(zenith_distance_deg))
    return np.asarray(moon_scattering(separation_from_moon_deg) * arriving * scattered)


def low_moon_factor(moon_altitude_deg: Floats, v_mag_per_airmass: Floats) -> FloatArray:
    """Return what a low Moon's light has lost beyond the published model, 0 to 1; broadcasts.

    The model's path never exceeds 5 airmasses, so that its moonlight would be switched on at moonrise. The true path
    (Kasten & Young) is 38 there. The factor is above 0.98 for a Moon higher than 30°, and falls to 0 as the disc,
    half a degree wide, sinks below the horizon.
    """
    altitude = np.asarray(moon_altitude_deg, dtype=np.float64)
    held = np.maximum(altitude, 0.0)
    more = np.maximum(airmass_kasten_young(held) - sky_airmass(90.0 - held), 0.0)
    disc = np.clip(0.5 + altitude / (2.0 * _MOON_RADIUS_DEG), 0.0, 1.0)
    return np.asarray(disc * 10.0 ** (-0.4 * np.asarray(v_mag_per_airmass) * more))


def twilight_nl(sun_altitude_deg: Floats) -> FloatArray:
    """Return what the Sun below the horizon adds at the zenith, nL in V; 0 from −18.3° down; any shape.

    The parabola of Patat, Ugolnikov & Postylyakov 2006 (A&A 455, 385; coefficients from memory) for Paranal, in
    mag/arcsec² over the Sun's zenith distance from 95° to 105°, less the night sky that it ends in. Good to 0.2 mag
    down to −15°, lower only a share of the night sky. Towards the Sun's azimuth the sky is up to a magnitude
    brighter, opposite darker. Above −5° the value of −5° is kept: that is no night.
    """
    beyond = np.clip(90.0 - np.asarray(sun_altitude_deg, dtype=np.float64) - _TWILIGHT_FROM_DEG, 0.0, _TWILIGHT_ENDS)
    c0, c1, c2 = _TWILIGHT
    end = c0 + c1 * _TWILIGHT_ENDS + c2 * _TWILIGHT_ENDS**2
    return np.asarray(np.maximum(nl_from_mag(c0 + c1 * beyond + c2 * beyond**2) - nl_from_mag(end), 0.0))


def glow_nl(altitude_deg: Floats, azimuth_deg: Floats, sky: NightSky) -> FloatArray:
    """Return what the glows of towns add in a direction, nL in V; broadcasts.

    Each equals what was measured, less the airglow there, in the direction of the measurement; upwards it falls by e
    in 20°, along the horizon as a bell of the given width, which closes up towards the zenith. A guess at the shape
    (common practice, no source).
    """
    altitude, azimuth = np.asarray(altitude_deg, dtype=np.float64), np.asarray(azimuth_deg, dtype=np.float64)
    total = np.zeros(np.broadcast_shapes(altitude.shape, azimuth.shape))
    for glow in sky.glows:
        dark = airglow_nl(90.0 - glow.altitude_deg, sky.zenith_nl, sky.extinction_mag_per_airmass)
        excess = np.maximum(nl_from_mag(glow.sky_mag_arcsec2) - dark, 0.0)
        # a chord for the angle aside: smooth over the zenith and behind one's back
        chord = 2.0 * np.sin(np.radians(azimuth - glow.azimuth_deg) / 2.0) * np.cos(np.radians(altitude))
        aside = np.degrees(chord)
        bell = 0.5 ** ((2.0 * aside / glow.width_deg) ** 2)
        total = total + excess * bell * np.exp((glow.altitude_deg - altitude) / _GLOW_FALLS_IN_DEG)
    return np.asarray(total)


def sky_parts(
    sky: NightSky,
    altitude_deg: Floats,
    *,
    azimuth_deg: Floats | None = None,
    sun_altitude_deg: Floats = -90.0,
    moon_altitude_deg: Floats = -90.0,
    moon_separation_deg: Floats = 90.0,
    moon_phase_angle_deg: Floats = 180.0,
) -> SkyParts:
    """Return the parts of the sky's V brightness in a direction; everything broadcasts.

    altitude_deg, moon_altitude_deg : apparent. azimuth_deg None leaves out the glows. Clouds and the Milky Way are
    not in it.
    """
    k = sky.extinction_mag_per_airmass
    zenith_distance = 90.0 - np.asarray(altitude_deg, dtype=np.float64)
    moon_zenith_distance = 90.0 - np.asarray(moon_altitude_deg, dtype=np.float64)
    moon = moonlight_nl(moon_separation_deg, zenith_distance, moon_zenith_distance, moon_phase_angle_deg, k)
    glow = np.zeros(()) if azimuth_deg is None or not sky.glows else glow_nl(altitude_deg, azimuth_deg, sky)
    return SkyParts(
        airglow_nl=airglow_nl(zenith_distance, sky.zenith_nl, k),
        moon_nl=np.asarray(moon * low_moon_factor(moon_altitude_deg, k)),
        twilight_nl=twilight_nl(sun_altitude_deg),
        glow_nl=glow,
    )
