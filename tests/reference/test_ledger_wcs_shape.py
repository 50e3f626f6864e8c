"""The shape of a solved image's pixels, and which axis is which, beside astropy's WCS."""

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import SkyCoord
from astropy.io import fits
from astropy.wcs import WCS
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ledger import header_of

from sidelight.ground.angles import separation_deg
from sidelight.ledger.wcs import px_of_sky, sky_of_px, solution_of, solved_image

MIDDLE_PX = 256.5
SCALE_DEG = 3e-4

Cards = dict[str, object]


def cards_of(up_deg: float, apart_deg: float, ratio: float, mirrored: bool) -> Cards:
    """Return a header with +x `apart_deg` to the right of +y, or mirrored, and y of `ratio` times the scale of x."""
    along_y = np.radians(up_deg)
    along_x = along_y + np.radians(apart_deg if mirrored else -apart_deg)
    x, y = (np.array([np.sin(angle), np.cos(angle)]) * SCALE_DEG for angle in (along_x, along_y))
    y = y * ratio
    return {
        "CTYPE1": "RA---TAN", "CTYPE2": "DEC--TAN", "CRVAL1": 120.0, "CRVAL2": 35.0,
        "CRPIX1": MIDDLE_PX, "CRPIX2": MIDDLE_PX,
        "CD1_1": float(x[0]), "CD1_2": float(y[0]), "CD2_1": float(x[1]), "CD2_2": float(y[1]),
    }  # fmt: skip


def astropys(cards: Cards) -> WCS:
    """Return astropy's reading of a header."""
    return WCS(fits.Header(cards | {"NAXIS": 2, "NAXIS1": 512, "NAXIS2": 512}))


@given(
    up_deg=st.floats(-180.0, 180.0),
    apart_deg=st.floats(60.0, 120.0),
    ratio=st.floats(0.5, 2.0),
    mirrored=st.booleans(),
)
@settings(max_examples=40, deadline=None)
def test_the_axes_stand_apart_as_astropy_places_them(
    up_deg: float, apart_deg: float, ratio: float, mirrored: bool
) -> None:
    """The angle between the axes and the ratio of their scales are those of a pixel to the right and one up."""
    cards = cards_of(up_deg, apart_deg, ratio, mirrored)
    where = astropys(cards)
    x, y = np.array([0.0, 100.0, 0.0]) + MIDDLE_PX, np.array([0.0, 0.0, 100.0]) + MIDDLE_PX
    middle, right, above = SkyCoord(*where.all_pix2world(x, y, 1), unit=u.deg)
    turn = middle.position_angle(right) - middle.position_angle(above)
    apart = abs(float(turn.wrap_at(180.0 * u.deg).deg))
    scales = [np.tan(middle.separation(one).rad) for one in (right, above)]
    image = solved_image(solution_of(header_of(cards)))
    assert image.skew_deg == pytest.approx(apart - 90.0, abs=1e-8)
    assert image.uneven_ratio == pytest.approx(float(scales[1] / scales[0]), rel=1e-9)
    assert image.mirrored == mirrored


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("skew_deg", [-0.1003, -0.0997, 0.0997, 0.1003])
def test_a_skew_of_a_tenth_of_a_degree_is_reported(skew_deg: float, mirrored: bool) -> None:
    """More than 0.1° is reported, with the angle at which the axes stand; a little less passes."""
    image = solved_image(solution_of(header_of(cards_of(20.0, 90.0 + skew_deg, 1.0, mirrored))))
    assert image.sound == (abs(skew_deg) < 0.1)
    assert [f"the axes stand {90.0 + skew_deg:.2f}° apart" in note for note in image.notes] == [True] * (
        not image.sound
    )


@pytest.mark.parametrize("ratio", [0.99497, 0.99503, 1.00497, 1.00503])
def test_pixels_uneven_by_half_a_per_cent_are_reported(ratio: float) -> None:
    """Scales that differ by more than 0.5 % are reported, with their ratio; a little less passes."""
    image = solved_image(solution_of(header_of(cards_of(20.0, 90.0, ratio, mirrored=False))))
    assert image.sound == (abs(ratio - 1.0) < 0.005)
    assert [f"y has {ratio:.4f} times" in note for note in image.notes] == [True] * (not image.sound)


@pytest.mark.parametrize("kind", ["SIN", "ARC", "STG", "ZEA", "TAN-SIP"])
@pytest.mark.parametrize("first", ["RA", "DEC"])
def test_either_axis_may_come_first(kind: str, first: str) -> None:
    """In any projection, right ascension and declination keep apart when declination is the first axis, both ways."""
    names, place = {"RA": f"RA---{kind}", "DEC": f"DEC--{kind}"}, {"RA": 120.0, "DEC": 35.0}
    order = ["RA", "DEC"] if first == "RA" else ["DEC", "RA"]
    cards: Cards = {f"CTYPE{number}": names[axis] for number, axis in enumerate(order, 1)}
    cards |= {f"CRVAL{number}": place[axis] for number, axis in enumerate(order, 1)}
    cards |= {"CRPIX1": 200.0, "CRPIX2": 300.0, "CD1_1": -2e-4, "CD1_2": 1e-4, "CD2_1": 1.1e-4, "CD2_2": 2.1e-4}
    if kind == "TAN-SIP":
        cards |= {"A_ORDER": 2, "A_2_0": 2e-6, "A_0_2": -1e-6, "B_ORDER": 2, "B_1_1": 3e-6}
    x, y = np.array([10.0, 256.0, 500.0]), np.array([40.0, 256.0, 90.0])
    world = dict(zip(order, astropys(cards).all_pix2world(x, y, 1), strict=True))
    solution = solution_of(header_of(cards))
    assert not solution.plain
    ra, dec = sky_of_px(solution, x, y)
    assert float(np.max(separation_deg(ra, dec, world["RA"], world["DEC"]))) < 1e-9
    back = px_of_sky(solution, world["RA"], world["DEC"])
    np.testing.assert_allclose(back, [x, y], atol=1e-4)
