"""Places of another equinox brought to J2000 and back."""

import re

import numpy as np

from sidelight.ground.angles import direction_deg, unit_vector
from sidelight.ground.types import FloatArray, Floats
from sidelight.ledger.cards import Cards

_J2000_YEAR = 2000.0
_JD_2000 = 2451545.0
_DAYS_A_YEAR = 365.25
_SAME_YEARS = 0.01
_YEAR = re.compile(r"[JB]?(\d{4}(?:\.\d*)?)")


def equinox_of(cards: Cards) -> tuple[float, tuple[str, ...]]:
    """Return the year of a header's equinox, and a note when it is not J2000.

    EQUINOX or the older EPOCH, as a number or as "J2000"; without them, RADESYS FK4 means 1950 (FITS 4.0, 8.3).
    What makes no sense is taken as J2000, and noted.
    """
    system = str(cards.get("RADESYS") or cards.get("RADECSYS") or "").strip().upper()
    keyword = "EQUINOX" if "EQUINOX" in cards else "EPOCH"
    value = cards.get(keyword)
    if system == "ICRS" or (value is None and not system.startswith("FK4")):
        return _J2000_YEAR, ()
    if value is None:
        year: float | None = 1950.0
    elif isinstance(value, str):
        found = _YEAR.fullmatch(value.strip().upper())
        year = float(found[1]) if found else None
    else:
        year = None if isinstance(value, bool) else float(value)
    if year is None or not 1850 <= year <= 2150:
        return _J2000_YEAR, (f"{keyword} makes no sense; J2000 is taken.",)
    if abs(year - _J2000_YEAR) < _SAME_YEARS:
        return _J2000_YEAR, ()
    return year, (f"Coordinates of equinox {year:g} are brought to J2000.",)


def to_j2000(ra_deg: Floats, dec_deg: Floats, equinox_year: float) -> tuple[FloatArray, FloatArray]:
    """Return (RA, Dec) of J2000, degrees, for a place of another mean equinox; broadcasts.

    Precession of IAU 2006 (ERFA pmat06). For a place of FK4 (B1950) it leaves out what sets the two catalogues apart,
    under 2″; for a mount's apparent place of date, nutation and aberration, under 40″. That is enough to tell which
    object a frame shows; it is not astrometry.
    """
    return _turned(ra_deg, dec_deg, equinox_year, back=False)


def from_j2000(ra_deg: Floats, dec_deg: Floats, equinox_year: float) -> tuple[FloatArray, FloatArray]:
    """Return (RA, Dec) of another mean equinox, degrees, for a place of J2000: the inverse of `to_j2000`."""
    return _turned(ra_deg, dec_deg, equinox_year, back=True)


def _turned(ra_deg: Floats, dec_deg: Floats, equinox_year: float, *, back: bool) -> tuple[FloatArray, FloatArray]:
    """Precess one way or the other."""
    if abs(equinox_year - _J2000_YEAR) < _SAME_YEARS:
        return np.asarray(ra_deg, dtype=np.float64), np.asarray(dec_deg, dtype=np.float64)
    import erfa

    of_date = erfa.pmat06(_JD_2000, (equinox_year - _J2000_YEAR) * _DAYS_A_YEAR)
    # rows of vectors: v @ M is the transposed matrix at work, which leads from the date back to J2000
    return direction_deg(unit_vector(ra_deg, dec_deg) @ (of_date.T if back else of_date))
