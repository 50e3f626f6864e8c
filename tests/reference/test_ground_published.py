"""Separation and position angle against published worked examples."""

import numpy as np
import pytest

from sidelight.ground import angles


def sexagesimal(text: str) -> float:
    """Return degrees for "h m s" or "d m s" text."""
    return angles.parse_angle_deg(text, hours="h" in text)


@pytest.mark.parametrize(
    ("first", "second", "expected_deg", "tolerance_deg", "source"),
    [
        (
            ("14h15m39.7s", "+19 10 57"),
            ("13h25m11.6s", "-11 09 41"),
            32 + 47 / 60 + 35 / 3600,
            0.5 / 3600,
            "Meeus, Astronomical Algorithms 2nd ed., example 17.a, p. 110",
        ),
        (
            ("4h35m55.2s", "+16 30 33"),
            ("16h29m24s", "-26 25 55"),
            169 + 58 / 60,
            0.5 / 60,
            "Meeus, Astronomical Algorithms 2nd ed., exercise, p. 110",
        ),
    ],
)
def test_separation_of_stars(
    first: tuple[str, str], second: tuple[str, str], expected_deg: float, tolerance_deg: float, source: str
) -> None:
    """Separations of bright stars as the handbook gives them."""
    got = float(angles.separation_deg(*map(sexagesimal, first), *map(sexagesimal, second)))
    assert abs(got - expected_deg) < tolerance_deg, source


def test_erfa_vectors() -> None:
    """ERFA t_erfa_c.c: seps(1.0, 0.1, 0.2, -3.0) and pas(1.0, 0.1, 0.2, -1.0), radians."""
    separation = np.radians(angles.separation_deg(*np.degrees([1.0, 0.1, 0.2, -3.0])))
    assert abs(float(separation) - 2.346722016996998842) < 1e-14
    angle = np.radians(angles.wrap_180(angles.position_angle_deg(*np.degrees([1.0, 0.1, 0.2, -1.0]))))
    assert abs(float(angle) - -2.724544922932270424) < 1e-12


def test_slalib_bearing() -> None:
    """Starlink PAL palTest.c (SLALIB vectors): dbear(1.234, -0.123, 2.345, 0.789), radians."""
    angle = np.radians(angles.position_angle_deg(*np.degrees([1.234, -0.123, 2.345, 0.789])))
    assert abs(float(angle) - 0.7045970341781791) < 1e-12


def test_astropy_table_of_offsets() -> None:
    """Astropy test_separation.py: position angles and separations, degrees."""
    ra2, dec2 = np.array([-1.0, -2.0, -3.0]), np.array([0.1, 1.1, 2.1])
    dec1 = np.array([0.0, 1.0, 2.0])
    expected_pa = np.array([275.710887, 272.880921, 271.963607])
    expected_separation = np.array([1.0049871, 2.0021627, 2.9997464])
    assert np.all(np.abs(angles.position_angle_deg(0.0, dec1, ra2, dec2) - expected_pa) < 1e-6)
    assert np.all(np.abs(angles.separation_deg(0.0, dec1, ra2, dec2) - expected_separation) < 1e-6)


@pytest.mark.parametrize(
    ("args", "expected_deg"),
    [
        ((0, 45, 0, -45), 90.0),
        ((0, 60, 0, -30), 90.0),
        ((-135, -15, 45, 15), 180.0),
        ((100, -89, -80, 89), 180.0),
        ((0, 0, 1 / 60, 1 / 60), 0.023570225877234643),
    ],
)
def test_antipodes_and_neighbours(args: tuple[float, ...], expected_deg: float) -> None:
    """Astropy test_angular_separation.py: antipodes and arcminutes, to 2e-10 degrees."""
    assert abs(float(angles.separation_deg(*args)) - expected_deg) < 2e-10
