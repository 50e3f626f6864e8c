"""One value against its field: what comes out of the file goes in, what the program uses comes out."""

import datetime as dt
import math
import re
from collections.abc import Callable
from typing import Any

from sidelight.ground.angles import parse_angle_deg
from sidelight.ground.errors import BadInput, did_you_mean
from sidelight.notebook.schema.fields import Field, in_toml

LONGEST_TEXT = 500
MOST_IN_A_LIST = 5000
Raw = Any


class WrongValueError(Exception):
    """A value that its field does not accept; says what is wrong and, when it is known, what to write."""

    def __init__(self, message: str, suggestion: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.suggestion = suggestion


def checked(field: Field, raw: Raw) -> Any:  # noqa: ANN401 - the kind decides
    """Return a field's value as the program uses it; raises WrongValueError.

    Numbers become float, whole numbers int, angles degrees, dates and times of day their own types, lists tuples.
    """
    return READERS[field.kind](field, raw)


def shown(raw: Raw) -> str:
    """Return a value as it can be quoted in a sentence, short and on one line."""
    if isinstance(raw, dict):
        return "a table"
    if isinstance(raw, list):
        return "a list"
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, int) and abs(raw) >= 10**15:
        return "a number of very many digits"
    if isinstance(raw, str):
        clean = "".join(sign if sign.isprintable() else "·" for sign in raw)
        return f'"{clean}"' if len(clean) <= 40 else f'"{clean[:37]}…"'
    return str(raw)


def _is_number(raw: Raw) -> bool:
    """Whether a value is a number; true and false are none."""
    return isinstance(raw, int | float) and not isinstance(raw, bool)


def _in_range(field: Field, raw: float) -> None:
    """Refuse what is not finite or out of range; compares before it converts, so that huge numbers do no harm."""
    if isinstance(raw, float) and not math.isfinite(raw):
        raise WrongValueError(f"{raw} is not a number that can be used.")
    low, high = field.low, field.high
    if low is not None and (raw < low or (field.above_low and raw == low)):
        raise WrongValueError(f"{shown(raw)} is too small.")
    if high is not None and raw > high:
        raise WrongValueError(f"{shown(raw)} is too large.")


def _number(field: Field, raw: Raw) -> float:
    """Read a number."""
    if not _is_number(raw):
        raise WrongValueError(f"{shown(raw)} is not a number.", _as_number(field, raw))
    _in_range(field, raw)
    return float(raw)


def _as_number(field: Field, raw: Raw) -> str | None:
    """Return advice for a number written as text."""
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*(\D*)", raw) if isinstance(raw, str) else None
    if not found:
        return None
    unit = f"; the key says that it is in {field.unit_words}" if found[2].strip() and field.unit else ""
    return f"Write {field.key} = {found[1].replace(',', '.')}, without quotes{unit}."


def _whole(field: Field, raw: Raw) -> int:
    """Read a whole number; 3.0 is one."""
    if not _is_number(raw):
        raise WrongValueError(f"{shown(raw)} is not a number.", _as_number(field, raw))
    _in_range(field, raw)
    if raw != int(raw):
        raise WrongValueError(f"{shown(raw)} is not a whole number.")
    return int(raw)


def _yes_no(field: Field, raw: Raw) -> bool:
    """Read true or false."""
    if isinstance(raw, bool):
        return raw
    said = str(raw).casefold()
    meant = "true" if said in ("yes", "true", "on", "1") else "false" if said in ("no", "false", "off", "0") else None
    raise WrongValueError(f"{shown(raw)} is neither true nor false.", meant and f"Write {field.key} = {meant}.")


def _text(field: Field, raw: Raw) -> str:
    """Read a text: not empty, not endless, on one line."""
    if not isinstance(raw, str):
        raise WrongValueError(
            f"{shown(raw)} is not text.", f"Write {field.key} = {in_toml(shown(raw).strip(chr(34)))}."
        )
    if not raw.strip():
        raise WrongValueError("The text is empty.", "Write something between the quotes, or take the line out.")
    if len(raw) > LONGEST_TEXT:
        raise WrongValueError(f"The text {shown(raw)} is longer than {LONGEST_TEXT} signs.")
    if not raw.isprintable():
        raise WrongValueError(f"The text {shown(raw)} holds signs that cannot be printed.", "Keep it on one line.")
    return raw.strip()


def _choice(field: Field, raw: Raw) -> str:
    """Read one word out of a few, capitals or not."""
    if isinstance(raw, str) and raw.strip().casefold() in field.choices:
        return raw.strip().casefold()
    near = did_you_mean(raw, field.choices) if isinstance(raw, str) else None
    raise WrongValueError(f"{shown(raw)} is not one of the words that stand here.", near)


