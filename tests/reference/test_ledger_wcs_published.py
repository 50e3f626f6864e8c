"""Solved images against published cases and astropy's WCS (which is Calabretta's WCSLIB)."""

import warnings
from pathlib import Path

import numpy as np
import pytest
from astropy.io import fits
from astropy.wcs import WCS
from tests.strategies.ledger import header_of

from sidelight.ground.angles import position_angle_deg, separation_deg, wrap_180
from sidelight.ledger.matrix import old_angles_deg
from sidelight.ledger.wcs import Solution, find_solution, px_of_sky, sky_of_px, solution_of, solved_image

EXAMPLE_1 = {
    "CTYPE1": "RA---TAN",
    "CTYPE2": "DEC--TAN",
    "CRPIX1": 256.0,
    "CRPIX2": 257.0,
    "CDELT1": -0.003,
    "CDELT2": 0.003,
    "CRVAL1": 45.83,
    "CRVAL2": 63.57,
}
"""Calabretta & Greisen 2002 (A&A 395, 1077), example 1 of section 7.4."""

NOT_DECOMPOSABLE = ((6.02715759044019e-6, 1.27956486107373e-8), (-1.6056794631393e-8, -5.96793770760736e-6))
"""A matrix of the fitswcs list, August 2004; M. Calabretta's verdict: no CDELT and CROTA2 stand for it."""


@pytest.mark.parametrize(
    ("x_px", "y_px", "ra_deg", "dec_deg"),
    [(1, 2, 47.503264, 62.795111), (1, 512, 47.595581, 64.324332), (511, 512, 44.064419, 64.324332)],
)
def test_example_1_of_calabretta_and_greisen(x_px: int, y_px: int, ra_deg: float, dec_deg: float) -> None:
    """The three corners stand where the paper's table has them, and the way back meets the pixel."""
    solution = solution_of(header_of(EXAMPLE_1))
    ra, dec = sky_of_px(solution, x_px, y_px)
    assert [float(ra), float(dec)] == pytest.approx([ra_deg, dec_deg], abs=1e-6)
    x, y = px_of_sky(solution, ra_deg, dec_deg)
    assert [float(x), float(y)] == pytest.approx([x_px, y_px], abs=1e-3)


def test_the_projection_plane_of_example_1() -> None:
    """The corners lie at ±0.765° in the plane of projection (Calabretta & Greisen 2002, example 1)."""
    solution = solution_of(header_of(EXAMPLE_1))
    corner = solution.matrix @ [1 - solution.x_px, 2 - solution.y_px]
    assert corner == pytest.approx([0.765, -0.765], abs=1e-12)


def unit_solution(ra_rad: float, dec_rad: float) -> Solution:
    """Return an image whose pixels are radians in the plane of projection: x east, y north, the middle at (0, 0)."""
    degrees = float(np.degrees(1.0))
    place = {"CRVAL1": float(np.degrees(ra_rad)), "CRVAL2": float(np.degrees(dec_rad)), "CRPIX1": 0.0, "CRPIX2": 0.0}
    return solution_of(header_of(EXAMPLE_1 | place | {"CDELT1": degrees, "CDELT2": degrees}))


@pytest.mark.parametrize(
    ("star_rad", "centre_rad", "plane"),
    [
        ((1.3, 1.55), (2.3, 1.5), (-0.01753200983236980595, 0.05962940005778712891)),
        ((3.3, -1.0), (3.1, -0.9), (0.1086112301590404, -0.1095506200711452)),
    ],
    ids=["ERFA t_erfa_c tpxes", "SLALIB (PAL palTest) ds2tp"],
)
def test_published_tangent_planes(
    star_rad: tuple[float, float], centre_rad: tuple[float, float], plane: tuple[float, float]
) -> None:
    """The plane coordinates of ERFA's and SLALIB's own tests come out, to the digits that cards hold."""
    x, y = px_of_sky(unit_solution(*centre_rad), *np.degrees(star_rad))
    assert [float(x), float(y)] == pytest.approx(plane, abs=1e-12)


def test_a_published_way_back() -> None:
    """ERFA's test of tpsts (t_erfa_c): the place on the sky of ξ −0.03, η 0.07 about (2.3, 1.5) rad."""
    ra, dec = np.radians(sky_of_px(unit_solution(2.3, 1.5), -0.03, 0.07))
    assert [float(ra), float(dec)] == pytest.approx([0.7596127167359629775, 1.540864645109263028], abs=1e-12)


def test_a_matrix_that_no_old_keyword_can_stand_for() -> None:
    """The published angles come out (179.84°, 0.12°), and the image is reported as skewed instead of averaged."""
    matrix = np.array(NOT_DECOMPOSABLE)
    for_x, for_y = old_angles_deg(matrix)
    assert for_x == pytest.approx(179.84, abs=0.01)
    assert for_y == pytest.approx(0.12, abs=0.01)
    names = ("CD1_1", "CD1_2", "CD2_1", "CD2_2")
    unscaled = {key: value for key, value in EXAMPLE_1.items() if not key.startswith("CDELT")}
    image = solved_image(solution_of(header_of(unscaled | dict(zip(names, matrix.ravel().tolist(), strict=True)))))
    assert not image.sound
    assert any("skewed" in note for note in image.notes)
    assert any("not square" in note for note in image.notes)
    assert not image.mirrored


