"""When a frame was begun, from the several ways in which headers say it."""

import datetime as dt
import re
from dataclasses import dataclass

from sidelight.ledger.cards import Cards, clean_text, is_number

_MJD_ZERO = dt.datetime(1858, 11, 17, tzinfo=dt.UTC)
_DAY_S = 86400.0
EARLIEST_YEAR = 1980
"""There was hardly a sensor at an amateur's telescope before; a clock that was never set says 1970 or 1601."""
LATEST_YEAR = 2100

_MOMENT = re.compile(
    r"(?P<year>\d{4})-(?P<month>\d\d?)-(?P<day>\d\d?)"
    r"(?:[T ](?P<hour>\d\d?):(?P<minute>\d\d?)(?::(?P<second>\d\d?(?:\.\d*)?))?)?"
    r"\s*(?P<zone>Z|[+-]\d\d:?\d\d)?"
)
_OLD_DATE = re.compile(r"(?P<day>\d\d)/(?P<month>\d\d)/(?P<year>\d\d)")
_CLOCK = re.compile(r"(?P<hour>\d\d?):(?P<minute>\d\d?)(?::(?P<second>\d\d?(?:\.\d*)?))?")


@dataclass(frozen=True)
class Moment:
    """The beginning of an exposure, or None with the reason. exact : the header gave a time of day."""

    mjd: float | None
    exact: bool
    notes: tuple[str, ...] = ()


def start_of(cards: Cards, exposure_s: float) -> Moment:
    """Return when an exposure began, UTC.

    In this order: DATE-OBS, DATE-BEG (text), MJD-OBS, MJD-BEG (numbers), then DATE-AVG and MJD-AVG, the middle
    (FITS 4.0, section 9). A date alone is completed by TIME-OBS or UT, as older cameras write it; without either the
    frame has no instant. Years before 1980 and after 2100 are a clock that was not set.
    """
    notes = _scale_notes(cards)
    for keyword, half in (("DATE-OBS", 0.0), ("DATE-BEG", 0.0), ("DATE-AVG", 0.5)):
        value = cards.get(keyword)
        if isinstance(value, str) and (found := _moment(value, cards)) is not None:
            return _checked(found - half * exposure_s / _DAY_S, keyword, notes)
    for keyword, half in (("MJD-OBS", 0.0), ("MJD-BEG", 0.0), ("MJD-AVG", 0.5)):
        value = cards.get(keyword)
        if is_number(value):
            return _checked(float(value) - half * exposure_s / _DAY_S, keyword, notes)
    given = cards.get("DATE-OBS")
    if given is None:
        return Moment(None, False, ("The header has no DATE-OBS.",))
    return Moment(None, False, (f'DATE-OBS "{clean_text(str(given))[:40]}" is not a date with a time.',))


def _moment(text: str, cards: Cards) -> float | None:
    """Return the MJD of a date with a time, or None."""
    text = text.strip()
    found, year = _MOMENT.fullmatch(text), None
    if found is None and (found := _OLD_DATE.fullmatch(text)):
        # the form that FITS had until 1999: always the twentieth century
        year = 1900 + int(found["year"])
    if found is None:
        return None
    clock = found if found.groupdict().get("hour") else _clock(cards)
    if clock is None:
        return None
    try:
        day = dt.datetime(year or int(found["year"]), int(found["month"]), int(found["day"]), tzinfo=dt.UTC)
    except ValueError:
        return None
    hour, minute, second = int(clock["hour"]), int(clock["minute"]), float(clock["second"] or 0)
    if hour > 23 or minute > 59 or second >= 61:
        return None
    seconds = hour * 3600 + minute * 60 + second - 60 * _zone_min(found.groupdict().get("zone"))
    return (day - _MJD_ZERO).days + seconds / _DAY_S


def _clock(cards: Cards) -> re.Match[str] | None:
    """Return the time of day from a card of its own."""
    for keyword in ("TIME-OBS", "UT", "UTC", "UTSTART"):
        value = cards.get(keyword)
        if isinstance(value, str) and (found := _CLOCK.fullmatch(value.strip())):
            return found
    return None


def _zone_min(zone: str | None) -> int:
    """Return minutes ahead of UTC."""
    if zone in (None, "Z"):
        return 0
    digits = zone[1:].replace(":", "")
    return (-1 if zone[0] == "-" else 1) * (int(digits[:2]) * 60 + int(digits[2:]))


def _checked(mjd: float, keyword: str, notes: tuple[str, ...]) -> Moment:
    """Return the moment if it can be true."""
    low, high = (
        (dt.datetime(year, 1, 1, tzinfo=dt.UTC) - _MJD_ZERO).days for year in (EARLIEST_YEAR, LATEST_YEAR + 1)
    )
    if not low <= mjd < high:
        why = f"{keyword} lies outside the years {EARLIEST_YEAR} to {LATEST_YEAR}: the clock was not set."
        return Moment(None, False, (why,))
    return Moment(mjd, True, notes)


def _scale_notes(cards: Cards) -> tuple[str, ...]:
    """Return a note when the time is not said to be UTC."""
    scale = str(cards.get("TIMESYS") or "UTC").strip().upper()
    if scale.startswith(("UTC", "UT1", "UT", "GMT", "GPS")):
        return ()
    if scale.startswith(("TAI", "TT", "TDT", "ET", "TDB", "TCB", "TCG")):
        return (f"The time is {scale[:4]}, some seconds off UTC; taken as UTC.",)
    return (f'The time scale "{clean_text(scale)[:20]}" is unknown; taken as UTC.',)
