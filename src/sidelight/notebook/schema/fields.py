"""What a description of a notebook's file is made of: fields, tables, pages, and the words about them."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal[
    "text",
    "number",
    "whole",
    "yes_no",
    "choice",
    "date",
    "clock",
    "latitude",
    "longitude",
    "right_ascension",
    "declination",
    "texts",
    "choices",
    "dates",
    "by_name",
]
NUMBER_KINDS = ("number", "whole", "latitude", "longitude", "right_ascension", "declination", "by_name")

UNITS = {
    "deg": ("°", "degrees"),
    "arcmin": ("′", "arcminutes"),
    "arcsec": ("″", "arcseconds"),
    "mm": ("mm", "millimetres"),
    "um": ("µm", "micrometres"),
    "nm": ("nm", "nanometres"),
    "m": ("m", "metres"),
    "h": ("h", "hours"),
    "min": ("min", "minutes"),
    "s": ("s", "seconds"),
    "px": ("px", "pixels"),
    "mag": ("mag", "magnitudes"),
    "mag_arcsec2": ("mag/arcsec²", "magnitudes per square arcsecond"),
    "mag_per_airmass": ("mag/airmass", "magnitudes per airmass"),
    "e": ("e⁻", "electrons"),
    "e_per_s": ("e⁻/s", "electrons per second"),
    "e_per_adu": ("e⁻/ADU", "electrons per step of the converter"),
    "percent": ("%", "per cent"),
    "fraction": ("of 1", "as a fraction of 1"),
    "factor": ("×", "as a factor"),
    "count": ("", ""),
    "class": ("", ""),
    "bits": ("bit", "bits"),
    "snr": ("", "as a ratio of signal to noise"),
    "year": ("year", "as a year with decimals"),
    "weight": ("", "as a weight"),
}
"""The last words of a key, the unit they stand for, and the unit in words. A key's unit is read from here only."""


@dataclass(frozen=True)
class Field:
    """One key of a file.

    low, high : the range of numbers, both ends accepted unless `above_low`; for "by_name" of each value.
    default : what holds when the key is left out; None when it is then unknown. required : it may not be left out.
    example : shown in a template in a line that is switched off, and in advice.
    into : the name of the record's field, where it differs from the key.
    group : one note that stands in a template for a run of keys, instead of a note for each.
    """

    key: str
    kind: Kind
    help: str
    low: float | None = None
    high: float | None = None
    above_low: bool = False
    default: Any = None
    required: bool = False
    choices: tuple[str, ...] = ()
    example: Any = None
    into: str = ""
    group: str = ""

    @property
    def unit(self) -> str:
        """The unit's sign, from the key's last words; empty for what has none."""
        return self._unit()[0]

    @property
    def unit_words(self) -> str:
        """The unit in words."""
        return self._unit()[1]

    @property
    def record_field(self) -> str:
        """The field of the record that takes the value."""
        return self.into or self.key

    def _unit(self) -> tuple[str, str]:
        """Return the unit of the longest ending of the key that is one."""
        if self.kind not in NUMBER_KINDS:
            return "", ""
        words = self.key.split("_")
        for first in range(len(words)):
            ending = "_".join(words[first:])
            if ending in UNITS:
                return UNITS[ending]
        return "", ""


@dataclass(frozen=True)
class Table:
    """One table of a file: `[name]`, or `[[name]]` as often as wanted when `many`.

    name : as in the header without the tables around it; empty for the head of the file.
    usual : for `many`, the rows that hold when the file has none. example : one row for the template, switched off.
    """

    name: str
    title: str
    help: str
    fields: tuple[Field, ...]
    tables: tuple["Table", ...] = ()
    many: bool = False
    required: bool = False
    usual: tuple[Mapping[str, Any], ...] = ()
    example: Mapping[str, Any] | None = None

    def field(self, key: str) -> Field | None:
        """Return the field of a key, None when there is none."""
        return next((one for one in self.fields if one.key == key), None)

    def table(self, name: str) -> "Table | None":
        """Return the table inside this one, None when there is none."""
        return next((one for one in self.tables if one.name == name), None)

    def names(self) -> tuple[str, ...]:
        """Return everything that may stand in this table."""
        return (*(one.key for one in self.fields), *(one.name for one in self.tables))

    def walk(self, above: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], "Table"]]:
        """Yield (path of names, table) for this table and all inside it."""
        path = (*above, self.name) if self.name else above
        yield path, self
        for inner in self.tables:
            yield from inner.walk(path)


