"""Air: refraction, airmass, extinction, a target's altitude as seen, beside ERFA, astropy and printed tables."""

import warnings
from collections.abc import Iterator

import erfa
import numpy as np
from tests.comparisons.records import Cases, Comparison, joined, per_cent
from tests.comparisons.rotation import rotation_as_packed
from tests.comparisons.sites import EVERYWHERE
from tests.reference.test_sky_against_skyfield import LAST_KNOWN_MJD, instants

from sidelight.ground.types import FloatArray
from sidelight.sky import airmass, altitude, extinction, refraction
from sidelight.sky.site import Site

SUBJECT = "target"
LOWEST_DEG = 20.0
EARTH_KM = 6356.766
"""Radius of the standard atmosphere's Earth; its layers and their changes of temperature."""
LAYERS_KM = (0.0, 11.0, 20.0, 32.0, 47.0, 51.0, 71.0)
LAPSES_K_PER_KM = (-6.5, 0.0, 1.0, 2.8, 0.0, -2.8, -2.0)


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of air."""
    yield _as_seen()
    yield _refraction()
    yield from _low_refraction()
    yield from _airmass()
    k = extinction.extinction_mag_per_airmass(np.array([440.0, 550.0, 657.0]), 0.13, 2640.0)
    yield Comparison(
        "sky",
        "light",
        "extinction by wavelength",
        "Patat et al. 2011, Paranal (from memory)",
        "mag",
        k - np.array([0.22, 0.13, 0.08]),
        0.02,
        "printed to 0.01 mag; dust and its colour differ from night to night",
        Cases(np.array([-24.6])),
    )


def _as_seen() -> Comparison:
    """Return altitudes as seen through standard air, 20° and higher, with the Earth's true rotation, 2000 to 2025."""
    off, latitudes, declinations, times = [], [], [], []
    random = np.random.default_rng(41)
    for number, site in enumerate(EVERYWHERE):
        at = instants(50 + number, 100, last=LAST_KNOWN_MJD)
        ra = random.uniform(0, 360, len(at))
        dec = np.degrees(np.arcsin(random.uniform(-1, 1, len(at))))
        theirs = _astropy_altitude_deg(site, ra, dec, at)
        high = theirs >= LOWEST_DEG
        off.append((altitude.altitude_azimuth(ra, dec, at, site)[0] - theirs)[high] * 3600.0)
        latitudes.append(np.full(high.sum(), site.latitude_deg))
        declinations.append(dec[high])
        times.append(at[high])
    reason = "UT1 is kept within 0.9 s (13.5″) of UTC; 4.2″ Bennett's refraction; 0.5″ the pole's wandering"
    cases = Cases(joined(latitudes), joined(declinations), joined(times))
    model = "a target's altitude as seen, from 20° up"
    return Comparison("sky", SUBJECT, model, "astropy, its refraction by ERFA", "″", joined(off), 18.2, reason, cases)


def _astropy_altitude_deg(site: Site, ra_deg: FloatArray, dec_deg: FloatArray, mjd: FloatArray) -> FloatArray:
    """Return altitudes through air of the site's standard pressure and temperature, by astropy's whole chain."""
    from astropy import units as u
    from astropy.coordinates import AltAz, EarthLocation, SkyCoord
    from astropy.time import Time

    with warnings.catch_warnings(), rotation_as_packed():
        warnings.simplefilter("ignore")
        frame = AltAz(
            obstime=Time(mjd, format="mjd", scale="utc"),
            location=EarthLocation(lat=site.latitude_deg, lon=site.longitude_deg, height=site.elevation_m * u.m),
            pressure=float(refraction.standard_pressure_hpa(site.elevation_m)) * u.hPa,
            temperature=float(refraction.standard_temperature_c(site.elevation_m)) * u.deg_C,
            obswl=0.55 * u.um,
        )
        return np.asarray(SkyCoord(ra_deg * u.deg, dec_deg * u.deg).transform_to(frame).alt.deg)


def _refraction() -> Comparison:
    """Return refraction above 20°."""
    altitudes, off = np.linspace(LOWEST_DEG, 90, 71), []
    for elevation_m in (0.0, 1500.0, 4000.0):
        pressure = float(refraction.standard_pressure_hpa(elevation_m))
        a, b = erfa.refco(pressure, float(refraction.standard_temperature_c(elevation_m)), 0.0, 0.55)
        tangent = np.tan(np.radians(90 - altitudes))
        expected = np.degrees(a * tangent + b * tangent**3)
        off.append((refraction.refraction_of_apparent_deg(altitudes, elevation_m) - expected) * 3600.0)
    reason = "Bennett's formula is good to 0.07′"
    return Comparison("sky", SUBJECT, "refraction from 20° up", "ERFA refco", "″", joined(off), 4.2, reason)


