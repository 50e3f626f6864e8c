"""Light: moonlight, airmass, photons, noise, weights and effective hours, each beside a reference from outside."""

from collections.abc import Iterator

import numpy as np
from tests.comparisons.records import Comparison, per_cent
from tests.reference.test_light_hours_published import CASES, FILTER, K_V, ZENITH, astropy_weights

from sidelight.light.hours import effective_hours
from sidelight.light.weight import weights
from sidelight.rig import photometry
from sidelight.sky import airmass, brightness, extinction

SKY = brightness.measured_sky(ZENITH, extinction_mag_per_airmass=K_V)
WINDOW_DAYS = 4.5 / 24.0


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of light."""
    yield from _sky()
    yield from _air()
    yield from _photons()
    yield from _hours()


def _sky() -> Iterator[Comparison]:
    """Yield sky brightness and moonlight."""
    rho, z, printed = np.array([[5, 55, 7216], [30, 30, 1160], [60, 0, 530]], dtype=np.float64).T
    yield Comparison(
        "sky",
        "moonlight on the sky",
        "Krisciunas & Schaefer 1991, table 2 as printed",
        "%",
        per_cent(brightness.moonlight_nl(rho, z, 60.0, 30.0, 0.172), printed),
        0.1,
        "their equations, printed to whole nanolamberts; against real skies the authors state 8 to 23 %",
    )
    simulated = float(brightness.mag_from_nl(brightness.moonlight_nl(50.0, 20.0, 70.0, 45.0, 0.15)))
    yield Comparison(
        "sky",
        "moonlight on the sky",
        "doctest of specsim, 19.855 mag/arcsec²",
        "mag",
        _array(simulated - 19.855),
        0.001,
    )
    z = float(np.degrees(np.arccos(1 / 1.5)))
    brighter = 2.5 * np.log10(float(brightness.airglow_nl(z, 1.0, 0.12)))
    yield Comparison(
        "sky",
        "moonless sky at airmass 1.5",
        "Benn & Ellison 1998, La Palma: 0.25 mag brighter",
        "mag",
        _array(brighter - 0.25),
        0.15,
        "the model lets all of the sky's light brighten as airglow does",
    )
    candela = brightness.nl_from_mag(np.array([22.0, 21.9])) * 1e-9 * 1e4 / np.pi * 1e3
    yield Comparison(
        "sky",
        "nanolamberts of a magnitude",
        "sky meters' convention, 10.8e4 · 10^(−0.4 µ) cd/m²",
        "%",
        per_cent(candela, [0.1712, 0.1877]),
        1.0,
    )
    k = extinction.extinction_mag_per_airmass(np.array([440.0, 550.0, 657.0]), 0.13, 2640.0)
    yield Comparison(
        "sky",
        "extinction by wavelength",
        "Patat et al. 2011, Paranal (from memory)",
        "mag",
        k - np.array([0.22, 0.13, 0.08]),
        0.02,
    )


def _air() -> Iterator[Comparison]:
    """Yield airmasses."""
    yield Comparison(
        "sky",
        "airmass (Kasten & Young)",
        "Kasten & Young 1989, table II, altitudes 0° to 10°",
        "%",
        per_cent(airmass.airmass_kasten_young([0.0, 1.0, 5.0, 10.0]), [38.0868, 26.2595, 10.3164, 5.5841]),
        0.5,
        "the formula is their fit to the table",
    )
    for name, model, kept in (
        ("Kasten & Young", airmass.airmass_kasten_young, (36.467, 5.586)),
        ("Young", airmass.airmass_young, (30.733, 5.541)),
        ("Pickering", airmass.airmass_pickering, (37.064, 5.581)),
    ):
        reference = "values in pvlib's tests, zenith angles 89.9°, 80°, 0°"
        differences = per_cent(model([0.1, 10.0, 90.0]), [*kept, 1.0])
        yield Comparison("sky", f"airmass ({name})", reference, "%", differences, 0.02)
    hardie = float(airmass.airmass_hardie(90 - np.degrees(1.2354)))
    yield Comparison(
        "sky", "airmass (Hardie)", "SLALIB's test value at 1.2354 rad", "%", per_cent(hardie, 3.015698990074724), 1e-9
    )


def _photons() -> Iterator[Comparison]:
    """Yield photon rates and the CCD equation."""
    faint = float(photometry.photon_flux_per_nm(23.90, 545.0)) * 1e4 * 0.16 * 545.0
    erg = 3.631e-9 / (6.62607015e-27 * 2.99792458e10 / 545e-7) * 10.0
    yield Comparison(
        "rig",
        "photons of a star",
        "2.42 photons of V 23.90 (Bessell 1979); the energy of V = 0 (Bessell et al. 1998)",
        "%",
        per_cent([faint, float(photometry.photon_flux_per_nm(0.0, 545.0))], [2.42, erg]),
        1.5,
    )
    given = (1500.0, 20.0, 22.5, 126.0, 12.0)
    plain = float(photometry.ccd_noise_e(*given, background_pixels_count=200))
    rounded = float(photometry.ccd_noise_e(*given, background_pixels_count=200, gain_e_per_adu=1.5))
    yield Comparison(
        "rig",
        "noise by the CCD equation",
        "tests of stellarphot (89.078616 e, 89.10182 e)",
        "%",
        per_cent([plain, rounded], [89.078616, 89.10182]),
        1e-5,
    )
    source = 24013 * 5.0
    howell = source / float(photometry.ccd_noise_e(source, 1.0, 620 * 5.0, 22 * 300 / 3600, 5.0))
    star = 25.0 / float(photometry.ccd_noise_e(25.0, 1.0, 0.0, 0.0, 0.0))
    yield Comparison(
        "rig",
        "signal-to-noise by the CCD equation",
        "Howell, Handbook of CCD Astronomy 4.4 (342, from memory); astropy's test (5)",
        "%",
        per_cent([howell, star], [342.0, 5.0]),
        0.3,
    )


def _hours() -> Iterator[Comparison]:
    """Yield weights and effective hours."""
    ours, theirs, sampled, integrals, outside = [], [], [], [], []
    for site, ra, dec, start in CASES:
        mjd = start + np.arange(0.0, 5.0, 0.5) / 24.0
        ours.append(weights(site, SKY, FILTER, ra, dec, mjd))
        theirs.append(astropy_weights(site, ra, dec, mjd))
        middles = start + (np.arange(1620) + 0.5) * WINDOW_DAYS / 1620
        sampled.append(float(np.mean(weights(site, SKY, FILTER, ra, dec, middles))) * 4.5)
        every_two_minutes = start + (np.arange(135) + 0.5) * WINDOW_DAYS / 135
        outside.append(float(np.mean(astropy_weights(site, ra, dec, every_two_minutes))) * 4.5)
        window = (np.array([start]), np.array([start + WINDOW_DAYS]), np.array([ra]), np.array([dec]))
        found = effective_hours(site, SKY, [FILTER], *window)
        integrals.append(float(found.effective_h[0, 0]))
    yield Comparison(
        "light",
        "weight of an instant",
        "astropy's places of target and Moon, the papers' equations written out again",
        "%",
        per_cent(np.concatenate(ours), np.concatenate(theirs)),
        1.0,
        "largest at moonrise, by the Moon's place",
    )
    yield Comparison(
        "light",
        "effective hours of a window",
        "astropy's weights every two minutes",
        "%",
        per_cent(np.array(integrals), np.array(outside)),
        1.0,
    )
    yield Comparison(
        "light",
        "effective hours of a window",
        "our own weights sampled every 10 s",
        "s",
        3600.0 * (np.array(integrals) - np.array(sampled)),
        2.0,
    )


def _array(value: float) -> np.ndarray:
    """Return one difference as an array."""
    return np.array([value])
