"""A notebook changed as it is typed into a form: values, tables and rows."""

import datetime as dt
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.notebook.edit import add_row, path_of, remove_row, set_values
from sidelight.notebook.places import KeyPath
from sidelight.notebook.schema.fields import Field, Page, Table
from sidelight.notebook.schema.pages import PAGES, page_of


def typed_value(field: Field, text: str) -> Any:  # noqa: ANN401 - what the file's check then judges
    """Return what was typed as the value of a key: None for nothing, and as it is what does not fit its kind."""
    plain = text.strip()
    if not plain:
        return None
    parts = [part.strip() for part in plain.split(",") if part.strip()]
    if field.kind == "yes_no":
        return {"true": True, "yes": True, "false": False, "no": False}.get(plain.casefold(), plain)
    if field.kind in ("texts", "choices"):
        return parts
    if field.kind in ("dates", "date"):
        dates = [_date(part) for part in parts]
        return dates if field.kind == "dates" else dates[0]
    if field.kind == "by_name":
        return dict(_named(part) for part in parts)
    if field.kind in ("text", "choice", "clock"):
        return plain
    for number in (int, float):
        with suppress(ValueError):
            return number(plain.replace("−", "-"))
    return plain


def _date(text: str) -> dt.date | str:
    """Return a date, or the text when it is none."""
    with suppress(ValueError):
        return dt.date.fromisoformat(text)
    return text


def _named(text: str) -> tuple[str, float | str]:
    """Return a name with its number."""
    name, _, number = text.replace("=", " ").rpartition(" ")
    with suppress(ValueError):
        return name.strip() or text, float(number)
    return name.strip() or text, number


def change_values(folder: Path, file: str, typed: Mapping[str, str], seen: str | None) -> str:
    """Set keys of one file as they were typed; empty lets the usual hold. Return the file's new fingerprint.

    Raises BadInput, with nothing written, for what the file's checks refuse or a file changed since it was `seen`.
    """
    page = _page(file)
    problems: list[Problem] = []
    changes: dict[str | KeyPath, Any] = {}
    for path, text in typed.items():
        field = _field(page, path)
        if field is None:
            problems.append(Problem(f'"{path}" is no key of this file.', file, path))
        else:
            changes[path_of(path)] = typed_value(field, text)
    if problems:
        raise BadInput(problems)
    return set_values(folder, file, changes, seen)


def leave_out_table(folder: Path, file: str, table: str, seen: str | None) -> str:
    """Switch a table off as a whole, such as the off-axis guider; its lines stay as notes."""
    page = _page(file)
    if page.head.table(table) is None:
        raise BadInput(Problem(f'"{table}" is no table of this file.', file))
    return set_values(folder, file, {table: None}, seen)


def add_typed_row(folder: Path, file: str, table: str, typed: Mapping[str, str], seen: str | None) -> str:
    """Add a row to a table that repeats, as it was typed."""
    found = _page(file).head.table(table)
    if found is None or not found.many:
        raise BadInput(Problem(f'"{table}" is no table of this file that repeats.', file))
    values = {}
    for key, text in typed.items():
        field = found.field(key)
        value = typed_value(field, text) if field else text
        if value is not None:
            values[key] = value
    return add_row(folder, file, table, values, seen)


def take_row(folder: Path, file: str, table: str, number: int, seen: str | None) -> str:
    """Take a row out of a table that repeats."""
    found = _page(file).head.table(table)
    if found is None or not found.many:
        raise BadInput(Problem(f'"{table}" is no table of this file that repeats.', file))
    return remove_row(folder, file, table, number, seen)


def _page(file: str) -> Page:
    """Return a file's description; raises BadInput for a name that is none."""
    page = page_of(file)
    if page is None:
        names = [one.file for one in PAGES]
        raise BadInput(Problem(f'"{file}" is no file of a notebook.', suggestion=did_you_mean(file, names)))
    return page


def _field(page: Page, path: str) -> Field | None:
    """Return the description of a key by its path."""
    table: Table | None = page.head
    *names, last = [part for part in path.split(".") if not part.isdecimal()]
    for name in names:
        table = table.table(name) if table else None
    return table.field(last) if table else None
