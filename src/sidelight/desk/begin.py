"""Beginning a notebook: which questions are open, and the files from their answers."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

from sidelight.ground.errors import BadInput, did_you_mean
from sidelight.notebook.new import questions, refuse_what_exists, write_new_notebook
from sidelight.notebook.schema.fields import Field, expected
from sidelight.notebook.schema.pages import PAGES
from sidelight.notebook.values import WrongValueError, checked
from sidelight.targets.names import find

WRITTEN_AS_TEXT = ("text", "choice", "clock")


@dataclass(frozen=True)
class OpenQuestion:
    """One thing a new notebook has to be told."""

    key: str
    help: str
    expected: str
    advice: str


def refuse_existing(folder: Path) -> None:
    """Raise BadInput for a folder that holds a notebook already, before anything is asked."""
    refuse_what_exists(folder)


def open_questions(answers: Mapping[str, Any], with_guider: bool) -> tuple[OpenQuestion, ...]:
    """Return the questions that the answers leave open, in the order of the files."""
    return tuple(
        OpenQuestion(one.key, one.field.help, _wanted(one.field), f"Give it with --set {one.key}=VALUE.")
        for one in questions()
        if one.key not in answers and (with_guider or not one.optional_table)
    )


def _wanted(field: Field) -> str:
    """Return what an answer may be; text needs no quotes here."""
    if field.kind in WRITTEN_AS_TEXT and not field.choices:
        return f"such as {field.example or field.default}"
    return expected(field)


def fault_of(key: str, answer: str) -> str | None:
    """Say what is wrong with one answer, None when nothing is; a time zone must be one of the list."""
    field = _field(key)
    if field is None:
        return f'"{key}" is no key of a notebook.'
    try:
        value = checked(field, _typed(key, answer))
    except WrongValueError as wrong:
        return str(wrong)
    if key == "site.time_zone":
        known = available_timezones()
        if value not in known:
            return f'There is no time zone "{value}". {did_you_mean(str(value), known) or ""}'.strip()
    return None


def fault_of_target(name: str, before: Sequence[str]) -> str | None:
    """Say what is wrong with a target's name, None when it is known and not on the list yet."""
    try:
        found = find(name)
    except BadInput as refusal:
        return " ".join(str(part) for one in refusal.problems for part in (one.message, one.suggestion) if part)
    same = [other for other in before if find(other).name == found.name]
    return f'"{name}" is on the list already, as {same[0]}.' if same else None


def begin_notebook(folder: Path, answers: Mapping[str, str], targets: Sequence[str]) -> list[Path]:
    """Write a new notebook from answers as text; raises BadInput, with nothing written, for any that is refused."""
    typed = {key: _typed(key, value) for key, value in answers.items()}
    return write_new_notebook(folder, {**typed, "targets": list(targets)})


def _typed(key: str, value: str) -> Any:  # noqa: ANN401 - what the file's check then judges
    """Return a text answer as the number, truth or text that its key takes; what does not fit is refused later."""
    field = _field(key)
    if field is None or field.kind in WRITTEN_AS_TEXT:
        return value
    if field.kind in ("texts", "choices", "dates"):
        return [part.strip() for part in value.split(",") if part.strip()]
    if value.casefold() in ("true", "yes", "false", "no"):
        return value.casefold() in ("true", "yes")
    for kind in (int, float):
        with suppress(ValueError):
            return kind(value)
    return value


def _field(key: str) -> Field | None:
    """Return the description of a key such as "rig.mount.kind", None when there is none."""
    file, *names = key.split(".")
    for page in PAGES:
        for path, table in page.head.walk():
            if page.file == f"{file}.toml" and [*path] == names[:-1]:
                return table.field(names[-1])
    return None