def _date(_field: Field, raw: Raw) -> dt.date:
    """Read a date, as a date of TOML or as text."""
    if isinstance(raw, dt.datetime):
        raise WrongValueError(f"{raw} has a time of day.", f"Write {raw.date().isoformat()} alone.")
    if isinstance(raw, dt.date):
        return raw
    try:
        return dt.date.fromisoformat(raw.strip())
    except (AttributeError, ValueError):
        raise WrongValueError(f"{shown(raw)} is not a date.") from None


def _clock(_field: Field, raw: Raw) -> dt.time:
    """Read a time of day, as a time of TOML or as text."""
    if isinstance(raw, dt.time):
        return raw
    found = re.fullmatch(r"\s*(\d{1,2}):(\d{2})\s*", raw) if isinstance(raw, str) else None
    if found and int(found[1]) < 24 and int(found[2]) < 60:
        return dt.time(int(found[1]), int(found[2]))
    raise WrongValueError(f"{shown(raw)} is not a time of day.", "Hours run from 0 to 23, minutes from 0 to 59.")


def _angle(sides: str, *, hours: bool = False) -> Callable[[Field, Raw], float]:
    """Return the reader of one kind of angle: degrees as a number, or text; sides are its two compass letters."""

    def read(field: Field, raw: Raw) -> float:
        if _is_number(raw):
            return _number(field, raw)
        if not isinstance(raw, str):
            raise WrongValueError(f"{shown(raw)} is not an angle.")
        body, sign = raw.strip(), 1.0
        if sides and body[-1:].upper() in tuple(sides):
            sign = 1.0 if body[-1].upper() == sides[0] else -1.0
            body = body[:-1].strip()
            if body.startswith(("-", "−", "+")):
                raise WrongValueError(f"{shown(raw)} has both a sign and a letter.", "Keep one of the two.")
        try:
            degrees = sign * parse_angle_deg(body, hours=hours)
        except BadInput as error:
            short = len(body) <= 40 and body.isprintable()
            raise WrongValueError(error.problems[0].message if short else f"{shown(raw)} is not an angle.") from None
        _in_range(field, degrees)
        return degrees

    return read


def _list(raw: Raw) -> list[Raw]:
    """Refuse what is no list, or an endless one."""
    if not isinstance(raw, list | tuple):
        raise WrongValueError(f"{shown(raw)} is not a list.", f"Put it in brackets: [{_item_in_list(raw)}].")
    if len(raw) > MOST_IN_A_LIST:
        raise WrongValueError(f"The list has more than {MOST_IN_A_LIST} elements.")
    return list(raw)


def _item_in_list(raw: Raw) -> str:
    """Return a value for an example of a list."""
    return in_toml(raw) if isinstance(raw, str | int | float | dt.date) and len(str(raw)) < 40 else "…"


def _each(read: Callable[[Field, Raw], Any]) -> Callable[[Field, Raw], tuple[Any, ...]]:
    """Return the reader of a list whose elements are read by `read`, each at most once."""

    def read_all(field: Field, raw: Raw) -> tuple[Any, ...]:
        values = [read(field, one) for one in _list(raw)]
        for n, value in enumerate(values):
            if value in values[:n]:
                raise WrongValueError(f"{shown(raw[n])} stands twice in the list.")
        return tuple(values)

    return read_all


def _by_name(field: Field, raw: Raw) -> tuple[tuple[str, float], ...]:
    """Read names with numbers."""
    if not isinstance(raw, dict):
        raise WrongValueError(f"{shown(raw)} is not a list of names with numbers.")
    if not raw:
        raise WrongValueError("No name stands here.", "Name at least one, or take the line out.")
    pairs = []
    for name, value in raw.items():
        try:
            pairs.append((_text(field, name), _number(field, value)))
        except WrongValueError as error:
            raise WrongValueError(f"{shown(name)}: {error.message}") from None
    return tuple(pairs)


READERS: dict[str, Callable[[Field, Raw], Any]] = {
    "text": _text,
    "number": _number,
    "whole": _whole,
    "yes_no": _yes_no,
    "choice": _choice,
    "date": _date,
    "clock": _clock,
    "latitude": _angle("NS"),
    "longitude": _angle("EW"),
    "right_ascension": _angle("", hours=True),
    "declination": _angle(""),
    "texts": _each(_text),
    "choices": _each(_choice),
    "dates": _each(_date),
    "by_name": _by_name,
}
