"""Solved images of any turn, parity and form, beside astropy's WCS."""

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ledger import KnownImage, forms, header_of, known_images

from sidelight.ground.angles import position_angle_deg, separation_deg, wrap_180
from sidelight.ground.errors import BadInput
from sidelight.ledger.equinox import from_j2000, to_j2000
from sidelight.ledger.wcs import px_of_sky, sky_of_px, solution_of, solved_image, true_focal_length_mm


def astropys(image: KnownImage, form: str) -> WCS:
    """Return astropy's reading of an image."""
    return WCS(fits.Header({**image.cards(form), "NAXIS": 2, "NAXIS1": 512, "NAXIS2": 512}))


@given(known_images, forms, st.lists(st.tuples(st.floats(-100, 700), st.floats(-100, 700)), min_size=1, max_size=5))
@settings(max_examples=50, deadline=None)
def test_places_are_astropys(image: KnownImage, form: str, places: list[tuple[float, float]]) -> None:
    """Every pixel stands on the sky where astropy has it (1e-9°), and comes back to itself."""
    x, y = np.array(places).T
    solution = solution_of(header_of(image.cards(form)))
    assert solution.plain
    ra, dec = sky_of_px(solution, x, y)
    assert np.max(separation_deg(ra, dec, *astropys(image, form).all_pix2world(x, y, 1))) < 1e-9
    back_x, back_y = px_of_sky(solution, ra, dec)
    assert back_x == pytest.approx(x, abs=1e-6)
    assert back_y == pytest.approx(y, abs=1e-6)


@given(known_images, forms)
@settings(max_examples=50, deadline=None)
def test_the_camera_angle_is_found(image: KnownImage, form: str) -> None:
    """At the reference pixel in the middle, the angle, scale and parity put in come out; all three forms agree."""
    middle = KnownImage(image.ra_deg, image.dec_deg, image.up_deg, image.scale_deg, image.mirrored, 256.5, 256.5)
    answer = solved_image(solution_of(header_of(middle.cards(form))))
    assert float(wrap_180(answer.up_deg - image.up_deg)) == pytest.approx(0.0, abs=1e-7)
    assert answer.scale_arcsec_per_px == pytest.approx(3600 * image.scale_deg, rel=1e-9)
    assert answer.mirrored == image.mirrored
    assert answer.sound
    assert answer.skew_deg == pytest.approx(0.0, abs=1e-6)
    assert float(separation_deg(answer.centre_ra_deg, answer.centre_dec_deg, image.ra_deg, image.dec_deg)) < 1e-9


@given(known_images, forms)
@settings(max_examples=40, deadline=None)
def test_up_in_the_middle_is_where_astropy_goes_up(image: KnownImage, form: str) -> None:
    """Away from the reference pixel, too, up is the way from the middle to the next row as astropy places both."""
    answer = solved_image(solution_of(header_of(image.cards(form))))
    ra, dec = astropys(image, form).all_pix2world([256.5, 256.5], [256.5, 300.0], 1)
    theirs = position_angle_deg(ra[0], dec[0], ra[1], dec[1])
    assert float(wrap_180(answer.up_deg - theirs)) == pytest.approx(0.0, abs=1e-6)


@given(known_images)
@settings(max_examples=30, deadline=None)
def test_rows_counted_from_the_top_turn_the_picture_over(image: KnownImage) -> None:
    """A file that says its first row is the top one has up the other way, and the other parity."""
    usual = solved_image(solution_of(header_of(image.cards("CD"))))
    turned = solved_image(solution_of(header_of(image.cards("CD") | {"ROWORDER": "TOP-DOWN"})))
    assert abs(float(wrap_180(turned.up_deg - usual.up_deg))) == pytest.approx(180.0, abs=1e-6)
    assert turned.mirrored != usual.mirrored


@given(st.floats(300, 3000), st.floats(2, 10), st.integers(1, 4))
@settings(max_examples=30, deadline=None)
def test_the_focal_length_follows_from_the_scale(focal_mm: float, pixel_um: float, binning: int) -> None:
    """The focal length that makes a scale is found from it, whatever the binning."""
    scale = np.degrees(np.arctan(pixel_um * binning / 1000 / focal_mm)) * 3600
    assert true_focal_length_mm(float(scale), pixel_um, binning) == pytest.approx(focal_mm, rel=1e-6)


@given(st.floats(0, 360), st.floats(-90, 90), st.floats(1900, 2100))
@settings(max_examples=40, deadline=None)
def test_equinoxes_go_and_come_back(ra_deg: float, dec_deg: float, year: float) -> None:
    """A place brought to another equinox and back is where it was."""
    back = to_j2000(*from_j2000(ra_deg, dec_deg, year), year)
    assert float(separation_deg(ra_deg, dec_deg, *back)) < 1e-9


@pytest.mark.parametrize("kind", ["RA---TAN\0", "RA---TANä", "RA---TAN-SIP\x7f"])
def test_a_projection_with_a_sign_that_none_has_is_refused(kind: str) -> None:
    """A damaged name of the projection is refused as a solution that cannot be used."""
    cards = {
        "CTYPE1": kind, "CTYPE2": "DEC--TAN", "CRVAL1": 10.0, "CRVAL2": 41.0, "CRPIX1": 256.0, "CRPIX2": 256.0,
        "CD1_1": -1e-4, "CD1_2": 0.0, "CD2_1": 0.0, "CD2_2": 1e-4,
    }  # fmt: skip
    with pytest.raises(BadInput, match="cannot be used"):
        solved_image(solution_of(header_of(cards)))