@pytest.mark.parametrize("rho_deg", [0.0, 30.0, 90.0, -45.0, 200.0])
@pytest.mark.parametrize("mirrored", [False, True])
def test_crota2_turns_up_the_other_way(rho_deg: float, mirrored: bool) -> None:
    """CROTA2 = ρ means that up is at position angle −ρ, for both parities (Calabretta & Greisen 2002, eq. 189)."""
    cards = EXAMPLE_1 | {"CROTA2": rho_deg, "CDELT1": 0.003 if mirrored else -0.003, "CRPIX1": 256.5, "CRPIX2": 256.5}
    image = solved_image(solution_of(header_of(cards)))
    assert float(wrap_180(image.up_deg + rho_deg)) == pytest.approx(0.0, abs=1e-9)
    assert image.mirrored == mirrored
    beside = float(wrap_180(image.right_deg - image.up_deg))
    assert beside == pytest.approx(90.0 if mirrored else -90.0, abs=1e-4)


@pytest.mark.parametrize("rho_deg", [10.0, 150.0, 210.0, -30.0])
def test_equation_191_answers_within_half_a_turn(rho_deg: float) -> None:
    """Equation 191 gives the turn back modulo 180°, in [0, 180), the sign going into the scales."""
    image = solution_of(header_of(EXAMPLE_1 | {"CROTA2": rho_deg}))
    for angle in old_angles_deg(image.matrix):
        assert angle == pytest.approx(rho_deg % 180.0, abs=1e-9)


def test_crota_stands_on_the_latitude_axis() -> None:
    """With declination on the first axis, CROTA1 is the turn (AIPS convention), and astropy agrees."""
    cards = {
        "CTYPE1": "DEC--TAN",
        "CTYPE2": "RA---TAN",
        "CRPIX1": 256.0,
        "CRPIX2": 250.0,
        "CDELT1": 0.003,
        "CDELT2": -0.003,
        "CRVAL1": 63.57,
        "CRVAL2": 45.83,
        "CROTA1": 25.0,
    }
    solution = solution_of(header_of(cards))
    header = fits.Header(cards | {"NAXIS": 2, "NAXIS1": 512, "NAXIS2": 512})
    dec, ra = WCS(header).all_pix2world([10.0, 300.0], [20.0, 400.0], 1)
    ours = sky_of_px(solution, [10.0, 300.0], [20.0, 400.0])
    assert np.max(separation_deg(*ours, ra, dec)) < 1e-9


def astropy_folder(*parts: str) -> Path:
    """Return a folder of the sample files that astropy ships with its own tests."""
    import astropy

    folder = Path(astropy.__file__).parent.joinpath(*parts)
    if not folder.is_dir():
        pytest.skip("this build of astropy ships no sample files")
    return folder


def header_from(header: fits.Header) -> Solution | str:
    """Return what we find in an astropy header."""
    cards = {}
    for each in header.cards:
        if isinstance(each.value, bool | int | float | str) and len(each.keyword) <= 8 and each.keyword:
            cards.setdefault(each.keyword, each.value)
    return find_solution(header_of(cards, int(header.get("NAXIS1", 192)), int(header.get("NAXIS2", 192))))


@pytest.mark.parametrize("name", ["TAN", "SIN", "ARC", "STG", "ZEA", "AIR", "ZPN", "CAR", "COE"])
def test_calabrettas_sample_maps(name: str) -> None:
    """Calabretta's maps of one field in many projections (1904-66, in astropy) are placed as WCSLIB places them."""
    path = astropy_folder("wcs", "tests", "data", "maps") / f"1904-66_{name}.hdr"
    header = fits.Header.fromstring(path.read_bytes())
    solution = header_from(header)
    assert isinstance(solution, Solution), solution
    x, y = np.array([60.0, 96.5, 130.0]), np.array([80.0, 96.5, 110.0])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        ra, dec = WCS(header).all_pix2world(x, y, 1)
    ours = sky_of_px(solution, x, y)
    assert np.max(separation_deg(*ours, ra, dec)) < 1e-9


@pytest.mark.parametrize("name", ["sip.fits", "sip2.fits", "j94f05bgq_flt.fits", "tpvonly.hdr", "irac_sip.hdr"])
def test_real_solutions_with_polynomials(name: str) -> None:
    """Real images whose solutions carry polynomials are placed as astropy places them."""
    path = astropy_folder("wcs", "tests", "data") / name
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if name.endswith(".hdr"):
            header = fits.Header.fromstring(path.read_bytes())
        else:
            with fits.open(path) as parts:
                header = next(part.header for part in parts if "CTYPE1" in part.header)
        solution = header_from(header)
        assert isinstance(solution, Solution), solution
        x, y = np.array([50.0, 100.0, 240.0]), np.array([40.0, 130.0, 222.0])
        ra, dec = WCS(header).all_pix2world(x, y, 1)
    ours = sky_of_px(solution, x, y)
    assert np.max(separation_deg(*ours, ra, dec)) < 1e-8
    image = solved_image(solution)
    upwards = sky_of_px(solution, (solution.width_px + 1) / 2, (solution.height_px + 1) / 2 + 1.0)
    up = position_angle_deg(image.centre_ra_deg, image.centre_dec_deg, *upwards)
    assert float(wrap_180(image.up_deg - up)) == pytest.approx(0.0, abs=1e-9)
