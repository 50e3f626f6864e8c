"""Changing a notebook: what is written is checked with the whole notebook first, and nobody's change is lost."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from threading import Lock
from typing import Any

from sidelight.ground.errors import BadInput, OurFault, Problem, did_you_mean
from sidelight.notebook.edit_text import with_row, with_value, without_row
from sidelight.notebook.files import UTF8_BOM, Folder, as_text, fingerprint_of, write_whole
from sidelight.notebook.horizon_text import rewritten
from sidelight.notebook.new import horizon_text
from sidelight.notebook.places import Key, KeyPath
from sidelight.notebook.read import problems_of
from sidelight.notebook.schema.fields import Table
from sidelight.notebook.schema.pages import FILES, HORIZON_FILE, page_of
from sidelight.notebook.settings import KeptSetUp, Measured
from sidelight.notebook.template import page_text, row_text
from sidelight.notebook.toml_text import parse_toml
from sidelight.notebook.turns import own_turn

Edit = Callable[[str], str]
_ONE_AT_A_TIME = Lock()
"""Within one program changes wait for each other here; between programs, at the folder's lock. For an editor
the fingerprint is looked at just before."""


def set_value(folder: Path, file: str, key: str | KeyPath, value: Any, seen: str | None = None) -> str:  # noqa: ANN401
    """Set one key ("guider.stem_radius_mm", or a path with row numbers from 0); see `set_values`."""
    return set_values(folder, file, {key: value}, seen)


def set_values(folder: Path, file: str, changes: Mapping[str | KeyPath, Any], seen: str | None = None) -> str:
    """Set keys of one file, together; None lets a key's default hold. Return the file's new fingerprint.

    seen : the fingerprint of the file when the person last saw it; a file changed since is not touched.
    A file that is optional and missing is made, with its notes. Raises BadInput, with nothing written, when the
    change would add a problem to the notebook; problems that were there before do not hinder.
    """

    def edit(text: str) -> str:
        for key, value in changes.items():
            text = with_value(text, path_of(key), value)
        return text

    return _change(folder, file, edit, seen)


def path_of(key: str | KeyPath) -> KeyPath:
    """Return the path that a key's text means: names with dots, rows by number from 0 ("target.0.name")."""
    if not isinstance(key, str):
        return key
    parts: list[Key] = [int(part) if part.isdecimal() else part for part in key.split(".")]
    return tuple(parts)


def add_row(folder: Path, file: str, table: str, values: Mapping[str, Any], seen: str | None = None) -> str:
    """Add a row to a table that repeats ("target", "goal", "forecast", …); as `set_values` otherwise."""
    unknown = sorted(set(values) - set(_table(file, table).names()))
    if unknown:
        accepted = _table(file, table).names()
        raise BadInput(
            [
                Problem(f'"{key}" is not a key of [[{table}]].', file, key, suggestion=did_you_mean(key, accepted))
                for key in unknown
            ]
        )
    row = row_text(_table(file, table), values)
    return _change(folder, file, lambda text: with_row(text, table, row), seen)


def remove_row(folder: Path, file: str, table: str, number: int, seen: str | None = None) -> str:
    """Take a row, counted from 0, out of a table that repeats, with its notes; as `set_values` otherwise."""
    return _change(folder, file, lambda text: without_row(text, table, number), seen)


def add_target(folder: Path, target: str | Mapping[str, Any], seen: str | None = None) -> str:
    """Add a target by its name, or by the keys of [[target]]; as `set_values` otherwise."""
    return add_row(folder, "targets.toml", "target", {"name": target} if isinstance(target, str) else target, seen)


def remove_target(folder: Path, name: str, seen: str | None = None) -> str:
    """Take a target off the list; as `set_values` otherwise. Raises BadInput for a name that is not on it."""
    return _change(folder, "targets.toml", lambda text: without_row(text, "target", _row_named(text, name)), seen)


def _row_named(text: str, name: str) -> int:
    """Return the number of the target of a name, capitals or not."""
    rows = parse_toml("targets.toml", text.encode()).data.get("target", [])
    names = [str(row.get("name", "")) if isinstance(row, dict) else "" for row in rows]
    folded = [" ".join(one.casefold().split()) for one in names]
    wanted = " ".join(name.casefold().split())
    if wanted not in folded:
        message = f'"{name}" is not on this list.'
        raise BadInput(Problem(message, "targets.toml", suggestion=did_you_mean(name, names)))
    return folded.index(wanted)


