"""The matrix of a celestial solution, in whichever of the three ways it is written."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.ground.angles import wrap_180
from sidelight.ground.types import FloatArray
from sidelight.ledger.cards import Cards, clean_text, is_number

Form = Literal["CD", "PC", "CROTA2", "CDELT"]

_PLACES = ("1_1", "1_2", "2_1", "2_2")
_DEGREES = {
    "": 1.0,
    "deg": 1.0,
    "degree": 1.0,
    "degrees": 1.0,
    "arcmin": 1 / 60,
    "arcsec": 1 / 3600,
    "rad": 180 / np.pi,
}
_DISAGREE_DEG = 0.1
"""Forms of one header whose ups are further apart are noted; digits that were cut off leave less (no source)."""


class UnusableMatrix(Exception):
    """Why a header gives no usable matrix."""


@dataclass(frozen=True, eq=False)
class Matrix:
    """Degrees towards (east, north) per pixel along (x, y), shape (2, 2), and how it was written."""

    values: FloatArray
    form: Form
    notes: tuple[str, ...]


def matrix_of(cards: Cards, east_axis: int = 0) -> Matrix:
    """Return the matrix of a header whose axis `east_axis` (0 or 1) is right ascension.

    CD counts before PC, and PC before CROTA2 (the standard forbids to mix them; solvers that add their result to a
    camera's header do). What contradicts the chosen form is noted. Raises UnusableMatrix.
    """
    written = _written(cards, east_axis)
    if not written:
        raise UnusableMatrix("The image's solution is incomplete: it has neither CD1_1, nor PC1_1, nor CDELT1.")
    form, values = written[0]
    values = values * np.array([[_unit(cards, 1)], [_unit(cards, 2)]])
    if east_axis == 1:
        values = values[::-1]
    across = float(np.linalg.det(values))
    size = float(np.max(np.abs(values)))
    if not np.isfinite(across) or size == 0 or abs(across) < 1e-9 * size**2:
        raise UnusableMatrix(
            "The image's solution is wrong: its matrix has no inverse, both axes point the same way."
        )
    return Matrix(values, form, _contradictions(written, cards, east_axis))


def up_of_matrix_deg(values: FloatArray) -> float:
    """Return the position angle of the +y axis at the reference pixel, [-180, 180) degrees: atan2(CD1_2, CD2_2)."""
    return float(wrap_180(np.degrees(np.arctan2(values[0, 1], values[1, 1]))))


def old_angles_deg(values: FloatArray) -> tuple[float, float]:
    """Return the two angles, [0, 180) degrees, that the old CROTA2 would need for the x and for the y axis.

    Equation 191 of Calabretta & Greisen 2002: equal when the matrix is a turn and two scales, and when they
    are not, no CROTA2 can stand for the matrix.
    """
    (cd11, cd12), (cd21, cd22) = values
    for_x_deg, for_y_deg = np.degrees(np.arctan2([cd21, cd12], [cd11, -cd22])) % 180.0
    return float(for_x_deg), float(for_y_deg)


def _written(cards: Cards, east_axis: int) -> list[tuple[Form, FloatArray]]:
    """Return every form that the header holds, the one that counts first, rows as the header's axes."""
    found: list[tuple[Form, FloatArray]] = []
    if any(f"CD{place}" in cards for place in _PLACES):
        found.append(("CD", np.array([_number(cards, f"CD{place}", 0.0) for place in _PLACES]).reshape(2, 2)))
    if "CDELT1" not in cards and "CDELT2" not in cards:
        return found
    cdelt = np.array([_number(cards, "CDELT1", 1.0), _number(cards, "CDELT2", 1.0)])
    if any(f"PC{place}" in cards for place in _PLACES):
        pc = [_number(cards, f"PC{place}", 1.0 if place in ("1_1", "2_2") else 0.0) for place in _PLACES]
        found.append(("PC", cdelt[:, None] * np.array(pc).reshape(2, 2)))
    north = "CROTA1" if east_axis == 1 else "CROTA2"
    if north in cards:
        found.append(("CROTA2", _turned(cdelt, _number(cards, north, 0.0), east_axis)))
    return found or [("CDELT", np.diag(cdelt))]


def _turned(cdelt: FloatArray, crota_deg: float, east_axis: int) -> FloatArray:
    """Return the matrix of the old form (Calabretta & Greisen 2002, section 6.1), rows as the header's axes."""
    cos, sin = np.cos(np.radians(crota_deg)), np.sin(np.radians(crota_deg))
    values = np.diag(cdelt * cos)
    north_axis = 1 - east_axis
    values[east_axis, north_axis] = -cdelt[north_axis] * sin
    values[north_axis, east_axis] = cdelt[east_axis] * sin
    return np.asarray(values)


def _contradictions(written: list[tuple[Form, FloatArray]], cards: Cards, east_axis: int) -> tuple[str, ...]:
    """Return what in the header speaks against the form that counts."""
    notes = []
    rows = slice(None, None, -1) if east_axis == 1 else slice(None)
    form, values = written[0]
    for other, its in written[1:]:
        turn = float(wrap_180(up_of_matrix_deg(its[rows]) - up_of_matrix_deg(values[rows])))
        mirrored = np.sign(np.linalg.det(its)) == -np.sign(np.linalg.det(values))
        if mirrored or abs(turn) > _DISAGREE_DEG:
            how = "mirrored against" if mirrored else f"{turn:+.2f}° off"
            notes.append(f"The header's {other} is {how} its {form}; {form} is used. Solve it again if unsure.")
    twice = [key for key in cards.repeated if key.startswith(("CD", "PC", "CROTA", "CRVAL", "CRPIX", "CTYPE"))]
    if twice:
        notes.append(f"{', '.join(sorted(set(twice)))} stands twice with different values; the first is used.")
    return tuple(notes)


def _number(cards: Cards, keyword: str, default: float) -> float:
    """Return a number of the solution."""
    value = cards.get(keyword)
    if keyword not in cards:
        return default
    if not is_number(value):
        raise UnusableMatrix(f"The image's solution is wrong: {keyword} is no number.")
    return float(value)


def _unit(cards: Cards, axis: int) -> float:
    """Return degrees per unit of an axis."""
    unit = str(cards.get(f"CUNIT{axis}") or "").strip().lower()
    if unit not in _DEGREES:
        raise UnusableMatrix(f'The image\'s solution is in "{clean_text(unit)[:20]}", not in degrees.')
    return _DEGREES[unit]
