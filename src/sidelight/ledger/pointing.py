"""Where a frame points: its own solution first, then what the mount said."""

import math
from dataclasses import dataclass
from typing import Literal

from sidelight.ground.angles import parse_angle_deg, wrap_360
from sidelight.ground.errors import SidelightError
from sidelight.ledger.cards import Cards, clean_text, is_number
from sidelight.ledger.equinox import equinox_of, to_j2000
from sidelight.ledger.headers import FitsHeader
from sidelight.ledger.wcs import Solution, find_solution, sky_of_px

Source = Literal["solution", "mount", "none"]

_PAIRS = (("RA", "DEC"), ("OBJCTRA", "OBJCTDEC"), ("RA_OBJ", "DEC_OBJ"), ("RA-TEL", "DEC-TEL"))


@dataclass(frozen=True)
class Pointing:
    """The middle of a frame, ICRS, and who says so; None when nobody does."""

    ra_deg: float | None = None
    dec_deg: float | None = None
    source: Source = "none"
    notes: tuple[str, ...] = ()


def pointing_of(header: FitsHeader) -> Pointing:
    """Return where a frame points, to about an arcminute at best: enough to tell targets apart.

    A celestial solution of the image counts first, and of that its middle. Then RA and DEC, then OBJCTRA and OBJCTDEC
    (common practice, no source): numbers are degrees, text in sexagesimal form is hours and degrees. A place of 0, 0
    exactly is what software writes when it knows none.
    """
    solution = find_solution(header)
    if isinstance(solution, Solution) and solution.plain:
        ra, dec = sky_of_px(solution, (solution.width_px + 1) / 2, (solution.height_px + 1) / 2)
        return Pointing(float(ra), float(dec), "solution", solution.notes)
    if isinstance(solution, Solution):
        return _of_equinox(solution.ra_deg, solution.dec_deg, "solution", header.cards)
    notes: tuple[str, ...] = ()
    for ra_key, dec_key in _PAIRS:
        if ra_key not in header.cards or dec_key not in header.cards:
            continue
        place = _place(header.cards, ra_key, dec_key)
        if isinstance(place, str):
            notes += (place,)
        elif place != (0.0, 0.0):
            return _of_equinox(*place, "mount", header.cards)
    return Pointing(notes=notes)


def _place(cards: Cards, ra_key: str, dec_key: str) -> tuple[float, float] | str:
    """Return (RA, Dec) in degrees as a pair of cards has it, or why not."""
    values = []
    for keyword, hours in ((ra_key, True), (dec_key, False)):
        value = cards.get(keyword)
        if isinstance(value, str):
            shown = clean_text(value)[:40]
            try:
                value = parse_angle_deg(shown, hours=hours)
            except SidelightError:
                return f'{keyword} "{shown}" is not an angle.'
        if not is_number(value) or not math.isfinite(value):
            return f"{keyword} is not an angle."
        values.append(float(value))
    if not (-360 <= values[0] <= 360 and -90 <= values[1] <= 90):
        return f"{ra_key} and {dec_key} are no place on the sky."
    return float(wrap_360(values[0])), values[1]


def _of_equinox(ra_deg: float, dec_deg: float, source: Source, cards: Cards) -> Pointing:
    """Bring a place to J2000."""
    year, notes = equinox_of(cards)
    ra, dec = to_j2000(ra_deg, dec_deg, year)
    return Pointing(float(ra), float(dec), source, notes)