def set_horizon(folder: Path, points: Sequence[tuple[float, float]], seen: str | None = None) -> str:
    """Replace the skyline's points, (bearing, altitude) in degrees as the file counts bearings; notes stay."""
    try:
        wanted = [(float(bearing), float(altitude)) for bearing, altitude in points]
    except (TypeError, ValueError) as error:
        message = "A point is not two numbers."
        raise BadInput(Problem(message, HORIZON_FILE, expected="azimuth and altitude in degrees")) from error
    return _change(folder, HORIZON_FILE, lambda text: rewritten(text, wanted), seen)


def add_measured(folder: Path, entry: Measured, seen: str | None = None) -> str:
    """Add what a check of solved images gave to learned.toml; as `set_values` otherwise."""
    return add_row(folder, "learned.toml", "measured", asdict(entry), seen)


def keep_setup(folder: Path, kept: KeptSetUp, seen: str | None = None) -> str:
    """Keep a set-up by its name, in place of one of the same name; if it is in use, no other is."""
    values = {**asdict(kept), "pointing": [asdict(one) for one in kept.pointings], "targets": list(kept.targets)}
    row = row_text(_table("setups.toml", "setup"), {key: one for key, one in values.items() if one not in ([], None)})

    def edit(text: str) -> str:
        rows = parse_toml("setups.toml", text.encode()).data.get("setup", [])
        for n in reversed(range(len(rows))):
            if str(rows[n].get("name", "")).casefold() == kept.name.casefold():
                text = without_row(text, "setup", n)
            elif kept.in_use and rows[n].get("in_use"):
                text = with_value(text, ("setup", n, "in_use"), False)
        return with_row(text, "setup", row)

    return _change(folder, "setups.toml", edit, seen)


def _table(file: str, name: str) -> Table:
    """Return the description of a table that repeats; OurFault for a name that the program made up."""
    page = page_of(file)
    table = page.head.table(name) if page else None
    if table is None or not table.many:
        raise OurFault(Problem(f"{file} has no table [[{name}]]."))
    return table


def _change(folder: Path, file: str, edit: Edit, seen: str | None) -> str:
    """Make one change to one file, after those that are under way."""
    if file not in FILES:
        raise BadInput(Problem(f'"{file}" is no file of a notebook.', suggestion=did_you_mean(file, FILES)))
    with _ONE_AT_A_TIME, own_turn(folder):
        return _change_now(folder, file, edit, seen)


def _change_now(folder: Path, file: str, edit: Edit, seen: str | None) -> str:
    """Read, edit, check the whole notebook, look again, replace."""
    before = Folder(folder)
    data = before.read(file)
    _not_changed(file, data, seen)
    old = _starting_text(file, data)
    try:
        new = edit(old)
    except (BadInput, OurFault) as refusal:
        raise type(refusal)([replace(one, file=one.file or file) for one in refusal.problems]) from refusal
    if new == old and data is not None:
        return fingerprint_of(data)
    contents = _as_before(new, data)
    _no_new_problem(before, Folder(folder, {file: contents}))
    _not_changed(file, before.read(file), fingerprint_of(data))
    write_whole(folder / file, contents)
    return fingerprint_of(contents)


def _not_changed(file: str, data: bytes | None, seen: str | None) -> None:
    """Refuse to touch a file that is not as the person saw it."""
    if seen is not None and fingerprint_of(data) != seen:
        raise BadInput(
            Problem(
                "The file was changed meanwhile, by hand or by another window.",
                file,
                suggestion="Nothing was written. Read the notebook again, then make your change.",
            )
        )


def _starting_text(file: str, data: bytes | None) -> str:
    """Return the text to edit, lines ending in a line feed; a new file's text when there is none."""
    if data is not None:
        return as_text(file, data).replace("\r\n", "\n")
    if file == HORIZON_FILE:
        return horizon_text(())
    page = page_of(file)
    if page is None or page.required:
        raise BadInput(Problem("The file is missing.", file, suggestion="Put it back, or make a new notebook."))
    return page_text(page)


def _as_before(text: str, data: bytes | None) -> bytes:
    """Return the bytes of a text with the line ends and the byte order mark that the file had."""
    try:
        encoded = text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise BadInput(Problem("The text holds signs that no file can hold.")) from error
    if data is None:
        return encoded
    if data.count(b"\r\n") * 2 > data.count(b"\n"):
        encoded = encoded.replace(b"\n", b"\r\n")
    return UTF8_BOM + encoded if data.startswith(UTF8_BOM) else encoded


def _no_new_problem(before: Folder, after: Folder) -> None:
    """Refuse a change that adds a problem; those that were there already may stay."""
    found = problems_of(after)
    if not found:
        return
    known = {(one.file, one.message) for one in problems_of(before)}
    added = [one for one in found if (one.file, one.message) not in known]
    if added:
        raise BadInput(added)