@dataclass(frozen=True)
class Page:
    """One file. written_by_program : nobody needs to write it by hand, and a new notebook has none."""

    file: str
    title: str
    help: str
    head: Table
    required: bool = False
    written_by_program: bool = False


def plain_number(value: float) -> str:
    """Return a number as people write it: 30, 0.67, 100000."""
    if float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    return repr(float(value))


def _range(field: Field) -> str:
    """Return the range in words."""
    low, high = field.low, field.high
    if low is None or high is None:
        return ""
    if field.above_low:
        return f" above {plain_number(low)}, at most {plain_number(high)}"
    return f" from {plain_number(low)} to {plain_number(high)}"


def _one_of(words: tuple[str, ...]) -> str:
    """Return choices in words."""
    quoted = [f'"{word}"' for word in words]
    return " or ".join(quoted) if len(quoted) < 3 else ", ".join(quoted[:-1]) + " or " + quoted[-1]


def expected(field: Field) -> str:
    """Return what a key accepts, in words; the same in errors, templates and the reference page."""
    unit = (
        f", {'in ' if not field.unit_words.startswith('as ') else ''}{field.unit_words}" if field.unit_words else ""
    )
    sample = in_toml(field.example or field.default or ("L", "R"))
    words = {
        "text": "text in double quotes",
        "number": f"a number{_range(field)}{unit}",
        "whole": f"a whole number{_range(field)}{unit}",
        "yes_no": "true or false",
        "choice": _one_of(field.choices),
        "date": "a date such as 2027-03-06",
        "clock": 'a time of day such as "01:30"',
        "latitude": 'degrees from -90 to 90, north positive, or text such as "48 12 30 N"',
        "longitude": 'degrees from -180 to 180, east positive, or text such as "16 22 00 E"',
        "right_ascension": 'degrees from 0 to 360, or hours as text such as "02h 22m 33s"',
        "declination": 'degrees from -90 to 90, or text such as "+42 20 57"',
        "texts": f"a list of texts such as {sample}",
        "choices": f"a list out of {_one_of(field.choices)}",
        "dates": "a list of dates such as [2027-03-06, 2027-03-07]",
        "by_name": f"names with numbers{_range(field)}{unit}, such as {sample}",
    }
    return words[field.kind]


def in_toml(value: Any) -> str:  # noqa: ANN401 - every value that a file may hold
    """Return a value as it is written in a file."""
    import tomlkit

    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dt.time):
        return f'"{value:%H:%M}"'
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        pairs = [f"{tomlkit.key(str(name)).as_string()} = {in_toml(item)}" for name, item in value.items()]
        return "{ " + ", ".join(pairs) + " }" if pairs else "{}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(in_toml(item) for item in value) + "]"
    return tomlkit.item(str(value)).as_string()


def number(
    key: str,
    low: float,
    high: float,
    help: str,  # noqa: A002 - it is the help line
    *,
    above_low: bool = False,
    default: float | None = None,
    required: bool = False,
    example: float | None = None,
    into: str = "",
    group: str = "",
) -> Field:
    """Describe a number with a range."""
    return Field(key, "number", help, low, high, above_low, default, required, (), example, into, group)


def whole(
    key: str,
    low: int,
    high: int,
    help: str,  # noqa: A002 - it is the help line
    *,
    default: int | None = None,
    required: bool = False,
    example: int | None = None,
    into: str = "",
) -> Field:
    """Describe a whole number with a range."""
    return Field(key, "whole", help, low, high, False, default, required, (), example, into)


def text(
    key: str,
    help: str,  # noqa: A002 - it is the help line
    *,
    default: str | None = None,
    required: bool = False,
    example: str | None = None,
) -> Field:
    """Describe a text."""
    return Field(key, "text", help, default=default, required=required, example=example)


def choice(key: str, choices: tuple[str, ...], help: str, *, default: str | None = None, into: str = "") -> Field:  # noqa: A002
    """Describe one word out of a few."""
    return Field(key, "choice", help, default=default, choices=choices, into=into)
