"""The night sky's brightness against printed values of Krisciunas & Schaefer 1991 and of others named beside each."""

import numpy as np
import pytest

from sidelight.sky import brightness as br
from sidelight.sky import extinction as ex

K = 0.172
"""Extinction of Krisciunas & Schaefer's site; its dark zenith is 79 nL."""


@pytest.mark.parametrize(("rho", "z", "printed"), [(5, 55, 7216), (30, 30, 1160), (60, 0, 530)])
def test_table_2_of_krisciunas_and_schaefer(rho: float, z: float, printed: float) -> None:
    """Table 2 of the paper: k 0.172, the Moon at zenith distance 60°, phase angle 30°; nL as printed."""
    assert float(br.moonlight_nl(rho, z, 60.0, 30.0, K)) == pytest.approx(printed, abs=0.5)


def test_the_paper_s_site() -> None:
    """The paper's 79.0 nL are V 21.587; its airglow at 60° is 129.67 nL; its path at 60° is 1.8898."""
    assert float(br.mag_from_nl(79.0)) == pytest.approx(21.58707857, abs=1e-7)
    assert float(br.airglow_nl(60.0, 79.0, K)) == pytest.approx(129.66665, abs=1e-4)
    assert float(br.sky_airmass(60.0)) == pytest.approx(1.88982237, abs=1e-8)


def test_scattering_function() -> None:
    """log10 f at 5°, 60° and 70°, as a public implementation's doctests have it after the paper's equations."""
    np.testing.assert_allclose(
        np.log10(br.moon_scattering([5.0, 60.0, 70.0])), [6.4698483, 5.53753202, 5.46945219], atol=1e-7
    )


def test_the_moon_s_own_light() -> None:
    """Magnitude at phase angle 30° and illuminance at 30° and 0°, as a public implementation's doctests have them."""
    assert float(br.moon_v_mag(30.0)) == pytest.approx(-11.94676, abs=1e-5)
    np.testing.assert_allclose(br.moon_illuminance([30.0, 0.0]), [0.0141482915, 0.0291071712], atol=1e-9)


def moonlit_mag(rho: float, z: float, zm: float, phase: float, k: float) -> float:
    """Return the moonlight alone, V mag/arcsec²."""
    return float(br.mag_from_nl(br.moonlight_nl(rho, z, zm, phase, k)))


def test_the_value_of_a_survey_s_simulator() -> None:
    """The doctest of specsim (atmosphere.py): Z 20°, Moon at 70°, separation 50°, phase angle 45°, k 0.15: 19.855."""
    assert moonlit_mag(50.0, 20.0, 70.0, 45.0, 0.15) == pytest.approx(19.855, abs=1e-3)


def test_mistakes_seen_in_public_code_are_not_made() -> None:
    """Each known slip would move the simulator's value by over 0.05 mag; the first to the 20.768 seen in public."""
    ours = br.moonlight_nl(50.0, 20.0, 70.0, 45.0, 0.15)
    rho = np.radians(50.0)
    right = 10**5.36 * (1.06 + np.cos(rho) ** 2) + 10 ** (6.15 - 50 / 40)
    products = 10**5.36 * (1.06 * np.cos(rho) ** 2) + 10 ** (6.15 - 50 / 40)
    haze_only_near = 10**5.36 * (1.06 + np.cos(rho) ** 2)
    slips = {
        "1.06 times cos²": ours * products / right,
        "haze only within 10°": ours * haze_only_near / right,
        "phase angle in radians": br.moonlight_nl(50.0, 20.0, 70.0, np.radians(45.0), 0.15),
        "illuminated fraction as phase angle": br.moonlight_nl(50.0, 20.0, 70.0, (1 + np.cos(np.pi / 4)) / 2, 0.15),
        "altitudes for zenith distances": br.moonlight_nl(50.0, 70.0, 20.0, 45.0, 0.15),
    }
    for slip, wrong in slips.items():
        assert abs(2.5 * np.log10(float(wrong) / float(ours))) > 0.05, slip
    assert float(br.mag_from_nl(slips["1.06 times cos²"])) == pytest.approx(20.768, abs=1e-3)


def test_the_sky_at_airmass_one_and_a_half() -> None:
    """Benn & Ellison 1998 found the moonless sky of La Palma 0.25 mag brighter at airmass 1.5: within 0.15 mag."""
    z = np.degrees(np.arccos(1 / 1.5))
    brighter = 2.5 * np.log10(float(br.airglow_nl(z, 1.0, 0.12)))
    assert brighter == pytest.approx(0.25, abs=0.15)


@pytest.mark.parametrize(("mag", "mcd"), [(22.0, 0.1712), (21.9, 0.1877)])
def test_nanolamberts_against_candela(mag: float, mcd: float) -> None:
    """cd/m² = 10.8e4 · 10^(−0.4 µ), the sky meters' convention; a lambert is 10⁴/π cd/m². They agree to 1 %."""
    candela = float(br.nl_from_mag(mag)) * 1e-9 * 1e4 / np.pi
    assert candela * 1e3 == pytest.approx(mcd, rel=0.01)


def test_rayleigh_s_scattering() -> None:
    """Optical depth 0.0972 at 550 nm and sea level, 0.1 % of Bucholtz 1995 and Bodhaine et al. 1999 (from memory)."""
    assert float(ex.rayleigh_mag_per_airmass(550.0)) / 1.0857 == pytest.approx(0.0972, rel=0.01)


def test_extinction_over_a_high_desert() -> None:
    """Patat et al. 2011 (A&A 527, A91; from memory) give 0.22 in B, 0.13 in V, 0.08 in R for Paranal at 2640 m."""
    k = ex.extinction_mag_per_airmass([440.0, 550.0, 657.0], 0.13, 2640.0)
    np.testing.assert_allclose(k, [0.22, 0.13, 0.08], atol=0.02)
