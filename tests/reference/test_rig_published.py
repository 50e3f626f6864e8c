"""The focal plane and its angles against published vectors, FITS WCS, and a rule of the double-star observers."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ground import declinations, right_ascensions
from tests.strategies.rig import position_angles, rigs

from sidelight.rig import bench, guider, optics
from sidelight.rig.records import Rig


def test_gnomonic_vector_of_sofa() -> None:
    """SOFA's test of tpxes (t_sofa_c.c): ra 1.3, dec 1.55 about ra 2.3, dec 1.5 rad."""
    x, y = optics.plane_mm(*np.degrees([1.3, 1.55, 2.3, 1.5]), 1.0)
    assert float(x) == pytest.approx(-0.01753200983236980595, abs=1e-15)
    assert float(y) == pytest.approx(0.05962940005778712891, abs=1e-15)


def test_inverse_vector_of_sofa() -> None:
    """SOFA's test of tpsts (t_sofa_c.c): ξ −0.03, η 0.07 about ra 2.3, dec 1.5 rad."""
    place = np.radians(optics.sky_deg(-0.03, 0.07, *np.degrees([2.3, 1.5]), 1.0))
    np.testing.assert_allclose(place, [0.7596127167359629775, 1.540864645109263028], atol=1e-13)


def test_gnomonic_vector_of_slalib() -> None:
    """SLALIB's test of ds2tp (sla_test.f): 3.3, −1.0 about 3.1, −0.9 rad."""
    x, y = optics.plane_mm(*np.degrees([3.3, -1.0, 3.1, -0.9]), 1.0)
    assert float(x) == pytest.approx(0.1086112301590404, abs=1e-12)
    assert float(y) == pytest.approx(-0.1095506200711452, abs=1e-12)


def test_example_1_of_the_wcs_paper() -> None:
    """Calabretta & Greisen 2002, example 1: the corner (1, 2) of a TAN image is (−0.765, 0.765)° off on the plane."""
    focal = np.degrees(1.0)
    x, y = optics.plane_mm([47.503264, 47.595581], [62.795111, 64.324332], 45.83, 63.57, focal)
    np.testing.assert_allclose(x, [0.765, 0.765], atol=2e-6)
    np.testing.assert_allclose(y, [-0.765, 0.765], atol=2e-6)


def test_pixel_scale_and_field() -> None:
    """3.76 µm at 530 mm is 1.46331″ a pixel; 6248 × 4176 such pixels span 2.53924° × 1.69732° (tan is exact)."""
    assert float(optics.pixel_scale_arcsec(530, 3.76)) == pytest.approx(206264.806 * 0.00376 / 530, rel=1e-8)
    np.testing.assert_allclose(optics.field_deg(530, [6248 * 0.00376, 4176 * 0.00376]), [2.53924, 1.69732], atol=5e-6)


@given(ra0=right_ascensions, dec0=declinations, step=st.tuples(st.floats(-2, 2), st.floats(-2, 2)))
@settings(max_examples=40, deadline=None)
def test_the_plane_is_erfas(ra0: float, dec0: float, step: tuple[float, float]) -> None:
    """The plane is that of erfa.tpxes for any pointing, the poles included."""
    import erfa

    ra, dec = ra0 + step[0], float(np.clip(dec0 + step[1], -90, 90))
    xi, eta = erfa.tpxes(*np.radians([ra, dec, ra0, dec0]))
    np.testing.assert_allclose(
        np.array(optics.plane_mm(ra, dec, ra0, dec0, 1000.0)), [xi * 1e3, eta * 1e3], atol=1e-9
    )


