"""A whole file against its description: every wrong, unknown or missing key, each with its line."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sidelight.ground.errors import Problem, did_you_mean
from sidelight.notebook.places import KeyPath
from sidelight.notebook.schema.fields import Field, Page, Table, expected, in_toml
from sidelight.notebook.schema.pages import PAGES, page_of
from sidelight.notebook.toml_text import Parsed
from sidelight.notebook.values import WrongValueError, checked, shown


def dotted(path: KeyPath) -> str:
    """Return a path as people write it, elements counted from 1: "target 2, hours_wanted_h" or "guider.camera"."""
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f" {key + 1}"
        else:
            text += f"{'' if not text else ', ' if text[-1].isdigit() and ' ' in text else '.'}{key}"
    return text


@dataclass
class Findings:
    """The problems of one file, gathered while it is read."""

    parsed: Parsed
    problems: list[Problem] = field(default_factory=list)

    def add(self, path: KeyPath, message: str, wanted: str | None = None, suggestion: str | None = None) -> None:
        """Put one problem on the list with its line."""
        parsed = self.parsed
        place = dotted(path) or None
        self.problems.append(Problem(message, parsed.file, place, parsed.line(path), wanted, suggestion))

    def add_from(self, found: Problem, path: KeyPath) -> None:
        """Put a problem that another room found on the list, with its place in this file."""
        parsed = self.parsed
        whole = (*path, found.key) if found.key else path
        self.problems.append(
            Problem(
                found.message,
                parsed.file,
                dotted(whole) or None,
                parsed.line(whole),
                found.expected,
                found.suggestion,
            )
        )


@dataclass(frozen=True)
class Checked:
    """A table's values, defaults filled in. sound : nothing in it, or in the tables inside it, was refused.

    path : where it stands in the file. given : whether the file has it. tables, repeats : the tables inside it.
    """

    path: KeyPath
    values: Mapping[str, Any]
    given: bool
    sound: bool
    tables: Mapping[str, "Checked"]
    repeats: Mapping[str, tuple["Checked", ...]]


def check_page(page: Page, findings: Findings) -> Checked:
    """Return a file's values and add what is wrong to the findings."""
    return check_table(page.head, findings.parsed.data, (), findings)


def check_table(
    table: Table, raw: Mapping[str, Any], path: KeyPath, findings: Findings, *, given: bool = True
) -> Checked:
    """Return one table's values and add what is wrong to the findings."""
    before = len(findings.problems)
    for key in raw:
        if key not in table.names():
            _unknown(table, key, path, findings)
    values = {one.key: _value(one, raw, path, findings, given=given) for one in table.fields}
    tables = {one.name: _inner(one, raw, path, findings, needed=given) for one in table.tables if not one.many}
    repeats = {one.name: _repeats(one, raw, path, findings) for one in table.tables if one.many}
    return Checked(path, values, given, len(findings.problems) == before, tables, repeats)


def _value(one: Field, raw: Mapping[str, Any], path: KeyPath, findings: Findings, *, given: bool) -> Any:  # noqa: ANN401
    """Return the value of one key; its default when it is left out or wrong."""
    if one.key in raw:
        try:
            return checked(one, raw[one.key])
        except WrongValueError as wrong:
            findings.add((*path, one.key), wrong.message, expected(one), wrong.suggestion)
    elif one.required and given:
        findings.add(
            (*path, one.key), "This key is missing.", expected(one), f"Add a line such as {example_line(one)}."
        )
    return float(one.default) if one.kind == "number" and one.default is not None else one.default


def example_line(one: Field) -> str:
    """Return a line that a person could write for a key."""
    value = one.example if one.example is not None else one.default
    return f"{one.key} = {in_toml(value if value is not None else '…')}"


def _inner(table: Table, raw: Mapping[str, Any], path: KeyPath, findings: Findings, *, needed: bool) -> Checked:
    """Return a table inside another; one that the file does not have holds its defaults."""
    inner_path = (*path, table.name)
    body = raw.get(table.name)
    header = f"[{'.'.join(str(key) for key in inner_path if isinstance(key, str))}]"
    if body is None:
        if table.required and needed:
            message = f"The table {header} is missing."
            wanted = ", ".join(one.key for one in table.fields if one.required)
            findings.add(path, message, f"{header} with {wanted}", f"Add a line {header} and its keys below it.")
        return check_table(table, {}, inner_path, findings, given=False)
    if isinstance(body, dict):
        return check_table(table, body, inner_path, findings)
    advice = (
        "Write its header with single brackets, once." if isinstance(body, list) else f"Write {header} on a line."
    )
    findings.add(inner_path, f"{table.name} is not a table of its own.", f"one table {header}", advice)
    return check_table(table, {}, inner_path, findings, given=False)


def _repeats(table: Table, raw: Mapping[str, Any], path: KeyPath, findings: Findings) -> tuple[Checked, ...]:
    """Return the tables of one name that repeat; the usual ones when the file has none."""
    inner_path = (*path, table.name)
    header = f"[[{'.'.join(str(key) for key in inner_path if isinstance(key, str))}]]"
    body = raw.get(table.name, [])
    if not isinstance(body, list) or not all(isinstance(one, dict) for one in body):
        message = f"{table.name} is not written as a table that repeats."
        findings.add(inner_path, message, header, f"Write the header with double brackets: {header}.")
        return ()
    if not body and table.usual:
        return tuple(check_table(table, one, (*inner_path, n), findings) for n, one in enumerate(table.usual))
    return tuple(check_table(table, one, (*inner_path, n), findings) for n, one in enumerate(body))


def _unknown(table: Table, key: str, path: KeyPath, findings: Findings) -> None:
    """Add the problem of a key that the table does not have, with the nearest ones it has."""
    header = ".".join(str(part) for part in path if isinstance(part, str))
    where = (f"[[{header}]]" if table.many else f"[{header}]") if header else "the head of the file"
    suggestion = did_you_mean(key, table.names()) or _elsewhere(table, key, findings)
    accepted = ", ".join(table.names())
    findings.add((*path, key), f"{shown(key)} is not a key of {where}.", f"one of {accepted}", suggestion)


def _elsewhere(table: Table, key: str, findings: Findings) -> str | None:
    """Return advice for a key that belongs into another table of the same file."""
    page = page_of(findings.parsed.file)
    if page is None:
        return None
    for names, other in page.head.walk():
        if other is not table and other.field(key):
            header = ".".join(names)
            brackets = f"[[{header}]]" if other.many else f"[{header}]"
            return f"It belongs under {brackets}." if header else "It belongs at the head of the file."
    longer = sorted(one for one in table.names() if one.startswith(key))
    if longer:
        return f'Did you mean "{longer[0]}"?'
    files = [other.file for other in PAGES if any(key in inner.names() for _, inner in other.head.walk())]
    return f"It belongs in {files[0]}." if files else None
