"""The files of a new notebook, drawn from the descriptions: notes above every key, defaults written out."""

import re
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from sidelight.notebook.check import example_line
from sidelight.notebook.schema.fields import Field, Page, Table, expected, in_toml, plain_number

WIDTH = 88
Answers = Mapping[str, Any]
"""Values by key; a table's values under its name, a table that repeats as a list of such mappings."""

HOW_TO = (
    'Lines that begin with "#" are notes for you; the program does not read them.',
    "The end of a key names its unit: focal_length_mm is in millimetres.",
    'A line that is switched off ("# key = …") counts once you take its "# " away.',
)


def note(sentence: str) -> list[str]:
    """Return a sentence as lines of notes."""
    return _wrapped(sentence, "# ", "# ")


def _wrapped(sentence: str, first: str, others: str) -> list[str]:
    """Break a sentence into lines; what stands in quotes or brackets stays together."""
    kept = re.sub(
        r'"[^"]{1,40}"|\[[^\]]{1,60}\]|\{[^}]{1,40}\}', lambda found: found[0].replace(" ", "\u00a0"), sentence
    )
    lines = textwrap.wrap(kept, WIDTH, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)
    return [line.replace("\u00a0", " ") for line in lines]


def ruler(title: str) -> str:
    """Return the line that opens a part of a file."""
    return f"# ── {title} ".ljust(WIDTH, "─")


def page_text(page: Page, answers: Answers | None = None) -> str:
    """Return a whole file with the answers in it; keys without an answer have their defaults."""
    lines = [*note(f"{page.title}. {page.help}"), "#"]
    for sentence in HOW_TO:
        lines += note(sentence)
    lines += ["", *_fields(page.head.fields, answers or {}, "")]
    for table in page.head.tables:
        lines += _table(table, (answers or {}).get(table.name), (), off=False)
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).rstrip("\n") + "\n"


def row_text(table: Table, values: Answers, above: tuple[str, ...] = ()) -> str:
    """Return one table with a header and only the keys that have a value, without notes."""
    header = ".".join((*above, table.name))
    lines = [f"[[{header}]]" if table.many else f"[{header}]"]
    lines += [f"{one.key} = {in_toml(values[one.key])}" for one in table.fields if values.get(one.key) is not None]
    for inner in table.tables:
        given = values.get(inner.name)
        for row in _rows(given):
            lines += ["", *row_text(inner, row, (*above, table.name)).splitlines()]
    return "\n".join(lines) + "\n"


def _rows(given: Any) -> Sequence[Answers]:  # noqa: ANN401 - None, a mapping or a list of mappings
    """Return what was answered for a table as a list of rows."""
    if given is None:
        return ()
    return (given,) if isinstance(given, Mapping) else tuple(given)


def _fields(fields: Sequence[Field], values: Answers, switch: str) -> list[str]:
    """Return keys with their notes; `switch` goes before lines of a table that is switched off."""
    lines: list[str] = []
    for before, one in zip((None, *fields), fields, strict=False):
        if before is not None and one.group and before.group == one.group:
            lines[-1] = _line(one, values, switch)
        else:
            lines += [*note(f"{one.group or one.help} {about(one)}".rstrip()), _line(one, values, switch)]
        lines.append("")
    return lines


def _line(one: Field, values: Answers, switch: str) -> str:
    """Return the line of one key: the answer, the default, or an example that is switched off."""
    if values.get(one.key) is not None:
        return f"{switch}{one.key} = {in_toml(values[one.key])}"
    if one.default is not None:
        return f"{switch}{one.key} = {in_toml(one.default)}"
    return f"{switch if one.required else '# '}{example_line(one)}"


def about(one: Field) -> str:
    """Return what a key accepts as a sentence for a note, short."""
    if one.kind in ("number", "whole"):
        assert one.low is not None
        assert one.high is not None
        low, high = plain_number(one.low), plain_number(one.high)
        span = f"above {low}, up to {high}" if one.above_low else f"{low} to {high}"
        words = one.unit_words.removeprefix("as ")
        return f"{words[:1].upper()}{words[1:]}, {span}." if words else f"From {span}."
    if one.kind in ("text", "yes_no"):
        return "" if one.kind == "text" else "true or false."
    if one.choices and all(f'"{word}"' in one.help for word in one.choices):
        return ""
    words = expected(one)
    return f"{words[:1].upper()}{words[1:]}."


def _table(table: Table, given: Any, above: tuple[str, ...], *, off: bool) -> list[str]:  # noqa: ANN401 - see _rows
    """Return a table with its notes; one that is optional and not answered is switched off."""
    rows = _rows(given)
    header = ".".join((*above, table.name))
    header = f"[[{header}]]" if table.many else f"[{header}]"
    lines = ["", ruler(table.title), *note(table.help)]
    if table.many:
        return lines + _many(table, rows, header)
    needs_answers = any(one.required for one in table.fields) or any(inner.required for inner in table.tables)
    off = off or (not rows and needs_answers and not table.required)
    switch = "# " if off else ""
    if off:
        lines += note('Switched off: take the "# " away from the header and from the keys you need.')
    lines += [f"{switch}{header}", "", *_fields(table.fields, rows[0] if rows else {}, switch)]
    for inner in table.tables:
        lines += _table(inner, rows[0].get(inner.name) if rows else None, (*above, table.name), off=off)
    return lines


def _many(table: Table, rows: Sequence[Answers], header: str) -> list[str]:
    """Return the rows of a table that repeats, after a list of its keys; an example when there is none."""
    lines = ["#", "# Keys:"]
    for one in table.fields:
        words = " ".join(part for part in (one.help, about(one), "Needed." if one.required else "") if part)
        lines += _wrapped(f"{one.key}: {words}", "#   ", "#       ")
    for inner in table.tables:
        inner_keys = ", ".join(one.key for one in inner.fields)
        sentence = (
            f"Below it, as often as needed, [[{header.strip('[]')}.{inner.name}]]: {inner.help} Keys: {inner_keys}."
        )
        lines += _wrapped(sentence, "#   ", "#       ")
    lines.append("")
    if rows or table.usual:
        for row in rows or table.usual:
            lines += [*row_text(table, row).splitlines(), ""]
    elif table.example:
        lines += [f"# {line}" if line else "#" for line in row_text(table, table.example).splitlines()]
        lines.append("")
    return lines