def guide_wcs(rig: Rig, ra0: float, dec0: float, angle_deg: float) -> object:
    """Return a FITS WCS of the guide sensor, built from the header's keywords: outwards is up or right."""
    from astropy.wcs import WCS

    guide = rig.guider
    assert guide is not None
    step = np.degrees(guide.sensor.pixel_um / 1000.0 / rig.telescope.effective_focal_length_mm)
    up = angle_deg if guide.long_side == "across" else angle_deg + 90.0
    px = guide.stem_radius_mm / (guide.sensor.pixel_um / 1000.0)
    wcs = WCS(naxis=2)
    wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    wcs.wcs.crval = [ra0, dec0]
    wcs.wcs.crpix = [0.0, -px] if guide.long_side == "across" else [-px, 0.0]
    columns = [np.array([np.sin(a), np.cos(a)]) * step for a in np.radians([up - 90.0, up])]
    wcs.wcs.cd = np.column_stack(columns)
    return wcs


@given(
    rig=rigs(),
    pointing=st.tuples(st.floats(0, 359), st.floats(-89.9, 89.9)),
    angle=position_angles,
    off=st.tuples(st.floats(-8, 8), st.floats(-8, 8)),
)
@settings(max_examples=40, deadline=None)
def test_a_star_falls_on_the_pixel_that_fits_wcs_says(
    rig: Rig, pointing: tuple[float, float], angle: float, off: tuple[float, float]
) -> None:
    """A star's place on the guide sensor is that of a FITS WCS whose axis pixel lies a stem radius away."""
    guide, focal = rig.guider, rig.telescope.effective_focal_length_mm
    assert guide is not None
    g = np.radians(angle)
    x_mm, y_mm = guide.stem_radius_mm * np.sin(g) + off[0], guide.stem_radius_mm * np.cos(g) + off[1]
    ra, dec = optics.sky_deg(x_mm, y_mm, *pointing, focal)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pixel = guide_wcs(rig, *pointing, angle).all_world2pix([[float(ra), float(dec)]], 1)[0]  # type: ignore[attr-defined]
    ours = guider.place_on_sensor_px(*optics.plane_mm(ra, dec, *pointing, focal), angle, guide)
    np.testing.assert_allclose(np.array(ours), pixel, atol=1e-4)


@pytest.mark.parametrize(
    ("ra", "dec", "years", "expected"),
    [(90.0, 0.0, 26.0, 0.145), (90.0, 70.0, 26.0, 0.42), (270.0, 0.0, 26.0, -0.145), (0.0, 40.0, 26.0, 0.0)],
)
def test_the_double_star_observers_rule(ra: float, dec: float, years: float, expected: float) -> None:
    """The turn of position angles is 0.0056° · years · sin α / cos δ: the double-star observers' rule of thumb."""
    turn = float(bench.pole_of_date_turn_deg(ra, dec, years))
    rule = 0.0056 * years * np.sin(np.radians(ra)) / np.cos(np.radians(dec))
    assert turn == pytest.approx(expected, abs=5e-3)
    assert turn == pytest.approx(rule, abs=0.01)


@given(ra=right_ascensions, dec=st.floats(-89, 89), years=st.floats(-100, 100), angle=st.floats(0, 360))
@settings(max_examples=40, deadline=None)
def test_the_turn_is_that_of_two_stars_carried_to_date(ra: float, dec: float, years: float, angle: float) -> None:
    """Two near stars, carried to the mean equator of date by ERFA, keep their distance and turn by our angle."""
    import erfa

    near = erfa.s2c(*np.radians([ra, dec]))
    north, east = np.cross(np.cross(near, [0, 0, 1.0]), near), np.cross([0, 0, 1.0], near)
    aside = np.cos(np.radians(angle)) * north / np.linalg.norm(north)
    aside = aside + np.sin(np.radians(angle)) * east / np.linalg.norm(east)
    pair = [near, near + 1e-6 * aside]
    carried = [erfa.c2s(erfa.rxp(erfa.pmat06(2451545.0, years * 365.25), one)) for one in pair]
    turned = np.degrees(erfa.pas(*carried[0], *carried[1])) - angle
    apart = (turned - float(bench.pole_of_date_turn_deg(ra, dec, years)) + 180.0) % 360.0 - 180.0
    assert abs(apart) < 1e-5
