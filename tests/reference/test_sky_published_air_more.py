"""Standard air and what becomes of refraction below the horizon, against the published atmosphere and factor."""

import numpy as np
import pytest

from sidelight.sky import airmass, extinction, refraction

ICAO = (
    (0.0, 1013.25, 15.0),
    (1000.0, 898.75, 8.5),
    (2000.0, 794.95, 2.0),
    (3000.0, 701.09, -4.5),
    (5000.0, 540.20, -17.5),
)
"""ICAO Doc 7488 (ISO 2533): geopotential height in metres, pressure in hPa, temperature in °C (from memory)."""


@pytest.mark.parametrize(("height_m", "hpa", "celsius"), ICAO)
def test_the_standard_atmosphere(height_m: float, hpa: float, celsius: float) -> None:
    """Pressure and temperature are the table's, and refraction goes by Meeus' factor P/1010 × 283/(273 + T)."""
    assert float(refraction.standard_pressure_hpa(height_m)) == pytest.approx(hpa, abs=0.1)
    assert float(refraction.standard_temperature_c(height_m)) == pytest.approx(celsius, abs=1e-9)
    assert float(refraction.air_factor(height_m)) == pytest.approx(hpa / 1010 * 283 / (273 + celsius), rel=2e-4)
    # seen from the table's own figures: Bennett's 9.9′ at 5° of apparent altitude and 1010 hPa, 10 °C
    bennett = 1.0 / np.tan(np.radians(5.0 + 7.31 / 9.4))
    lift_arcmin = float(refraction.refraction_of_apparent_deg(5.0, height_m)) * 60.0
    assert lift_arcmin == pytest.approx(bennett * hpa / 1010 * 283 / (273 + celsius), rel=2e-4)


def test_refraction_fades_below_the_horizon() -> None:
    """As promised: whole at −1°, half of that half-way to −10°, and none from there down."""
    whole, half, none, deep = refraction.refraction_of_apparent_deg([-1.0, -5.5, -10.0, -40.0])
    assert float(whole) == pytest.approx(float(refraction.refraction_of_apparent_deg(-0.9999)), rel=1e-3)
    assert float(half) == pytest.approx(float(whole) / 2.0, rel=1e-9)
    assert float(none) == float(deep) == 0.0


@pytest.mark.parametrize("elevation_m", [0.0, 2500.0])
def test_there_and_back(elevation_m: float) -> None:
    """An object lifted to where it is seen comes down to where it is, to 1e-9°, at every altitude."""
    true_deg = np.concatenate([np.linspace(-12.0, 3.0, 301), np.linspace(3.0, 90.0, 88)])
    seen_deg = true_deg + refraction.refraction_of_true_deg(true_deg, elevation_m)
    back_deg = seen_deg - refraction.refraction_of_apparent_deg(seen_deg, elevation_m)
    np.testing.assert_allclose(back_deg, true_deg, atol=1e-9)


def test_an_ordinary_clear_night() -> None:
    """Two heights as the docstring promises a user, 0.23 at sea level and 0.12 at 2600 m, to half a last digit."""
    assert extinction.clear_v_mag_per_airmass([0.0, 2600.0]) == pytest.approx([0.23, 0.12], abs=0.005)


def test_haze_thins_by_e_in_1500_metres() -> None:
    """What molecules and ozone leave over is 0.10 mag of haze at sea level, 1/e of it at 1500 m (its words)."""

    def haze(height_m: float) -> float:
        clean = extinction.rayleigh_mag_per_airmass(550.0, height_m) + extinction.ozone_mag_per_airmass(550.0)
        return float(extinction.clear_v_mag_per_airmass(height_m) - clean)

    assert haze(0.0) == pytest.approx(0.10)
    assert haze(1500.0) == pytest.approx(0.10 / np.e)


def test_haze_goes_with_angstroms_exponent() -> None:
    """The haze that V has beyond clean air is (λ/550 nm)^−1.3 of it elsewhere (Ångström; common practice)."""
    clean_v, clean_blue = (
        float(extinction.rayleigh_mag_per_airmass(nm) + extinction.ozone_mag_per_airmass(nm)) for nm in (550.0, 450.0)
    )
    blue = float(extinction.extinction_mag_per_airmass(450.0, clean_v + 0.2))
    assert blue - clean_blue == pytest.approx(0.2 * (450.0 / 550.0) ** -1.3)
    # less than clean air: the clean air's own shape, scaled down
    assert float(extinction.extinction_mag_per_airmass(450.0, clean_v / 2.0)) == pytest.approx(clean_blue / 2.0)


def test_where_hardies_polynomial_stops() -> None:
    """Hardie 1962 (as the SLALIB manual has it) down to 3°, by its own terms, and no answer below."""
    more = 1.0 / np.sin(np.radians(3.005)) - 1.0
    published = 1.0 + more - 0.0018167 * more - 0.002875 * more**2 - 0.0008083 * more**3
    assert float(airmass.airmass_hardie(3.005)) == pytest.approx(max(published, 1.0), rel=1e-9)
    assert float(airmass.airmass_hardie(2.995)) == np.inf
