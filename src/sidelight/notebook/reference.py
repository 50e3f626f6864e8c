"""The page that explains every file and key, drawn from the descriptions. Run as a module it writes the page."""

import sys
from pathlib import Path

from sidelight.notebook.schema.fields import Field, Page, Table, expected, in_toml
from sidelight.notebook.schema.pages import HORIZON_FILE, PAGES

INTRODUCTION = """\
# The files of a notebook

A notebook is a folder of plain text files. Edit them with any text editor; the program and its page change only what
you ask them to change, and your notes stay. Every command reads and checks all files first, and says of each thing
that is wrong where it stands and what would be right.

This page is drawn from the same descriptions that the files are checked against. To write it anew:
`python -m sidelight.notebook.reference docs/notebook.md`.

- Text stands in double quotes, numbers do not. Decimals have a point.
- The end of a key names its unit: `focal_length_mm` is in millimetres.
- A `#` begins a note.
- `[name]` opens a table; `[[name]]` opens one more row of a table that repeats.
- A key that is left out has its default. A key that is misspelt is an error, not silence.
"""

HORIZON = f"""\
## {HORIZON_FILE}

The skyline, in two columns of degrees: azimuth (north 0, east 90) and altitude. Rows may stand in any order, each
azimuth once; `#` begins a note. Between two points the skyline runs straight, across north as well. Altitudes reach
from -5 to below 90. A flat skyline is one row, `0 0`. Bearings of a compass are read when `site.toml` says
`bearings = "magnetic"` and gives the declination.

```
# azimuth  altitude
        0        12
       95      31.5  # the neighbour's roof
      180         8
```
"""


def reference_page() -> str:
    """Return the whole page as Markdown."""
    parts = [INTRODUCTION]
    for page in PAGES:
        parts.append(_page(page))
        if page.file == "site.toml":
            parts.append(HORIZON)
    return "\n".join(parts)


def _page(page: Page) -> str:
    """Return the part of one file."""
    lines = [f"## {page.file}", "", page.help]
    if not page.required:
        lines += ["", "This file may be missing; then all defaults hold."]
    for names, table in page.head.walk():
        lines += _table(".".join(names), table)
    return "\n".join(lines) + "\n"


def _table(header: str, table: Table) -> list[str]:
    """Return the part of one table."""
    lines = []
    if header:
        repeats = f"`[[{header}]]`" if table.many else f"`[{header}]`"
        needed = ", needed" if table.required else ""
        lines += ["", f"### {repeats}: {table.title}{needed}", "", table.help]
    if table.fields:
        lines += ["", "| key | unit | accepted | default | meaning |", "| --- | --- | --- | --- | --- |"]
        lines += [_row(one) for one in table.fields]
    if table.usual:
        lines += ["", "Usual rows: " + ", ".join(f"`{in_toml(row)}`" for row in table.usual) + "."]
    return lines


def _row(one: Field) -> str:
    """Return the row of one key."""
    default = "needed" if one.required else "–" if one.default is None else f"`{in_toml(one.default)}`"
    cells = (f"`{one.key}`", one.unit, expected(one), default, one.help)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def main(arguments: list[str]) -> None:
    """Write the page to the file that is named, or to standard output."""
    if arguments:
        Path(arguments[0]).write_text(reference_page(), encoding="utf-8", newline="\n")
    else:
        sys.stdout.write(reference_page())


if __name__ == "__main__":
    main(sys.argv[1:])
