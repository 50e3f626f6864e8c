"""From the text of a TOML file to values and places, with words for what goes wrong on the way."""

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.files import as_text
from sidelight.notebook.places import KeyPath, Places, find_places


@dataclass(frozen=True)
class Parsed:
    """A TOML file, read but not yet checked."""

    file: str
    text: str
    data: dict[str, Any]
    places: Places

    def line(self, path: KeyPath) -> int | None:
        """Return the line of a path."""
        return self.places.line(path)


HINTS = (
    (r"^\s*[\w.-]+\s*=\s*[+-]?\d+,\d", "Write decimals with a point: 48.2, not 48,2."),
    (r"^\s*[\w.-]+\s*=\s*$", "Write a value after the equals sign, or take the line out."),
    (r"=\s*(true|false|yes|no|on|off)\b", "Write true or false, in small letters and without quotes."),
    (r"=\s*\d{1,2}:\d{2}", 'Put a time of day in double quotes: "01:30".'),
    (r"=\s*\d{1,2}[./]\d{1,2}[./]\d{2,4}", "Write dates as year-month-day: 2027-03-06."),
    (r"=\s*[+-]?[\d.]+\s*[A-Za-zµ°″′'\"]", "Write the number without its unit: the key already names it."),
    (r"=\s*[+-]?0\d", "Take out the zero in front of the number."),
    (r"=\s*[+-]?(\d+\.|\.\d+)\s*$", "Write digits on both sides of the point: 48.0, 0.5."),
    (r'=\s*".*\\', "Write \\\\ for one backslash, or put the text in single quotes."),
    (r"=\s*[“”„«‘’]", 'Use straight double quotes: "…".'),
    (r"=\s*[^\W\d_]", 'Put text in double quotes: "…".'),
    (r'=\s*"[^"]*$', "Close the text with a double quote."),
    (r"^\s*\[\[?[^\]]*$", "Close the header with as many brackets as it begins with."),
    (r"^\s*[\w.-]+\s*:", "Put an equals sign between key and value: key = value."),
    (r"^\s*[^=\[#]+$", "A line is a note (#), a header ([name]) or key = value."),
)
"""What people write that TOML does not take, and what to write; the first that fits the line is said."""


def parse_toml(file: str, data: bytes) -> Parsed:
    """Return a file's values and places; raises BadInput, with the line, for what is not TOML."""
    text = as_text(file, data)
    try:
        values = tomllib.loads(text)
        return Parsed(file, text, values, find_places(text))
    except RecursionError as error:
        raise BadInput(Problem("Lists are nested too deep.", file, expected="plain keys and tables")) from error
    except ValueError as error:
        raise BadInput(_syntax_problem(file, text, str(error))) from error


def _syntax_problem(file: str, text: str, complaint: str) -> Problem:
    """Put the reader's complaint in words, with the line and what to write instead."""
    where = re.search(r"\(at line (\d+), column \d+\)", complaint)
    lines = text.split("\n")
    what = re.sub(r"\s*\(at [^)]*\)", "", complaint).rstrip(".")
    if where is None:
        ended = "at end of document" in complaint
        number = _last_line(lines) if ended else None
        return Problem(f"The file cannot be read: {what}.", file, line=number, suggestion=_hint(lines, number))
    number = int(where[1])
    if re.match(r"Cannot (overwrite|declare|mutate|redefine)", what, flags=re.IGNORECASE) or "twice" in what:
        return Problem(
            f'A key or a table stands twice: "{_shown(lines, number)}".',
            file,
            line=number,
            expected="each key once in its table, each [table] once in the file",
            suggestion="Take one of the two out. A table that repeats has double brackets: [[target]].",
        )
    return Problem(
        f'The line "{_shown(lines, number)}" cannot be read: {what}.',
        file,
        line=number,
        suggestion=_hint(lines, number),
    )


def _last_line(lines: list[str]) -> int:
    """Return the number of the last line that holds anything."""
    return max((n for n, line in enumerate(lines, 1) if line.strip()), default=1)


def _shown(lines: list[str], number: int) -> str:
    """Return a line as it can be quoted in a sentence."""
    line = lines[number - 1].strip() if number <= len(lines) else ""
    clean = "".join(sign if sign.isprintable() else "·" for sign in line)
    return clean if len(clean) <= 60 else clean[:57] + "…"


def _hint(lines: list[str], number: int | None) -> str | None:
    """Return what to write instead, judged by the line itself."""
    line = lines[number - 1].rstrip("\r") if number is not None and number <= len(lines) else ""
    for pattern, advice in HINTS:
        if re.search(pattern, line, flags=re.IGNORECASE):
            return advice
    return "A line is a note (#), a header ([name]) or key = value."
