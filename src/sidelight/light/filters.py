"""Filters: their passbands, what the air takes in them, how bright the dark and the moonlit sky are through them.

The sky's colours are those that Walker (NOAO Newsletter 10, 16, 1987; values from memory) measured at Cerro Tololo,
dark and with the Moon ten and fourteen days old; they give, for a wavelength, the dark sky against V and how much
more or less the Moon brightens it than V. A town's lamps have other colours: expect 30 % there. Only the colours are
used: Walker's skies under a full Moon are a magnitude darker than Krisciunas & Schaefer's.
"""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.photometry import photon_flux_per_nm
from sidelight.sky.brightness import NightSky
from sidelight.sky.extinction import extinction_mag_per_airmass

V_BAND_NM = 545.0
"""Middle of the V band as the zero points have it."""
NARROW_NM = 25.0
"""Filters narrower than this are taken to pass the sky's continuum between its emission lines."""

_SKY_NM = np.array([438.0, 545.0, 641.0, 798.0])
_DARK_MAG = np.array([22.7, 21.8, 20.9, 19.9])
_MOON_MAG = np.array(((20.7, 20.7, 20.3, 19.5), (19.5, 20.0, 19.9, 19.2)))
_CONTINUUM_SHARE = np.array([0.95, 0.8, 0.6, 0.35])
"""How much of the dark sky's light in B, V, R, I lies between the lines of airglow (from memory, ±0.15)."""


@dataclass(frozen=True)
class Filter:
    """One filter in front of the camera.

    centre_nm, bandwidth_nm : what it passes, as a box. transmission_fraction : inside it.
    extinction_mag_per_airmass : None estimates it from the site's in V. moonlight_factor : how much more the Moon
    brightens the sky in it than in V; None takes it from the wavelength.
    """

    name: str
    centre_nm: float
    bandwidth_nm: float
    transmission_fraction: float = 0.9
    extinction_mag_per_airmass: float | None = None
    moonlight_factor: float | None = None

    @property
    def narrow(self) -> bool:
        """Whether it is narrower than `NARROW_NM`."""
        return self.bandwidth_nm < NARROW_NM


USUAL_FILTERS: tuple[Filter, ...] = (
    Filter("L", 550.0, 300.0),
    Filter("R", 640.0, 100.0),
    Filter("G", 535.0, 90.0),
    Filter("B", 450.0, 100.0),
    Filter("Ha", 656.3, 7.0),
    Filter("OIII", 500.7, 7.0),
    Filter("SII", 672.0, 7.0),
)
"""Passbands as imaging filters usually have them (common practice, no source); the lines are hydrogen's at 656.3 nm,
doubly ionised oxygen's at 500.7 and ionised sulphur's at 671.6 and 673.1 nm."""


def usual_filter(name: str, bandwidth_nm: float | None = None) -> Filter:
    """Return one of the usual filters by name, with another bandwidth if given; raises BadInput for another name."""
    folded = {one.name.casefold(): one for one in USUAL_FILTERS}
    found = folded.get(name.strip().casefold())
    if found is None:
        raise BadInput(
            Problem(
                f'There is no filter "{name}".',
                expected=", ".join(one.name for one in USUAL_FILTERS),
                suggestion=did_you_mean(name, [one.name for one in USUAL_FILTERS])
                or "Describe your own with its centre and bandwidth in nm.",
            )
        )
    if bandwidth_nm is None:
        return found
    return Filter(found.name, found.centre_nm, bandwidth_nm, found.transmission_fraction)


