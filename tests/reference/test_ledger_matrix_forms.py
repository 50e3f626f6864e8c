"""The matrix of a header: what may be left out, units, axes the other way round, and forms that do not agree.

Defaults and units: FITS Standard 4.0, sections 8.1, 8.2 and 4.3; astropy's WCS stands beside.
"""

import numpy as np
import pytest
from astropy import units as u
from astropy.io import fits
from astropy.wcs import WCS
from tests.strategies.ledger import card

from sidelight.ground.angles import wrap_180
from sidelight.ledger.cards import Cards
from sidelight.ledger.matrix import Matrix, UnusableMatrix, matrix_of, up_of_matrix_deg

EAST_FIRST = {
    "CTYPE1": "RA---TAN",
    "CTYPE2": "DEC--TAN",
    "CRVAL1": 10.0,
    "CRVAL2": 40.0,
    "CRPIX1": 1.0,
    "CRPIX2": 1.0,
}
NORTH_FIRST = EAST_FIRST | {"CTYPE1": "DEC--TAN", "CTYPE2": "RA---TAN", "CRVAL1": 40.0, "CRVAL2": 10.0}

Header = dict[str, object]


def ours(header: Header) -> Matrix:
    """Return our reading of a header."""
    raw = {keyword: card(keyword, value).decode("latin-1")[10:] for keyword, value in header.items()}
    return matrix_of(Cards(raw), east_axis=0 if str(header["CTYPE1"]).startswith("RA") else 1)


def cd(up_deg: float, mirrored: bool = False, scale_deg: float = 0.001) -> dict[str, float]:
    """Return the CD matrix of a camera whose up lies at a position angle, and its right 90° before it or after it."""
    up = np.radians(up_deg)
    right = up + np.radians(90.0 if mirrored else -90.0)
    names = {"CD1_1": np.sin(right), "CD2_1": np.cos(right), "CD1_2": np.sin(up), "CD2_2": np.cos(up)}
    return {name: float(scale_deg * value) for name, value in names.items()}


@pytest.mark.parametrize(
    "written",
    [
        {"CD1_2": 0.7, "CD2_1": 0.4},
        {"CDELT1": -0.3},
        {"CDELT2": 0.3},
        {"CDELT1": -0.3, "PC1_2": 0.5},
        {"CDELT2": 0.3, "PC2_1": 0.5},
        {"CDELT1": -0.3, "CDELT2": 0.4, "PC1_1": 0.5},
        {"CDELT1": -0.3, "CDELT2": 0.4, "PC2_2": 0.5},
        {"CDELT1": -0.3, "CROTA2": 20.0},
    ],
    ids=str,
)
@pytest.mark.parametrize("axes", [EAST_FIRST, NORTH_FIRST], ids=["east first", "north first"])
def test_what_is_left_out_has_its_default(written: Header, axes: Header) -> None:
    """CDELT is 1, PC the unit matrix and CD nothing where a header is silent; astropy's matrix is the same."""
    if "CROTA2" in written and axes is NORTH_FIRST:
        written = {"CDELT1": -0.3, "CROTA1": 20.0}
    header = axes | written
    where = WCS(fits.Header(header | {"NAXIS": 2, "NAXIS1": 9, "NAXIS2": 9})).wcs
    theirs = where.cd if where.has_cd() else np.diag(where.get_cdelt()) @ where.get_pc()
    expected = theirs if axes is EAST_FIRST else theirs[::-1]
    assert ours(header).values == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        *((name, u.deg) for name in ("", "deg", "degree", "degrees")),
        *(("arcmin", u.arcmin), ("arcsec", u.arcsec), ("ARCSEC", u.arcsec), ("rad", u.rad)),
    ],
)
@pytest.mark.parametrize("axis", [1, 2])
def test_units(name: str, unit: u.Unit, axis: int) -> None:
    """The unit of an axis counts for its row and for no other; astropy's units are the same."""
    plain = ours(EAST_FIRST | cd(30.0)).values
    values = ours(EAST_FIRST | cd(30.0) | {f"CUNIT{axis}": name}).values
    assert values[axis - 1] == pytest.approx(plain[axis - 1] * unit.to(u.deg), rel=1e-12)
    assert values[2 - axis] == pytest.approx(plain[2 - axis], rel=1e-12)


@pytest.mark.parametrize("scale_deg", [1e-6, 1e-3, 1.0])
@pytest.mark.parametrize("apart_deg", [0.0, 180.0])
def test_axes_that_lie_on_one_line_are_refused(scale_deg: float, apart_deg: float) -> None:
    """Both axes along one line are no solution, at any scale and despite rounding; a tenth of a degree makes one."""

    def header(y_deg: float) -> Header:
        x, y = np.radians(33.0), np.radians(y_deg)
        values = {"CD1_1": np.sin(x), "CD2_1": np.cos(x), "CD1_2": np.sin(y), "CD2_2": np.cos(y)}
        return EAST_FIRST | {name: float(scale_deg * value) for name, value in values.items()}

    with pytest.raises(UnusableMatrix, match="no inverse"):
        ours(header(33.0 + apart_deg))
    up_deg = up_of_matrix_deg(ours(header(33.1 + apart_deg)).values)
    assert float(wrap_180(up_deg - 33.1 - apart_deg)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("off_deg", [5.0, -5.0, 0.1005, 0.0995, -0.1005, -0.0995])
@pytest.mark.parametrize("up_deg", [0.0, 70.0, -178.0])
def test_forms_more_than_a_tenth_of_a_degree_apart_are_noted(up_deg: float, off_deg: float) -> None:
    """CROTA2 turns the other way than position angles: −up − d puts up d further than the CD matrix does."""
    old = {"CDELT1": -0.001, "CDELT2": 0.001, "CROTA2": -up_deg - off_deg}
    notes = ours(EAST_FIRST | cd(up_deg) | old).notes
    assert [f"CROTA2 is {off_deg:+.2f}° off its CD" in note for note in notes] == [True] * (abs(off_deg) > 0.1)


@pytest.mark.parametrize("off_deg", [5.0, -5.0])
def test_forms_are_compared_with_the_axes_the_other_way_round(off_deg: float) -> None:
    """Declination on the first axis: the same camera, its two rows exchanged, is noted with the same angle."""
    rows = {"CD1_1": "CD2_1", "CD1_2": "CD2_2", "CD2_1": "CD1_1", "CD2_2": "CD1_2"}
    camera: Header = {rows[name]: value for name, value in cd(70.0).items()}
    other = np.reshape(list(cd(70.0 + off_deg).values()), (2, 2)).T[::-1]
    pc = {f"PC{row + 1}_{column + 1}": float(other[row, column]) for row in (0, 1) for column in (0, 1)}
    notes = ours(NORTH_FIRST | camera | {"CDELT1": 1.0, "CDELT2": 1.0} | pc).notes
    assert [f"PC is {off_deg:+.2f}° off its CD" in note for note in notes] == [True]


@pytest.mark.parametrize("mirrored", [False, True])
def test_forms_of_other_parity_are_noted(mirrored: bool) -> None:
    """A camera's scales that make the picture a mirrored one are noted, though up is the same; equal ones are not."""
    for across_deg, noted in ((-0.001, mirrored), (0.001, not mirrored)):
        old = {"CDELT1": across_deg, "CDELT2": 0.001, "CROTA2": 0.0}
        notes = ours(EAST_FIRST | cd(0.0, mirrored) | old).notes
        assert ["CROTA2 is mirrored against its CD; CD is used" in note for note in notes] == [True] * noted
