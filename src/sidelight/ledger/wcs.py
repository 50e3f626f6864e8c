"""What a solved image says: where it points, which way is up, how large a pixel is, and whether that hangs together.

Reads a celestial world coordinate system in its three written forms: a CD matrix, PC with CDELT, and the old CROTA2.
Standards: Greisen & Calabretta 2002 (A&A 395, 1061), Calabretta & Greisen 2002 (A&A 395, 1077), FITS 4.0 section 8.
The plain gnomonic projection, which solvers write, is computed here; every other one and the polynomials some solvers
add are left to astropy.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

from sidelight.ground.angles import direction_deg, position_angle_deg, unit_vector
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats
from sidelight.ledger.cards import Cards, clean_text, is_number
from sidelight.ledger.equinox import equinox_of, from_j2000, to_j2000
from sidelight.ledger.headers import FitsHeader
from sidelight.ledger.matrix import Form, Matrix, UnusableMatrix, matrix_of, old_angles_deg

ARCSEC_PER_RADIAN = 206264.806247

SKEW_DEG = 0.1
"""Axes further from a right angle than this are reported; a solver's fit leaves a few hundredths (no source)."""
UNEVEN = 0.005
"""Scales of the axes that differ by a greater share than this are reported."""


@dataclass(frozen=True, eq=False)
class Solution:
    """A celestial world coordinate system, pixels counted from 1 as FITS does.

    matrix : degrees of intermediate coordinates (east, north) per pixel (x, y). plain : gnomonic, nothing added.
    top_down : the file says that its first row is the picture's top one.
    """

    form: Form
    ra_deg: float
    dec_deg: float
    x_px: float
    y_px: float
    matrix: FloatArray
    width_px: int
    height_px: int
    equinox_year: float = 2000.0
    plain: bool = True
    top_down: bool = False
    notes: tuple[str, ...] = ()
    cards: Cards | None = None


@dataclass(frozen=True)
class SolvedImage:
    """What the solution of one image says, at the middle of the picture, against ICRS north.

    up_deg : position angle of the picture's up. right_deg : of its right-hand side.
    scale_arcsec_per_px : geometric mean of both axes. mirrored : east is to the right of north.
    skew_deg : by how much the angle between the axes is greater than 90°; uneven_ratio : scale along y over x.
    sound : neither skewed nor uneven. form : how the matrix was written. notes : what a person should know.
    """

    centre_ra_deg: float
    centre_dec_deg: float
    up_deg: float
    right_deg: float
    scale_arcsec_per_px: float
    mirrored: bool
    skew_deg: float
    uneven_ratio: float
    sound: bool
    width_deg: float
    height_deg: float
    form: Form
    notes: tuple[str, ...] = ()


def solution_of(header: FitsHeader) -> Solution:
    """Return the solution in an image's header; raises BadInput, with what to do, when there is none to use."""
    found = find_solution(header)
    if isinstance(found, Solution):
        return found
    raise BadInput(
        Problem(
            found,
            file=header.path,
            expected="a celestial solution in the header: CTYPE1, CRVAL1, CRPIX1 and so on, with CD, PC or CROTA2",
            suggestion="Let any plate solver write its solution into the file, then ask again.",
        )
    )


def find_solution(header: FitsHeader) -> Solution | str:
    """Return the solution in an image's header, or in words why there is none."""
    cards = header.cards
    axes = [str(cards.get(f"CTYPE{axis}") or "").upper() for axis in (1, 2)]
    if not any(axes):
        return "The image has not been solved: its header holds no coordinates of its pixels."
    names = [axis[:4].rstrip("-") for axis in axes]
    if sorted(names) != ["DEC", "RA"]:
        shown = " and ".join(clean_text(axis)[:20] or "nothing" for axis in axes)
        return f"The image's axes are {shown}, not right ascension and declination."
    east = names.index("RA")
    wrong = [key for key in ("CRVAL1", "CRVAL2", "CRPIX1", "CRPIX2") if not is_number(cards.get(key))]
    if wrong:
        return f"The image's solution is incomplete: {', '.join(wrong)} is missing or no number."
    crval = (_float(cards, f"CRVAL{east + 1}"), _float(cards, f"CRVAL{2 - east}"))
    if abs(crval[1]) > 90:
        return f"The image's solution is wrong: it has a declination of {crval[1]:g}°."
    try:
        matrix = matrix_of(cards, east)
    except UnusableMatrix as why:
        return str(why)
    return _solution(header, axes[east], crval, matrix)


