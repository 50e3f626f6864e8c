"""Extinction: how much of a star's light the air takes per airmass, by wavelength and elevation."""

import numpy as np

from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.refraction import standard_pressure_hpa

V_NM = 550.0
_MAG_PER_DEPTH = 1.0857362047581296
_HAZE_AT_SEA_LEVEL_MAG = 0.10
_HAZE_SCALE_M = 1500.0
_HAZE_EXPONENT = 1.3
_OZONE_NM = np.array([440.0, 450.0, 500.0, 550.0, 603.0, 650.0, 700.0, 800.0])
_OZONE_MAG = np.array([0.001, 0.0015, 0.0105, 0.029, 0.0447, 0.0228, 0.0079, 0.001])


def rayleigh_mag_per_airmass(wavelength_nm: Floats, elevation_m: Floats = 0.0) -> FloatArray:
    """Return what the molecules of standard air scatter away, magnitudes per airmass; broadcasts.

    Hansen & Travis 1974, Space Science Reviews 16, 527, eq. 2.30 (coefficients from memory), within 1 % from 300 to
    1000 nm of the tables of Bucholtz 1995; in proportion to the standard pressure at the elevation.
    """
    inverse = 1.0 / (np.asarray(wavelength_nm, dtype=np.float64) / 1000.0) ** 2
    depth = 0.008569 * inverse**2 * (1.0 + 0.0113 * inverse + 0.00013 * inverse**2)
    return np.asarray(_MAG_PER_DEPTH * depth * standard_pressure_hpa(elevation_m) / 1013.25)


def ozone_mag_per_airmass(wavelength_nm: Floats) -> FloatArray:
    """Return what an ozone layer of 300 Dobson units absorbs, magnitudes per airmass; any shape.

    The Chappuis band in straight pieces between eight values (from memory), to 0.005 mag; the layer itself changes
    by a third over seasons and latitudes. Nothing is said below 440 nm, where it hardly absorbs down to 340 nm.
    """
    return np.asarray(np.interp(np.asarray(wavelength_nm, dtype=np.float64), _OZONE_NM, _OZONE_MAG))


def clear_v_mag_per_airmass(elevation_m: Floats = 0.0) -> FloatArray:
    """Return the extinction in V of an ordinary clear night, magnitudes per airmass; any shape.

    Molecules, ozone, and a haze of 0.10 mag at sea level that thins by e in 1500 m (common practice, no source):
    0.23 at sea level, 0.12 at 2600 m. A night's own value differs by some 0.05 mag, in haze by far more.
    """
    haze = _HAZE_AT_SEA_LEVEL_MAG * np.exp(-np.asarray(elevation_m, dtype=np.float64) / _HAZE_SCALE_M)
    return np.asarray(rayleigh_mag_per_airmass(V_NM, elevation_m) + ozone_mag_per_airmass(V_NM) + haze)


def extinction_mag_per_airmass(
    wavelength_nm: Floats, v_mag_per_airmass: Floats, elevation_m: Floats = 0.0
) -> FloatArray:
    """Return the extinction at a wavelength when that in V is known, magnitudes per airmass; broadcasts.

    What V has beyond molecules and ozone is haze, which goes with wavelength to the power −1.3 (Ångström's
    exponent, common practice). Equal to the given value at 550 nm unless that is less than clean air has; then the
    clean air's extinction is scaled down. Good to 0.02 mag where the V value is.
    """
    wavelength = np.asarray(wavelength_nm, dtype=np.float64)
    v = np.asarray(v_mag_per_airmass, dtype=np.float64)
    clean_v = rayleigh_mag_per_airmass(V_NM, elevation_m) + ozone_mag_per_airmass(V_NM)
    clean = rayleigh_mag_per_airmass(wavelength, elevation_m) + ozone_mag_per_airmass(wavelength)
    haze = np.maximum(v - clean_v, 0.0) * (wavelength / V_NM) ** -_HAZE_EXPONENT
    return np.asarray(clean * np.minimum(1.0, v / clean_v) + haze)
