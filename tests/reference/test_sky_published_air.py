"""Refraction and airmass against published values; the source stands beside each check."""

from collections.abc import Callable

import erfa
import numpy as np
import pytest

from sidelight.ground.types import FloatArray
from sidelight.sky import airmass, refraction

ARCMIN_DEG = 1 / 60
ARCSEC_DEG = 1 / 3600


def in_meeus_air(lift_deg: float) -> float:
    """Return a sea-level refraction of ours as it would be at 1010 hPa and 10 °C."""
    return lift_deg / float(refraction.air_factor(0.0))


def test_refraction_of_meeus() -> None:
    """Meeus example 16.a, p. 107: apparent altitude 30′ has R 28.754′, to his last digit (1010 hPa, 10 °C)."""
    got = in_meeus_air(float(refraction.refraction_of_apparent_deg(0.5)))
    assert got == pytest.approx(28.754 * ARCMIN_DEG, abs=0.001 * ARCMIN_DEG)


@pytest.mark.parametrize(("apparent_deg", "lift_deg"), [(-1.0, 0.8296919418), (15.0, 0.06056215495)])
def test_refraction_of_novas(apparent_deg: float, lift_deg: float) -> None:
    """NOVAS (Skyfield test_against_novas.py), 10 °C and 1010 hPa: the same formula; its scale is 0.07 % smaller."""
    got = in_meeus_air(float(refraction.refraction_of_apparent_deg(apparent_deg)))
    assert got == pytest.approx(lift_deg / (0.28 * 1010 / 283), rel=2.1e-5)  # 1′ is typed 0.016667° there


@pytest.mark.parametrize(
    ("true_deg", "apparent_deg"),
    [(0.0, 0.48193888), (1.0, 1.36244744), (3.0, 3.22756469), (9.0, 9.09805927)],
)
def test_apparent_altitude_of_novas(true_deg: float, apparent_deg: float) -> None:
    """NOVAS, 10 °C and 1010 hPa, from true altitudes; ours at the elevation whose air refracts as much, to 1.5″.

    Its scale is 0.07 % smaller than Meeus', 1.3″ at the horizon.
    """
    heights = np.linspace(-400, 400, 8001)
    same_air_m = float(heights[np.argmin(np.abs(refraction.air_factor(heights) - 1.0))])
    got = float(refraction.apparent_altitude_deg(true_deg, same_air_m))
    assert got == pytest.approx(apparent_deg, abs=1.5 * ARCSEC_DEG)


def test_standard_refraction_at_the_horizon() -> None:
    """USNO, Rise, Set and Twilight Definitions: 34′ at the horizon, to half an arcminute."""
    assert float(refraction.refraction_of_apparent_deg(0.0)) == pytest.approx(34 * ARCMIN_DEG, abs=0.5 * ARCMIN_DEG)


def test_refraction_of_the_spa_report() -> None:
    """NREL SPA report, table A5.1: 0.016332° at true altitude 39.872046°, 820 hPa and 11 °C, to 0.07′ (Bennett)."""
    elevation_m = 1830.14
    factor = 820 / 1010 * 283 / (273 + 11) / float(refraction.air_factor(elevation_m))
    got = float(refraction.refraction_of_true_deg(39.872046, elevation_m)) * factor
    assert got == pytest.approx(0.016332, abs=0.07 * ARCMIN_DEG)


@pytest.mark.parametrize("elevation_m", [0.0, 1500.0, 4000.0])
def test_refraction_of_erfa(elevation_m: float) -> None:
    """ERFA refco (dry air, 0.55 µm, the same pressure and temperature), above 20°: within Bennett's 0.07′."""
    altitude_deg = np.linspace(20, 90, 71)
    a, b = erfa.refco(
        float(refraction.standard_pressure_hpa(elevation_m)),
        float(refraction.standard_temperature_c(elevation_m)),
        0.0,
        0.55,
    )
    tangent = np.tan(np.radians(90 - altitude_deg))
    expected_deg = np.degrees(a * tangent + b * tangent**3)
    got_deg = refraction.refraction_of_apparent_deg(altitude_deg, elevation_m)
    assert np.max(np.abs(got_deg - expected_deg)) < 0.07 * ARCMIN_DEG


@pytest.mark.parametrize(
    ("elevation_m", "pressure_hpa", "temperature_c"),
    [(0, 1013.25, 15.0), (1000, 898.75, 8.5), (2000, 794.95, 2.0), (5000, 540.20, -17.5)],
)
def test_standard_air(elevation_m: float, pressure_hpa: float, temperature_c: float) -> None:
    """ISO 2533 (ICAO) standard atmosphere, table values from memory, to 0.1 hPa."""
    assert float(refraction.standard_pressure_hpa(elevation_m)) == pytest.approx(pressure_hpa, abs=0.1)
    assert float(refraction.standard_temperature_c(elevation_m)) == pytest.approx(temperature_c, abs=0.01)


@pytest.mark.parametrize(
    ("apparent_deg", "table_airmass"), [(0.0, 38.0868), (1.0, 26.2595), (5.0, 10.3164), (10.0, 5.5841)]
)
def test_kasten_and_young_table(apparent_deg: float, table_airmass: float) -> None:
    """Kasten & Young 1989, table II (computed along the ray; their formula is a fit to it), within 0.5 %."""
    assert float(airmass.airmass_kasten_young(apparent_deg)) == pytest.approx(table_airmass, rel=0.005)


@pytest.mark.parametrize(
    ("model", "at_89_9", "at_80"),
    [
        (airmass.airmass_kasten_young, 36.467, 5.586),
        (airmass.airmass_young, 30.733, 5.541),
        (airmass.airmass_pickering, 37.064, 5.581),
    ],
)
def test_airmass_of_pvlib(model: Callable[..., FloatArray], at_89_9: float, at_80: float) -> None:
    """Values kept by pvlib's test_atmosphere.py at zenith angles 89.9°, 80° and 0°, to its last digit."""
    got = model([0.1, 10.0, 90.0])
    assert got == pytest.approx([at_89_9, at_80, 1.0], abs=1e-3)


def test_airmass_of_slalib() -> None:
    """Starlink PAL palTest.c (SLALIB): airmas(1.2354 rad) = 3.015698990074724."""
    got = float(airmass.airmass_hardie(90 - np.degrees(1.2354)))
    assert got == pytest.approx(3.015698990074724, abs=1e-12)


def test_hardie_table() -> None:
    """A public test table of Hardie's formula at altitudes 90° to 20°."""
    expected = [
        1,
        1.01539789919896,
        1.06404912554392,
        1.15434769607778,
        1.30456126868380,
        1.55368763671996,
        1.99450000000000,
        2.90391385011086,
    ]
    assert airmass.airmass_hardie(np.arange(90, 10, -10)) == pytest.approx(expected, abs=1e-12)


def test_thirty_degrees_are_two_airmasses() -> None:
    """Common practice, no source: images are taken above 30°, that is, under two airmasses."""
    for model in (airmass.airmass_kasten_young, airmass.airmass_pickering, airmass.airmass_hardie):
        assert float(model(30.0)) == pytest.approx(2.0, abs=0.01)
