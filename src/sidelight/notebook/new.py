"""A new notebook: its files from a person's answers, written all or not at all, over nothing that exists."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sidelight.ground.errors import BadInput, Problem, did_you_mean
from sidelight.notebook.files import Folder, write_whole
from sidelight.notebook.read import read_folder
from sidelight.notebook.schema.fields import Field, Table, expected, in_toml, plain_number
from sidelight.notebook.schema.pages import FILES, HORIZON_FILE, PAGES
from sidelight.notebook.template import page_text


@dataclass(frozen=True)
class Question:
    """One key that a new notebook cannot do without. key : such as "rig.telescope.aperture_mm"."""

    key: str
    field: Field
    table: Table
    optional_table: bool


def questions() -> tuple[Question, ...]:
    """Return what a new notebook has to be told, in the order of its files.

    Those of a table that may be left out as a whole (the off-axis guider) come with `optional_table`.
    """
    asked = []
    for page in PAGES:
        for names, table in page.head.walk():
            if table.many:
                continue
            optional = bool(names) and not _needed(page.head, names)
            if optional and not any(one.required for one in table.fields):
                continue
            asked += [
                Question(".".join((page.file.removesuffix(".toml"), *names, one.key)), one, table, optional)
                for one in table.fields
                if one.required
            ]
    return tuple(asked)


def _needed(head: Table, names: tuple[str, ...]) -> bool:
    """Return whether a table and all around it are required."""
    table = head
    for name in names:
        inner = table.table(name)
        if inner is None or not inner.required:
            return False
        table = inner
    return True


def write_new_notebook(folder: Path, answers: Mapping[str, Any]) -> list[Path]:
    """Write the files of a new notebook and return them.

    answers : values by the keys of `questions` ("site.latitude_deg"), and for any other key alike; "horizon" a list
    of (azimuth, altitude) in degrees; "targets" a list of names or of mappings by the keys of [[target]].
    Raises BadInput, with nothing written, when a file of a notebook is there already or an answer is refused.
    """
    refuse_what_exists(folder)
    texts = _texts(answers)
    _refuse_gaps(answers)
    contents = {name: text.encode("utf-8") for name, text in texts.items()}
    read_folder(Folder(folder, {**dict.fromkeys(FILES), **contents}))
    return _write_all(folder, contents)


def _refuse_gaps(answers: Mapping[str, Any]) -> None:
    """Refuse answers that leave out a question; those of an optional table count once any of its keys is answered."""
    given = {key for key, value in answers.items() if value is not None}
    begun = {key.rsplit(".", 1)[0] for key in given}
    missing = [
        question
        for question in questions()
        if question.key not in given and (not question.optional_table or _begun(question, begun))
    ]
    if missing:
        raise BadInput(
            [
                Problem(
                    "A new notebook cannot do without this.",
                    key=question.key,
                    expected=expected(question.field),
                    suggestion=f"{question.field.help} Such as {in_toml(question.field.example)}.",
                )
                for question in missing
            ]
        )


def _begun(question: Question, begun: set[str]) -> bool:
    """Return whether a table with an answer holds a question's table, is it, or lies in it."""
    table = question.key.rsplit(".", 1)[0]
    return any(f"{one}.".startswith(f"{table}.") or f"{table}.".startswith(f"{one}.") for one in begun if "." in one)


def refuse_what_exists(folder: Path) -> None:
    """Refuse a folder that holds a file of a notebook, or that is no folder."""
    advice = "Name a folder that does not exist yet, or edit the files that are there."
    if folder.exists() and not folder.is_dir():
        raise BadInput(Problem("This is a file, not a folder.", str(folder), suggestion=advice))
    there = [name for name in FILES if (folder / name).exists() or (folder / name).is_symlink()]
    if there:
        held = "It holds a notebook already" if "site.toml" in there else f"It holds {' and '.join(there)} already"
        raise BadInput(Problem(f"{held}; nothing is overwritten.", str(folder), suggestion=advice))


def _texts(answers: Mapping[str, Any]) -> dict[str, str]:
    """Return the text of each file of a new notebook."""
    nested: dict[str, Any] = {}
    problems = []
    for key, value in answers.items():
        if key in ("horizon", "targets"):
            continue
        if value is not None and not _put(nested, key.split("."), value):
            problems.append(_unknown_answer(key))
    if problems:
        raise BadInput(problems)
    wanted = answers.get("targets") or ()
    nested["targets"] = {"target": [{"name": one} if isinstance(one, str) else one for one in wanted]}
    texts = {
        page.file: page_text(page, nested.get(page.file.removesuffix(".toml")))
        for page in PAGES
        if not page.written_by_program
    }
    return {**texts, HORIZON_FILE: horizon_text(answers.get("horizon") or ((0.0, 0.0),))}


def _put(nested: dict[str, Any], names: Sequence[str], value: Any) -> bool:  # noqa: ANN401 - any answer
    """Put an answer where its file wants it; False when no file has such a key."""
    page = next((page for page in PAGES if page.file == f"{names[0]}.toml"), None)
    table = page.head if page else None
    place = nested.setdefault(names[0], {})
    for name in names[1:-1]:
        table = table.table(name) if table else None
        place = place.setdefault(name, {})
    known = table is not None and (table.field(names[-1]) or table.table(names[-1]))
    if not known or len(names) < 2:
        return False
    place[names[-1]] = value
    return True


def _unknown_answer(key: str) -> Problem:
    """Return the problem of an answer that no file has a key for."""
    keys = [
        ".".join((page.file.removesuffix(".toml"), *names, one.key))
        for page in PAGES
        for names, table in page.head.walk()
        for one in table.fields
    ]
    return Problem(f'"{key}" is no key of a notebook.', key=key, suggestion=did_you_mean(key, keys))


def horizon_text(points: Sequence[tuple[float, float]]) -> str:
    """Return the text of a horizon file."""
    lines = [
        "# The skyline: which altitude the sky begins at, in each direction.",
        "#",
        "# Two columns in degrees: azimuth (north 0, east 90, south 180, west 270) and altitude.",
        "# Between two points the skyline runs straight, and so it does across north.",
        "# Measure what hides stars: roofs, trees in leaf, the neighbour's lamp. Ten to forty points do.",
        "# Bearings of a compass are fine: say so, with the declination, in site.toml.",
        "# For an upright edge give two azimuths a little apart, such as 120 and 120.1.",
        "",
        "# azimuth  altitude",
    ]
    lines += [f"{plain_number(azimuth):>9} {plain_number(altitude):>9}" for azimuth, altitude in points]
    return "\n".join(lines) + "\n"


def _write_all(folder: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Write all files; when one fails, take away what was written."""
    made = [one for one in (folder, *folder.parents) if not one.exists()]
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in FILES:
            if name in contents:
                write_whole(folder / name, contents[name])
                written.append(folder / name)
    except (OSError, BadInput) as error:
        for path in written:
            path.unlink(missing_ok=True)
        for one in made:
            with suppress(OSError):
                one.rmdir()
        if isinstance(error, BadInput):
            raise
        message = f"The folder cannot be made: {error.strerror or error}."
        raise BadInput(Problem(message, str(folder), suggestion="Nothing was written.")) from error
    return written