def check_filter(one: Filter) -> tuple[Problem, ...]:
    """Return everything that is wrong with a filter, each with its key; none is an empty tuple."""
    values: dict[str, tuple[float | None, float, float]] = {
        "centre_nm": (one.centre_nm, 300.0, 1100.0),
        "bandwidth_nm": (one.bandwidth_nm, 0.1, 800.0),
        "transmission_fraction": (one.transmission_fraction, 0.001, 1.0),
        "extinction_mag_per_airmass": (one.extinction_mag_per_airmass, 0.0, 2.0),
        "moonlight_factor": (one.moonlight_factor, 0.0, 100.0),
    }
    return tuple(
        Problem(f"{value:g} is out of range.", key=key, expected=f"{low:g} to {high:g}")
        for key, (value, low, high) in values.items()
        if value is not None and not low <= value <= high
    )


def filter_extinction_mag_per_airmass(one: Filter, sky: NightSky, elevation_m: float) -> float:
    """Return the extinction in a filter: its own, or from the site's in V at the filter's centre."""
    if one.extinction_mag_per_airmass is not None:
        return one.extinction_mag_per_airmass
    return float(extinction_mag_per_airmass(one.centre_nm, sky.extinction_mag_per_airmass, elevation_m))


def dark_sky_ratio(one: Filter) -> float:
    """Return the photons that a dark sky sends through a filter, per nm, against those it sends in V.

    A mean over the passband; for a narrow filter of the continuum alone. 30 % for a natural sky.
    """
    return _mean(one, _DARK_MAG) / float(_photons(V_BAND_NM, _DARK_MAG))


def sky_mag_in_band(one: Filter, sky_mag_arcsec2: Floats) -> FloatArray:
    """Return the sky's brightness in a filter, mag/arcsec² at its centre, for a brightness in V; any shape."""
    colour = dark_sky_ratio(one) * photon_flux_per_nm(0.0, V_BAND_NM) / photon_flux_per_nm(0.0, one.centre_nm)
    return np.asarray(np.asarray(sky_mag_arcsec2, dtype=np.float64) - 2.5 * np.log10(colour))


def moonlight_factor(one: Filter) -> float:
    """Return how much more moonlight brightens the dark sky in a filter than in V: its own, or by wavelength.

    By the mean of Walker's two moonlit skies: 3.6 in B, 1 in V, 0.39 in R, 0.23 in I, each about 15 % off it. For a
    narrow filter the airglow's lines are taken out of the dark sky. Good to 30 %: sunlight reddened by the Moon and
    scattered by molecules alone gives 2.8 in B and 0.36 in R.
    """
    if one.moonlight_factor is not None:
        return one.moonlight_factor
    return float(np.mean(_moon_photons(_passband_nm(one)))) / _mean(one, _DARK_MAG)


def _passband_nm(one: Filter) -> FloatArray:
    """Return wavelengths spread evenly over a passband."""
    return np.asarray(one.centre_nm + one.bandwidth_nm * (np.arange(40) + 0.5 - 20.0) / 40.0, dtype=np.float64)


def _photons(wavelength_nm: Floats, magnitudes: FloatArray) -> FloatArray:
    """Return photons per nm (any scale) of a sky with these magnitudes in B, V, R, I; straight in magnitudes."""
    mag = np.interp(np.asarray(wavelength_nm, dtype=np.float64), _SKY_NM, magnitudes)
    return photon_flux_per_nm(mag, wavelength_nm)


def _moon_photons(wavelength_nm: Floats) -> FloatArray:
    """Return what a Moon adds that brightens V by the dark sky's own light there."""
    added = 10.0 ** (-0.4 * (_MOON_MAG - _DARK_MAG)) - 1.0
    against_v = np.exp(np.mean(np.log(added / added[:, 1:2]), axis=0))
    return _photons(wavelength_nm, _DARK_MAG - 2.5 * np.log10(against_v))


def _mean(one: Filter, magnitudes: FloatArray) -> float:
    """Return the dark sky's photons per nm averaged over a passband, the continuum's alone in a narrow one."""
    nm = _passband_nm(one)
    photons = _photons(nm, magnitudes)
    if one.narrow:
        photons = photons * np.interp(nm, _SKY_NM, _CONTINUUM_SHARE)
    return float(np.mean(photons))
