"""horizon.txt: two columns, azimuth and altitude, notes behind a #."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.schema.fields import plain_number
from sidelight.notebook.schema.pages import HORIZON_FILE
from sidelight.notebook.values import shown
from sidelight.sky.horizon import Horizon, horizon_from_points

LOWEST_DEG, HIGHEST_DEG = -5.0, 90.0
ROW = 'two numbers in degrees, azimuth 0 to 360 and altitude -5 to below 90, such as "120 35.5"'


@dataclass(frozen=True)
class HorizonRow:
    """One measured point as it stands in the file; bearing_deg is true or magnetic, as site.toml says."""

    bearing_deg: float
    altitude_deg: float
    line: int


def read_rows(text: str) -> tuple[HorizonRow, ...]:
    """Return the points of a horizon file; raises BadInput with every wrong row."""
    problems: list[Problem] = []
    rows: list[HorizonRow] = []
    for number, line in enumerate(text.split("\n"), start=1):
        body = line.split("#", 1)[0].strip()
        if not body:
            continue
        found = _row(body, number)
        if isinstance(found, Problem):
            problems.append(found)
        else:
            rows.append(found)
    kept, twice = _once_each(rows)
    problems += twice
    if not problems and not kept:
        problems.append(
            Problem(
                "The horizon has no points.",
                HORIZON_FILE,
                expected=ROW,
                suggestion='For a flat skyline write one row: "0 0".',
            )
        )
    if problems:
        raise BadInput(problems)
    return tuple(kept)


def _row(body: str, number: int) -> HorizonRow | Problem:
    """Read one row."""
    cells = [cell for cell in re.split(r"[\s;,]+", body) if cell]
    if re.fullmatch(r"[+-]?\d+,\d+\s+[+-]?\d+(,\d+)?", body) or re.search(r"\d,\d+\s+[+-]?\d+,\d", body):
        return _wrong(f"{shown(body)} has commas where points belong.", number, "Write decimals with a point: 12.5.")
    if len(cells) != 2:
        return _wrong(f"{shown(body)} is not two numbers.", number, "Put # in front of what is a note.")
    try:
        bearing_deg, altitude_deg = (float(cell.removesuffix("°").replace("−", "-")) for cell in cells)
    except ValueError:
        return _wrong(f"{shown(body)} is not two numbers.", number, "Put # in front of what is a note.")
    if not (math.isfinite(bearing_deg) and 0.0 <= bearing_deg <= 360.0):
        return _wrong(f"The azimuth {shown(cells[0])} is out of range.", number)
    if not (math.isfinite(altitude_deg) and LOWEST_DEG <= altitude_deg < HIGHEST_DEG):
        return _wrong(f"The altitude {shown(cells[1])} is out of range.", number)
    return HorizonRow(bearing_deg, altitude_deg, number)


def _wrong(message: str, number: int, suggestion: str | None = None) -> Problem:
    """Return the problem of one row."""
    return Problem(message, HORIZON_FILE, line=number, expected=ROW, suggestion=suggestion)


def _once_each(rows: Sequence[HorizonRow]) -> tuple[list[HorizonRow], list[Problem]]:
    """Return rows whose azimuth stands once, and the problems of the others; 360 may repeat 0 at its altitude."""
    first: dict[float, HorizonRow] = {}
    problems = []
    for row in rows:
        before = first.setdefault(row.bearing_deg % 360.0, row)
        closes = {before.bearing_deg, row.bearing_deg} == {0.0, 360.0} and before.altitude_deg == row.altitude_deg
        if before is not row and not closes:
            problems.append(
                Problem(
                    f"Azimuth {plain_number(row.bearing_deg)}° stands here and on line {before.line}.",
                    HORIZON_FILE,
                    line=row.line,
                    expected="each azimuth once",
                    suggestion="For an upright edge give two azimuths a little apart, such as 120 and 120.1.",
                )
            )
    return list(first.values()), problems


def skyline(rows: Sequence[HorizonRow], declination_deg: float) -> Horizon:
    """Return the skyline in true azimuths; declination_deg is added to each bearing."""
    return horizon_from_points([row.bearing_deg for row in rows], [row.altitude_deg for row in rows], declination_deg)


def rewritten(text: str, points: Sequence[tuple[float, float]]) -> str:
    """Return the text with other points, in order of bearing; every note stays, at its point where that is left.

    A row whose point does not change stays as it is.
    """
    wanted = sorted((float(bearing), float(altitude)) for bearing, altitude in points)
    head, rows, tail = _parts(text)
    lines, waiting = list(head), dict(rows)
    for bearing, altitude in wanted:
        for other in [key for key in waiting if key < bearing]:
            lines += _orphaned(waiting.pop(other))
        old = waiting.pop(bearing, None)
        lines += old.notes if old else ()
        lines.append(old.line if old and old.altitude == altitude else _new_line(bearing, altitude, old))
    for row in waiting.values():
        lines += _orphaned(row)
    return "\n".join([*lines, *tail]).rstrip("\n") + "\n"


@dataclass(frozen=True)
class _Row:
    """A row of the file with the lines of notes above it."""

    notes: tuple[str, ...]
    line: str
    altitude: float
    remark: str


def _parts(text: str) -> tuple[list[str], dict[float, _Row], list[str]]:
    """Split a text into the notes at its head (to the first empty line), rows by bearing, and the notes behind."""
    head: list[str] = []
    rows: dict[float, _Row] = {}
    notes: list[str] = []
    for line in text.replace("\r\n", "\n").split("\n"):
        body, hash_sign, remark = line.partition("#")
        if not body.strip():
            notes.append(line)
            if not rows and not line.strip():
                head, notes = [*head, *notes], []
            continue
        found = _row(body.strip(), 0)
        if isinstance(found, Problem):
            notes.append(f"# {line}")
            continue
        rows[found.bearing_deg] = _Row(
            tuple(notes), line, found.altitude_deg, f"  {hash_sign}{remark}" if hash_sign else ""
        )
        notes = []
    return head, dict(sorted(rows.items())), notes


def _new_line(bearing_deg: float, altitude_deg: float, old: _Row | None) -> str:
    """Return the line of a point, with the remark that stood behind it."""
    columns = f"{plain_number(bearing_deg):>9} {plain_number(altitude_deg):>9}"
    return columns + (old.remark if old else "")


def _orphaned(row: _Row) -> tuple[str, ...]:
    """Return what is kept of a row whose point goes: its notes."""
    remark = (row.remark.strip(),) if row.remark else ()
    return (*(note for note in row.notes if note.strip()), *remark)