def _low_refraction() -> Iterator[Comparison]:
    """Yield refraction near the horizon, in the reference's air (1010 hPa, 10 °C)."""
    heights = np.linspace(-400.0, 400.0, 8001)
    same_air_m = float(heights[np.argmin(np.abs(refraction.air_factor(heights) - 1.0))])
    ours = refraction.refraction_of_apparent_deg([0.5], same_air_m) * 60.0 - 28.754
    reason = "printed to 0.001′; the air here is its own to 0.0003"
    reference = "Meeus, Astronomical Algorithms, example 16.a"
    yield Comparison("sky", SUBJECT, "refraction at half a degree", reference, "′", ours, 0.01, reason)
    true_deg = np.array([0.0, 1.0, 3.0, 9.0])
    seen = np.array([0.48193888, 1.36244744, 3.22756469, 9.09805927])
    off = (refraction.apparent_altitude_deg(true_deg, same_air_m) - seen) * 3600.0
    reason = "its scale is 0.07 % smaller, 1.3″ at the horizon"
    reference = "NOVAS, as kept in Skyfield's tests"
    yield Comparison("sky", SUBJECT, "altitude as seen, 0° to 9°", reference, "″", off, 1.5, reason)


def _integrated_airmass(apparent_deg: FloatArray) -> FloatArray:
    """Return the air along a bent ray over that towards the zenith, from a place at sea level.

    Along the ray n r sin z stays the same (Snell, in shells); n − 1 goes with the density, 2.76e-4 at sea level
    (0.7 µm, from memory). Heights are squares of evenly spaced numbers: a level ray climbs as the square of its way.
    """
    step = np.linspace(0.0, np.sqrt(84.0), 20_001)
    middle = (step[1:] + step[:-1]) / 2.0
    height_km, thick_km = middle**2, 2.0 * middle * np.diff(step)
    density = _density_ratio(height_km)
    radius = EARTH_KM + height_km
    bent = (
        (1.0 + 2.76e-4) * EARTH_KM * np.cos(np.radians(apparent_deg))[:, None] / ((1.0 + 2.76e-4 * density) * radius)
    )
    along = np.sum(density * thick_km / np.sqrt(1.0 - bent**2), axis=1)
    return np.asarray(along / np.sum(density * thick_km))


def _density_ratio(height_km: FloatArray) -> FloatArray:
    """Return the density over that at sea level in the standard atmosphere (ISO 2533, layers to 84 km)."""
    geopotential_km = EARTH_KM * height_km / (EARTH_KM + height_km)
    base_k, base_pressure, density = 288.15, 1.0, np.zeros(height_km.shape)
    for low, high, lapse in zip(LAYERS_KM, [*LAYERS_KM[1:], 90.0], LAPSES_K_PER_KM, strict=True):
        here = (geopotential_km >= low) & (geopotential_km < high)
        for at, store in ((geopotential_km[here], here), (np.array([high]), None)):
            kelvin = base_k + lapse * (at - low)
            falls = -34.163195 / lapse * np.log(kelvin / base_k) if lapse else -34.163195 * (at - low) / base_k
            pressure = base_pressure * np.exp(falls)
            if store is not None:
                density[store] = pressure * 288.15 / kelvin
        base_k, base_pressure = float(kelvin[0]), float(pressure[0])
    return density


def _airmass() -> Iterator[Comparison]:
    """Yield airmasses."""
    yield Comparison(
        "sky",
        SUBJECT,
        "airmass (Kasten & Young)",
        "Kasten & Young 1989, table II, altitudes 0° to 10°",
        "%",
        per_cent(airmass.airmass_kasten_young([0.0, 1.0, 5.0, 10.0]), [38.0868, 26.2595, 10.3164, 5.5841]),
        0.5,
        "the formula is the authors' fit to their table, 0.5 % at the horizon",
    )
    altitudes = np.arange(0.0, 90.5, 1.0)
    yield Comparison(
        "sky",
        SUBJECT,
        "airmass (Kasten & Young)",
        "light's path through the standard atmosphere (ISO 2533), integrated, altitudes 0° to 90°",
        "%",
        per_cent(airmass.airmass_kasten_young(altitudes), _integrated_airmass(altitudes)),
        0.5,
        "the formula is a fit to such a table, 0.5 % at the horizon",
    )
    reference = "values in pvlib's tests, zenith angles 89.9°, 80°, 0°"
    for name, model, kept in (
        ("Kasten & Young", airmass.airmass_kasten_young, (36.467, 5.586)),
        ("Young", airmass.airmass_young, (30.733, 5.541)),
        ("Pickering", airmass.airmass_pickering, (37.064, 5.581)),
    ):
        off = per_cent(model([0.1, 10.0, 90.0]), [*kept, 1.0])
        yield Comparison("sky", SUBJECT, f"airmass ({name})", reference, "%", off, 0.02, "kept to three decimals")
    hardie = airmass.airmass_hardie([90 - np.degrees(1.2354)])
    off = per_cent(hardie, 3.015698990074724)
    reference, reason = "SLALIB's test value at 1.2354 rad", "the same formula: rounding only"
    yield Comparison("sky", SUBJECT, "airmass (Hardie)", reference, "%", off, 1e-9, reason)