def _solution(header: FitsHeader, east_axis: str, crval: tuple[float, float], matrix: Matrix) -> Solution:
    """Put a solution together."""
    cards = header.cards
    equinox_year, notes = equinox_of(cards)
    plain = east_axis[5:].rstrip() == "TAN" and cards.get("LONPOLE") in (None, 180) and abs(crval[1]) < 90
    return Solution(
        form=matrix.form,
        ra_deg=crval[0],
        dec_deg=crval[1],
        x_px=_float(cards, "CRPIX1"),
        y_px=_float(cards, "CRPIX2"),
        matrix=matrix.values,
        width_px=header.width_px,
        height_px=header.height_px,
        equinox_year=equinox_year,
        plain=plain and not any(keyword.startswith(("PV1_", "PV2_")) for keyword in cards),
        top_down=str(cards.get("ROWORDER") or "").strip().upper() == "TOP-DOWN",
        notes=matrix.notes + notes,
        cards=cards,
    )


def _float(cards: Cards, keyword: str) -> float:
    """Return a number that is known to be one."""
    value = cards.get(keyword)
    return float(value) if isinstance(value, int | float) else 0.0


def sky_of_px(solution: Solution, x_px: Floats, y_px: Floats) -> tuple[FloatArray, FloatArray]:
    """Return (RA, Dec), ICRS degrees, of places in the image, counted from 1 at the middle of the first pixel.

    Broadcasts. The gnomonic projection is exact (to 1e-11°); with polynomials or another projection astropy answers.
    """
    x, y = np.broadcast_arrays(np.asarray(x_px, dtype=np.float64), np.asarray(y_px, dtype=np.float64))
    if solution.plain:
        off = np.stack([x - solution.x_px, y - solution.y_px], axis=-1)
        xi, eta = np.moveaxis(np.radians(off @ solution.matrix.T), -1, 0)
        forward, east, north = _axes_at(solution)
        ra, dec = direction_deg(forward + xi[..., None] * east + eta[..., None] * north)
    else:
        with _refusing():
            ra, dec = _astropy(solution).all_pix2world(x, y, 1)[:: _order(solution)]
    return to_j2000(ra, dec, solution.equinox_year)


def px_of_sky(solution: Solution, ra_deg: Floats, dec_deg: Floats) -> tuple[FloatArray, FloatArray]:
    """Return the places (x, y) in the image, counted from 1, of ICRS directions; broadcasts.

    Raises BadInput for a direction 90° or more from the image: it has no place in the image's plane.
    """
    ra, dec = from_j2000(ra_deg, dec_deg, solution.equinox_year)
    if not solution.plain:
        with _refusing():
            x, y = _astropy(solution).all_world2pix(*(ra, dec)[:: _order(solution)], 1)
        return np.asarray(x), np.asarray(y)
    forward, east, north = _axes_at(solution)
    vector = unit_vector(ra, dec)
    depth = vector @ forward
    if np.any(depth <= 1e-9):
        raise BadInput(Problem("This place on the sky is 90° or more from the image.", suggestion="Check the place."))
    plane = np.degrees(np.stack([vector @ east, vector @ north], axis=-1) / depth[..., None])
    off = plane @ np.linalg.inv(solution.matrix).T
    return off[..., 0] + solution.x_px, off[..., 1] + solution.y_px


def solved_image(solution: Solution) -> SolvedImage:
    """Return what a solution says at the middle of the picture.

    The picture's up is the way its rows are counted (+y), as FITS asks, or the other way when the file says that
    its first row is the top one (ROWORDER, common practice). Against astropy's answer: 1e-9°.
    """
    x, y = (solution.width_px + 1) / 2, (solution.height_px + 1) / 2
    step = -1.0 if solution.top_down else 1.0
    ra, dec = sky_of_px(solution, [x, x, x + 1.0], [y, y + step, y])
    up, right = position_angle_deg(ra[0], dec[0], ra[1:], dec[1:])
    skew_deg, uneven = _shape(solution.matrix)
    scale_deg = float(np.sqrt(abs(np.linalg.det(solution.matrix))))
    wide, high = (
        2 * float(np.degrees(np.arctan(np.radians(side / 2 * scale_deg))))
        for side in (solution.width_px, solution.height_px)
    )
    notes = _doubts(solution, skew_deg, uneven)
    return SolvedImage(
        float(ra[0]),
        float(dec[0]),
        float(up),
        float(right),
        scale_deg * 3600.0,
        bool((np.linalg.det(solution.matrix) > 0) != solution.top_down),
        skew_deg,
        uneven,
        not notes,
        wide,
        high,
        solution.form,
        solution.notes + notes,
    )


