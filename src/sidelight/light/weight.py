"""What an instant on a target is worth: signal squared over sky, 1 at the moonless zenith of this site."""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import separation_deg
from sidelight.ground.types import FloatArray, Floats
from sidelight.light.filters import Filter, filter_extinction_mag_per_airmass, moonlight_factor
from sidelight.sky.airmass import airmass_kasten_young
from sidelight.sky.altitude import altitude_azimuth, apparent_place
from sidelight.sky.brightness import NightSky, SkyParts, mag_from_nl, sky_parts
from sidelight.sky.moon import moon_altitude_deg, moon_phase, moon_topocentric
from sidelight.sky.refraction import apparent_altitude_deg
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_altitude_deg

_THICKEST_AIRMASS = 40.0


@dataclass(frozen=True, eq=False)
class Directions:
    """Where a target, the Moon and the Sun stand at some instants; the arrays broadcast, degrees.

    altitude_deg, moon_altitude_deg : apparent. azimuth_deg None where no glow asks for it.
    """

    altitude_deg: FloatArray
    azimuth_deg: FloatArray | None
    sun_altitude_deg: FloatArray
    moon_altitude_deg: FloatArray
    moon_separation_deg: FloatArray
    moon_phase_angle_deg: FloatArray

    def sky_parts(self, sky: NightSky) -> SkyParts:
        """Return the sky's V brightness behind the target, part by part."""
        return sky_parts(
            sky,
            self.altitude_deg,
            azimuth_deg=self.azimuth_deg,
            sun_altitude_deg=self.sun_altitude_deg,
            moon_altitude_deg=self.moon_altitude_deg,
            moon_separation_deg=self.moon_separation_deg,
            moon_phase_angle_deg=self.moon_phase_angle_deg,
        )


@dataclass(frozen=True)
class Sensitivity:
    """What of a filter enters the weight.

    extinction_mag_per_airmass, moonlight_factor : in the filter. floor_ratio : the camera's own noise (dark current
    and read noise) against the noise of the moonless zenith sky, both as variances; 0 counts the sky alone.
    """

    extinction_mag_per_airmass: float
    moonlight_factor: float
    floor_ratio: float = 0.0


def sensitivity(one: Filter, sky: NightSky, elevation_m: float, floor_ratio: float = 0.0) -> Sensitivity:
    """Return what of a filter enters the weight at a site."""
    k = filter_extinction_mag_per_airmass(one, sky, elevation_m)
    return Sensitivity(k, moonlight_factor(one), floor_ratio)


def directions(site: Site, ra_deg: Floats, dec_deg: Floats, mjd: Floats) -> Directions:
    """Return where ICRS targets, Moon and Sun stand at instants; targets (n, 1) and instants (t,) give (n, t)."""
    altitude, azimuth = altitude_azimuth(ra_deg, dec_deg, mjd, site)
    moon_ra, moon_dec, _ = moon_topocentric(mjd, site)
    return Directions(
        altitude_deg=altitude,
        azimuth_deg=azimuth,
        sun_altitude_deg=sun_altitude_deg(mjd, site),
        moon_altitude_deg=apparent_altitude_deg(moon_altitude_deg(mjd, site), site.elevation_m),
        moon_separation_deg=separation_deg(*apparent_place(ra_deg, dec_deg, mjd), moon_ra, moon_dec),
        moon_phase_angle_deg=moon_phase(mjd).phase_angle_deg,
    )


def weights(
    site: Site, sky: NightSky, one: Filter, ra_deg: Floats, dec_deg: Floats, mjd: Floats, floor_ratio: float = 0.0
) -> FloatArray:
    """Return what instants on ICRS targets are worth in a filter; targets (n, 1), instants (t,) give (n, t).

    From 0 to about 1. An hour at weight w reaches the signal-to-noise of w hours at this site's moonless zenith, for
    an object fainter than the sky. Whether target and night are usable is not asked here. The error is the Moon
    model's (8 to 23 % of its light) and the extinction's.
    """
    where = directions(site, ra_deg, dec_deg, mjd)
    return weight_of(
        where.sky_parts(sky), where.altitude_deg, sky, sensitivity(one, sky, site.elevation_m, floor_ratio)
    )


def weight_of(parts: SkyParts, altitude_deg: FloatArray, sky: NightSky, sense: Sensitivity) -> FloatArray:
    """Return the weight for the sky's parts behind a target at an apparent altitude; broadcasts.

    Signal is 10^(−0.4 k (X − 1)) with Kasten & Young's airmass, squared; the noise's variance is the sky's light in
    the filter plus the camera's own.
    """
    behind = parts.airglow_nl + parts.twilight_nl + parts.glow_nl + sense.moonlight_factor * parts.moon_nl
    return signal_squared(altitude_deg, sense) * variance_gain(np.asarray(behind), sky, sense)


def signal_squared(altitude_deg: FloatArray, sense: Sensitivity) -> FloatArray:
    """Return the square of a target's light against that at the zenith; 0 below the horizon."""
    air = np.minimum(airmass_kasten_young(altitude_deg), _THICKEST_AIRMASS)
    squared = 10.0 ** (-0.8 * sense.extinction_mag_per_airmass * (air - 1.0))
    return np.where(altitude_deg >= 0.0, squared, 0.0)


def variance_gain(behind_nl: FloatArray, sky: NightSky, sense: Sensitivity) -> FloatArray:
    """Return the noise variance at the moonless zenith over that with the given sky behind the target."""
    return np.asarray((1.0 + sense.floor_ratio) / (behind_nl / sky.zenith_nl + sense.floor_ratio))


def sky_mag_arcsec2(site: Site, sky: NightSky, ra_deg: Floats, dec_deg: Floats, mjd: Floats) -> FloatArray:
    """Return the sky's V brightness behind ICRS targets at instants, mag/arcsec²; targets (n, 1), instants (t,)."""
    return mag_from_nl(directions(site, ra_deg, dec_deg, mjd).sky_parts(sky).total_nl)
