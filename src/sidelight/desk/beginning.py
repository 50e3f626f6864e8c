"""The first notebook, part by part: which questions a page asks, and whether the answers to a part will do."""

import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sidelight.desk.begin import begin_notebook
from sidelight.desk.forms import KeyForm, key_form
from sidelight.ground.errors import BadInput, Problem
from sidelight.notebook.new import questions
from sidelight.notebook.schema.fields import Field
from sidelight.notebook.schema.pages import PAGES

HELPFUL = (
    "site.name", "site.elevation_m", "rig.name", "rig.telescope.reducer_factor", "rig.telescope.mirrors_count",
    "rig.telescope.newtonian", "rig.telescope.focuser_position_deg", "rig.telescope.obstruction_mm",
    "rig.guider.long_side", "rig.guider.prism_distance_mm", "rig.guider.limit_mag", "rig.mount.kind",
    "rig.mount.flip_past_meridian_min",
)  # fmt: skip
"""Asked besides what a notebook cannot do without: these change what comes out most."""
NO_GUESS = ("rig.telescope.mirrors_count", "rig.mount.kind")
"""Asked without offering the usual value: bench angles and sides are wrong without a word when it is not so."""


@dataclass(frozen=True)
class AskedTable:
    """Questions that belong together. optional : all of them may be left out together."""

    title: str
    help: str
    optional: bool
    keys: tuple[KeyForm, ...]


@dataclass(frozen=True)
class AskedPart:
    """One step of beginning: a file's questions."""

    part: str
    title: str
    help: str
    tables: tuple[AskedTable, ...]


def asked_parts() -> tuple[AskedPart, ...]:
    """Return the questions of a new notebook, file by file, with those that matter most besides."""
    needed = {question.key: question for question in questions()}
    parts = []
    for page in PAGES:
        part = page.file.removesuffix(".toml")
        tables = []
        for names, table in page.head.walk():
            keys = [".".join((part, *names, field.key)) for field in table.fields]
            wanted = [key for key in keys if key in needed or key in HELPFUL]
            if table.many or not wanted:
                continue
            optional = all(needed[key].optional_table for key in wanted if key in needed) and any(
                key in needed for key in wanted
            )
            forms = tuple(_form(key, _field(table.fields, key)) for key in wanted)
            tables.append(AskedTable(table.title, table.help, optional, forms))
        if tables:
            parts.append(AskedPart(part, page.title, page.help, tuple(tables)))
    return tuple(parts)


def _field(fields: Sequence[Field], key: str) -> Field:
    """Return the description of a key in its table."""
    return next(one for one in fields if one.key == key.rsplit(".", 1)[-1])


def _form(key: str, field: Field) -> KeyForm:
    """Return a question as a form has it."""
    table = key.rsplit(".", 1)[0]
    form = replace(key_form(field, table, {}), path=key)
    return replace(form, required=True, usual="", example="") if key in NO_GUESS else form


def matters(key: str, answers: Mapping[str, str]) -> bool:
    """Tell whether a question is worth asking after what was answered: a focuser's place only of a Newtonian."""
    if key == "rig.telescope.focuser_position_deg":
        return answers.get("rig.telescope.newtonian", "").casefold() in ("true", "yes")
    if key == "rig.telescope.obstruction_mm":
        return answers.get("rig.telescope.mirrors_count", "0").strip() != "0"
    if key == "rig.telescope.newtonian":
        return answers.get("rig.telescope.mirrors_count", "") == "2"
    if key == "rig.mount.flip_past_meridian_min":
        return answers.get("rig.mount.kind", "german") != "fork"
    return True


def check_part(part: str, answers: Mapping[str, str], targets: Sequence[str]) -> tuple[Problem, ...]:
    """Return what is wrong with the answers to one part ("site", "rig", "targets"); the others may be open yet.

    The whole is tried out in a folder that is thrown away, with examples in the place of answers to other parts, so
    that exactly the notebook's own checks speak.
    """
    given = {key: text for key, text in answers.items() if text.strip() and key.startswith(f"{part}.")}
    missing = tuple(problem for problem in _gaps(part, answers) if problem)
    if missing:
        return missing
    filled = {**_examples(part), **given}
    with tempfile.TemporaryDirectory(prefix="sidelight-") as scratch:
        try:
            begin_notebook(Path(scratch) / "notebook", filled, list(targets) if part == "targets" else [])
        except BadInput as refusal:
            return tuple(one for one in refusal.problems if _belongs(one, part))
    return ()


def _belongs(problem: Problem, part: str) -> bool:
    """Tell whether a problem is about a part."""
    return (problem.file or "").startswith(part) or (problem.key or "").startswith(f"{part}.")


def _gaps(part: str, answers: Mapping[str, str]) -> list[Problem]:
    """Return a problem for each question of a part that has to be answered and is not."""
    begun = {key.split(".")[1] for key, text in answers.items() if text.strip() and key.count(".") > 1}
    tables = next((one.tables for one in asked_parts() if one.part == part), ())
    open_ = [
        form
        for table in tables
        for form in table.keys
        if form.required and not (table.optional and form.path.split(".")[1] not in begun)
    ]
    message = "A new notebook cannot do without this."
    return [
        Problem(message, key=form.path, expected=form.expected, suggestion=f"{form.help}{_such_as(form)}")
        for form in open_
        if not answers.get(form.path, "").strip()
    ]


def _such_as(form: KeyForm) -> str:
    """Return an example as the end of an advice."""
    return f" Such as {form.example}." if form.example else ""


def _examples(part: str) -> dict[str, str]:
    """Return examples for the questions of all other parts."""
    return {
        question.key: key_form(question.field, "", {}).example
        for question in questions()
        if not question.key.startswith(f"{part}.") and not question.optional_table
    }


def begin_from_answers(folder: Path, answers: Mapping[str, str], targets: Sequence[str]) -> list[str]:
    """Write a new notebook and return its files' names; raises BadInput, with nothing written."""
    given = {key: text for key, text in answers.items() if text.strip()}
    return [path.name for path in begin_notebook(folder, given, list(targets))]