def true_focal_length_mm(scale_arcsec_per_px: float, pixel_um: float, binning: int = 1) -> float:
    """Return the focal length that a measured scale proves; pixel_um is the sensor's own, unbinned pixel.

    206264.8 × pixel × binning / scale. As good as the pixel size is known: a solver's scale is good to 1e-4.
    """
    return ARCSEC_PER_RADIAN * pixel_um * binning / 1000.0 / scale_arcsec_per_px


def _axes_at(solution: Solution) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return unit vectors forwards, to the east and to the north at the reference point."""
    ra, dec = np.radians(solution.ra_deg), np.radians(solution.dec_deg)
    forward = unit_vector(solution.ra_deg, solution.dec_deg)
    east = np.array([-np.sin(ra), np.cos(ra), 0.0])
    north = np.array([-np.sin(dec) * np.cos(ra), -np.sin(dec) * np.sin(ra), np.cos(dec)])
    return forward, east, north


def _shape(matrix: FloatArray) -> tuple[float, float]:
    """Return (skew in degrees, scale along y over scale along x), the same for a mirrored picture.

    The product of both axes falls with the cosine of the angle between them, the determinant with its sine.
    """
    along_x, along_y = matrix.T
    skew = -np.degrees(np.arctan2(along_x @ along_y, abs(np.linalg.det(matrix))))
    return float(skew), float(np.linalg.norm(along_y) / np.linalg.norm(along_x))


def _doubts(solution: Solution, skew_deg: float, uneven: float) -> tuple[str, ...]:
    """Return what is wrong with the shape of the pixels."""
    doubts = []
    if abs(skew_deg) > SKEW_DEG:
        for_x, for_y = old_angles_deg(solution.matrix)
        doubts.append(
            f"The solution is skewed: the axes stand {90 + skew_deg:.2f}° apart, x turned by {for_x:.2f}° and"
            f" y by {for_y:.2f}°. The angle of up is that of y. Solve the image again."
        )
    if abs(uneven - 1.0) > UNEVEN:
        doubts.append(f"The pixels are not square: y has {uneven:.4f} times the scale of x. Solve the image again.")
    return tuple(doubts)


def _order(solution: Solution) -> int:
    """Return 1 when right ascension is the first axis, -1 when it is the second."""
    first = (solution.cards or Cards({})).get("CTYPE1")
    return 1 if str(first).upper().startswith("RA") else -1


def _astropy(solution: Solution) -> Any:  # noqa: ANN401 - astropy has no types
    """Return astropy's reading of the solution, with the matrix that counts here; raises BadInput when it refuses."""
    import warnings

    from astropy.io.fits import Header
    from astropy.wcs import WCS

    with _refusing(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        header = Header()
        for keyword, value in _cards_for_astropy(solution):
            header[keyword] = value
        return WCS(header)


def _cards_for_astropy(solution: Solution) -> Iterator[tuple[str, Any]]:
    """Give the cards of the solution that astropy is to know, with the matrix that counts here."""
    cards = solution.cards or Cards({})
    yield from (("NAXIS", 2), ("NAXIS1", solution.width_px), ("NAXIS2", solution.height_px))
    polynomials = ("A_", "B_", "AP_", "BP_") if "-SIP" in str(cards.get("CTYPE1")) else ()
    keep = ("CTYPE", "CRVAL", "CRPIX", "LONPOLE", "LATPOLE", "PV1_", "PV2_", *polynomials)
    yield from ((keyword, cards.get(keyword)) for keyword in cards if keyword.startswith(keep))
    rows = solution.matrix[:: _order(solution)]
    for row in (0, 1):
        for column in (0, 1):
            yield f"CD{row + 1}_{column + 1}", float(rows[row, column])


@contextmanager
def _refusing() -> Iterator[None]:
    """Turn what astropy says to a solution that cannot be used into a refusal."""
    from astropy.wcs import NoConvergence

    try:
        yield
    except (ValueError, KeyError, MemoryError, ArithmeticError, TypeError, NoConvergence) as error:
        why = (str(error).splitlines() or [type(error).__name__])[0][:120]
        raise BadInput(
            Problem(
                f"The image's solution cannot be used: {why}.",
                suggestion="Solve the image again, with a plain tangent projection if the solver lets you choose.",
            )
        ) from error
