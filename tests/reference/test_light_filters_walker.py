"""Dark and moonlit sky through filters beside Walker's table (NOAO Newsletter 10, 16, 1987; values from memory)."""

import numpy as np
import pytest

from sidelight.light.filters import NARROW_NM, Filter, dark_sky_ratio, moonlight_factor, sky_mag_in_band, usual_filter

BANDS_NM = np.array([438.0, 545.0, 641.0, 798.0])
"""B, V, R, I (Bessell, Castelli & Plez 1998)."""
DARK = np.array([22.7, 21.8, 20.9, 19.9])
MOON_10_DAYS, MOON_14_DAYS = np.array([20.7, 20.7, 20.3, 19.5]), np.array([19.5, 20.0, 19.9, 19.2])
BETWEEN_LINES = np.array([0.95, 0.8, 0.6, 0.35])
"""Share of the dark sky's light between the lines of airglow (from memory)."""
PLACES_NM = (460.0, 490.0, 520.0, 570.0, 615.0, 680.0, 780.0)


def moon_against_v(nm: float) -> float:
    """Return how much more moonlight brightens the sky than in V: both nights' ratios, their mean in magnitudes."""
    added = [10 ** (-0.4 * (moon - DARK)) - 1.0 for moon in (MOON_10_DAYS, MOON_14_DAYS)]
    magnitudes = [-2.5 * np.log10(one / one[1]) for one in added]
    return float(10 ** (-0.4 * np.interp(nm, BANDS_NM, np.mean(magnitudes, axis=0))))


@pytest.mark.parametrize("nm", PLACES_NM)
def test_moonlight_through_a_broad_filter(nm: float) -> None:
    """Between the bands the factor runs straight in magnitudes, to 0.8 %."""
    assert moonlight_factor(Filter("broad", nm, 25.1)) == pytest.approx(moon_against_v(nm), rel=0.008)


@pytest.mark.parametrize("nm", PLACES_NM)
def test_moonlight_through_a_narrow_filter(nm: float) -> None:
    """In a filter narrower than 25 nm the dark sky is its continuum alone, and moonlight counts for more."""
    share = float(np.interp(nm, BANDS_NM, BETWEEN_LINES))
    assert NARROW_NM == 25.0
    assert moonlight_factor(Filter("narrow", nm, 7.0)) == pytest.approx(moon_against_v(nm) / share, rel=0.0035)


@pytest.mark.parametrize("nm", PLACES_NM)
def test_the_dark_sky_has_walkers_colours(nm: float) -> None:
    """A sky as dark as his in V has his brightness in each band, and in between straight in magnitudes, to 0.012."""
    expected = float(np.interp(nm, BANDS_NM, DARK))
    assert float(sky_mag_in_band(Filter("broad", nm, 25.1), 21.8)) == pytest.approx(expected, abs=0.012)
    assert float(sky_mag_in_band(Filter("broad", nm, 25.1), 20.8)) == pytest.approx(expected - 1.0, abs=0.012)


def test_through_v_the_sky_is_v() -> None:
    """A narrow slice at the middle of V, its lines counted, sends what V sends."""
    assert dark_sky_ratio(Filter("V", 545.0, 25.1)) == pytest.approx(1.0, abs=0.012)


@pytest.mark.parametrize(("name", "lines_nm"), [("Ha", (656.28,)), ("OIII", (500.68,)), ("SII", (671.64, 673.08))])
def test_narrow_filters_hold_their_lines(name: str, lines_nm: tuple[float, ...]) -> None:
    """Hydrogen α, [O III] and both lines of [S II] (NIST, in air) lie well inside filters half as wide as usual."""
    one = usual_filter(name, 3.5)
    assert one.centre_nm == pytest.approx(np.mean(lines_nm), abs=0.5)
    assert all(abs(line - one.centre_nm) < one.bandwidth_nm / 2.0 for line in lines_nm)
    assert (one.name, one.bandwidth_nm) == (name, 3.5)


@pytest.mark.parametrize("nm", [438.1, *PLACES_NM])
def test_moonlight_in_a_single_colour(nm: float) -> None:
    """In a passband of 0.1 nm nothing is averaged: the factor is Walker's to a ten-thousandth."""
    share = float(np.interp(nm, BANDS_NM, BETWEEN_LINES))
    assert moonlight_factor(Filter("colour", nm, 0.1)) == pytest.approx(moon_against_v(nm) / share, rel=1e-4)


@pytest.mark.parametrize(("centre_nm", "width_nm"), [(550.0, 300.0), (491.5, 107.0), (593.0, 96.0), (719.5, 157.0)])
def test_a_wide_filter_is_averaged_over_its_passband(centre_nm: float, width_nm: float) -> None:
    """Photons by photons: zero points of Bessell, Castelli & Plez 1998 times Walker's skies, to 0.01 %.

    From 400 to 700 nm, and from band to band, where a twentieth of a nanometre off would show.
    """
    nm = centre_nm + width_nm * ((np.arange(3000) + 0.5) / 3000.0 - 0.5)
    zero = np.interp(nm, [366.0, *BANDS_NM], [7561.0, 13926.0, 9955.0, 7020.0, 4520.0])
    dark = zero * 10 ** (-0.4 * np.interp(nm, BANDS_NM, DARK))
    moon = dark * np.array([moon_against_v(one) for one in nm.tolist()])
    wide = Filter("wide", centre_nm, width_nm)
    assert moonlight_factor(wide) == pytest.approx(float(moon.mean() / dark.mean()), rel=1e-4)
    assert dark_sky_ratio(wide) == pytest.approx(float(dark.mean() / (9955.0 * 10 ** (-0.4 * 21.8))), rel=1e-4)
