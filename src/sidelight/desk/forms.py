"""A notebook as forms: every key with what it says now, and changes as they are typed into a form."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.check import dotted
from sidelight.notebook.edit import path_of
from sidelight.notebook.files import Folder, fingerprint_of
from sidelight.notebook.read import problems_of
from sidelight.notebook.schema.fields import UNITS, Field, Page, Table, expected, plain_number
from sidelight.notebook.schema.pages import PAGES
from sidelight.notebook.toml_text import parse_toml


@dataclass(frozen=True)
class KeyForm:
    """One key. path : as `change_values` takes it. place : as a problem names it.

    value : as it would be typed, empty when the file does not say.

    usual : what holds when the file does not say; empty when it is then unknown.
    """

    path: str
    place: str
    key: str
    label: str
    kind: str
    help: str
    unit: str
    expected: str
    required: bool
    value: str
    usual: str
    example: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class TableForm:
    """One table of a file, or one row of a table that repeats.

    path : such as "guider.camera" or "target.0"; empty for the head of the file. row : number from 0, None for none.
    optional : it may be left out as a whole; written : the file has it. more : rows inside a row, told, not shown.
    """

    path: str
    title: str
    help: str
    row: int | None
    optional: bool
    written: bool
    keys: tuple[KeyForm, ...]
    more: str = ""


@dataclass(frozen=True)
class RowsForm:
    """A table that repeats: its rows, and what a new one needs. usual : rows that hold while there is none."""

    name: str
    title: str
    help: str
    rows: tuple[TableForm, ...]
    blank: TableForm
    usual: str


@dataclass(frozen=True)
class FileForm:
    """One file. readable : False when it is no TOML; then it is mended by hand and the problems say where."""

    file: str
    title: str
    help: str
    exists: bool
    readable: bool
    by_program: bool
    fingerprint: str
    tables: tuple[TableForm, ...]
    rows: tuple[RowsForm, ...]


@dataclass(frozen=True)
class NotebookForm:
    """Every file of a notebook with everything that is wrong with it."""

    folder: str
    files: tuple[FileForm, ...]
    problems: tuple[Problem, ...]


def notebook_form(folder: Path) -> NotebookForm:
    """Return a notebook as forms; works for one that cannot be read, so that it can be mended."""
    here = Folder(folder)
    return NotebookForm(str(folder), tuple(_file(page, here) for page in PAGES), problems_of(here))


def _file(page: Page, folder: Folder) -> FileForm:
    """Return one file."""
    data, values, readable = folder.read(page.file), {}, True
    if data is not None:
        try:
            values = parse_toml(page.file, data).data
        except BadInput:
            readable = False
    single = [(names, table) for names, table in page.head.walk() if not _repeats(page.head, names)]
    return FileForm(
        file=page.file,
        title=page.title,
        help=page.help,
        exists=data is not None,
        readable=readable,
        by_program=page.written_by_program,
        fingerprint=fingerprint_of(data),
        tables=tuple(_table(names, table, values, page.head) for names, table in single if table.fields),
        rows=tuple(_rows(table, values) for table in page.head.tables if table.many),
    )


def _repeats(head: Table, names: tuple[str, ...]) -> bool:
    """Tell whether a table or one around it repeats."""
    table: Table | None = head
    for name in names:
        table = table.table(name) if table else None
        if table is None or table.many:
            return True
    return False


def _inside(values: Mapping[str, Any], names: tuple[str, ...]) -> Mapping[str, Any] | None:
    """Return the values of a table, None when the file has none."""
    found: Any = values
    for name in names:
        found = found.get(name) if isinstance(found, Mapping) else None
    return found if isinstance(found, Mapping) else None


def _table(names: tuple[str, ...], table: Table, values: Mapping[str, Any], head: Table) -> TableForm:
    """Return one table."""
    own = _inside(values, names)
    top = head.table(names[0]) if names else None
    optional = bool(top and not top.required and any(one.required for one in top.fields))
    path = ".".join(names)
    keys = tuple(key_form(one, path, own or {}) for one in table.fields)
    return TableForm(path, table.title, table.help, None, optional, own is not None or not names, keys)


def _rows(table: Table, values: Mapping[str, Any]) -> RowsForm:
    """Return a table that repeats."""
    given = values.get(table.name)
    found = [one for one in given if isinstance(one, Mapping)] if isinstance(given, list) else []
    usual = ", ".join(str(row.get("name", "")) for row in table.usual)
    return RowsForm(
        table.name,
        table.title,
        table.help,
        tuple(_row(table, n, row) for n, row in enumerate(found)),
        _row(table, len(found), {}),
        usual,
    )


def _row(table: Table, number: int, values: Mapping[str, Any]) -> TableForm:
    """Return one row."""
    path = f"{table.name}.{number}"
    inner = [f"{len(values[one.name])} × {one.title.lower()}" for one in table.tables if values.get(one.name)]
    more = f"{', '.join(inner)}: edit in the file" if inner else ""
    keys = tuple(key_form(one, path, values) for one in table.fields)
    return TableForm(path, table.title, table.help, number, True, bool(values), keys, more)


def key_form(field: Field, table: str, values: Mapping[str, Any]) -> KeyForm:
    """Return one key of a table as a form has it."""
    path = f"{table}.{field.key}" if table else field.key
    return KeyForm(
        path=path,
        place=dotted(path_of(path)),
        key=field.key,
        label=_label(field),
        kind=field.kind,
        help=field.help,
        unit=field.unit,
        expected=expected(field),
        required=field.required,
        value="" if values.get(field.key) is None else as_typed(values[field.key]),
        usual="" if field.default is None else as_typed(field.default),
        example="" if field.example is None else as_typed(field.example),
        choices=field.choices,
    )


def _label(field: Field) -> str:
    """Return a key as words, without its unit."""
    words = field.key.split("_")
    unit_words = len(_unit_ending(field))
    return " ".join(words[: len(words) - unit_words] or words).capitalize()


def _unit_ending(field: Field) -> list[str]:
    """Return the last words of a key that are its unit."""
    words = field.key.split("_")
    for first in range(len(words)):
        if "_".join(words[first:]) in UNITS and field.unit:
            return words[first:]
    return ["count"] if words[-1] == "count" else []


def as_typed(value: Any) -> str:  # noqa: ANN401 - every value that a file may hold
    """Return a value as a person would type it into a form."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return plain_number(value)
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {as_typed(item)}" for name, item in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(as_typed(item) for item in value)
    return str(value)
