"""Weights and effective hours against astropy's sky, with the models' equations written out again here."""

import warnings

import numpy as np
import pytest

from sidelight.light.filters import Filter
from sidelight.light.hours import effective_hours
from sidelight.light.weight import weights
from sidelight.sky.brightness import measured_sky
from sidelight.sky.site import Site

GARDEN = Site("garden", 47.3, 11.4, 600.0, "Europe/Vienna")
FAR = Site("far", -33.9, 150.7, 300.0, "Australia/Sydney")
K_V, K_B, FACTOR, ZENITH = 0.2, 0.3, 1.7, 20.8
FILTER = Filter("own", 450.0, 100.0, extinction_mag_per_airmass=K_B, moonlight_factor=FACTOR)


def astropy_weights(site: Site, ra: float, dec: float, mjd: np.ndarray) -> np.ndarray:
    """Return weights with places from astropy and the equations as their papers print them."""
    from astropy import units as u
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord, get_body, get_sun
    from astropy.time import Time
    from astropy.utils import iers

    with warnings.catch_warnings(), iers.conf.set_temp("auto_download", False):
        warnings.simplefilter("ignore")
        where = EarthLocation(lat=site.latitude_deg, lon=site.longitude_deg, height=site.elevation_m * u.m)
        time = Time(mjd, format="mjd", scale="utc")
        air = {
            "pressure": (1010 - 0.11 * site.elevation_m) * u.hPa,
            "temperature": 10 * u.deg_C,
            "obswl": 0.55 * u.um,
        }
        frame = AltAz(obstime=time, location=where, **air)
        target = SkyCoord(ra * u.deg, dec * u.deg).transform_to(frame)
        moon = get_body("moon", time, where).transform_to(frame)
        elongation = get_sun(time).separation(get_body("moon", time)).rad
        phase = np.degrees(np.arctan2(1.496e8 * np.sin(elongation), 3.84e5 - 1.496e8 * np.cos(elongation)))
        z, zm, rho = 90 - target.alt.deg, 90 - moon.alt.deg, target.separation(moon).deg
    b_zenith = 34.08 * np.exp(20.7233 - 0.92104 * ZENITH)

    def path(distance: np.ndarray) -> np.ndarray:
        return (1 - 0.96 * np.sin(np.radians(distance)) ** 2) ** -0.5

    def kasten(altitude: np.ndarray) -> np.ndarray:
        return 1 / (np.sin(np.radians(altitude)) + 0.50572 * (altitude + 6.07995) ** -1.6364)

    dark = b_zenith * 10 ** (-0.4 * K_V * (path(z) - 1)) * path(z)
    light = 10 ** (-0.4 * (3.84 + 0.026 * phase + 4e-9 * phase**4))
    scatter = 10**5.36 * (1.06 + np.cos(np.radians(rho)) ** 2)
    scatter += np.where(rho < 10, 6.2e7 / rho**2, 10 ** (6.15 - rho / 40))
    up = np.maximum(90 - zm, 0.0)
    moonlight = (
        scatter * light * 10 ** (-0.4 * K_V * np.maximum(kasten(up), path(zm))) * (1 - 10 ** (-0.4 * K_V * path(z)))
    )
    behind = dark + FACTOR * np.where(zm < 90, moonlight, 0.0)
    return 10 ** (-0.8 * K_B * (kasten(90 - z) - 1)) * b_zenith / behind


CASES = [
    (GARDEN, 83.8, -5.4, 60334.75),
    (GARDEN, 202.5, 47.2, 60335.95),
    (GARDEN, 10.7, 41.3, 60320.75),
    (FAR, 187.7, -57.0, 60450.45),
    (FAR, 266.4, -29.0, 60487.45),
]


@pytest.mark.parametrize(("site", "ra", "dec", "start"), CASES)
def test_weights_against_astropy(site: Site, ra: float, dec: float, start: float) -> None:
    """Five hours of weights agree to 1 % at moonrise, 0.1 % mostly; Moons of several ages, both hemispheres."""
    mjd = start + np.arange(0.0, 5.0, 0.5) / 24.0
    ours = weights(site, measured_sky(ZENITH, extinction_mag_per_airmass=K_V), FILTER, ra, dec, mjd)
    theirs = astropy_weights(site, ra, dec, mjd)
    assert np.all((theirs > 0.01) & (theirs < 1.0))
    np.testing.assert_allclose(ours, theirs, rtol=0.01)
    assert float(np.median(np.abs(ours / theirs - 1.0))) < 1e-3


@pytest.mark.parametrize(("site", "ra", "dec", "start"), CASES)
def test_effective_hours_against_astropy(site: Site, ra: float, dec: float, start: float) -> None:
    """The integral over a window agrees to 1 % with astropy's weights sampled every two minutes."""
    end = start + 4.5 / 24.0
    ours = effective_hours(
        site,
        measured_sky(ZENITH, extinction_mag_per_airmass=K_V),
        [FILTER],
        np.array([start]),
        np.array([end]),
        np.array([ra]),
        np.array([dec]),
    )
    sampled = start + (np.arange(135) + 0.5) * 4.5 / 24.0 / 135
    expected = float(np.mean(astropy_weights(site, ra, dec, sampled))) * 4.5
    assert float(ours.effective_h[0, 0]) == pytest.approx(expected, rel=0.01)
    assert float(ours.dark_h[0]) == pytest.approx(4.5)
