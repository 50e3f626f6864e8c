"""Write the reference pages from the code: commands and JSON (the files of a notebook: sidelight.notebook.reference).

python builders/build_reference.py          write docs/reference/*.md
python builders/build_reference.py --check  say whether they are what the code says (exit 1 if not)
"""

import dataclasses
import sys
import types
import typing
from collections.abc import Iterator
from pathlib import Path

import click

from sidelight.cli.main import COMMANDS, LazyGroup, sidelight
from sidelight.desk.bench_records import BenchReport
from sidelight.desk.campaign_records import CampaignReport
from sidelight.desk.doctor import DoctorReport
from sidelight.desk.exposure_records import ExposureReport
from sidelight.desk.first_image_records import FirstImageReport
from sidelight.desk.hours_records import LightReport
from sidelight.desk.ledger import AddReport
from sidelight.desk.ledger_decisions import ChangeReport
from sidelight.desk.ledger_show import FramesReport, LedgerReport
from sidelight.desk.night_records import NightReport
from sidelight.desk.season import SeasonReport
from sidelight.desk.setup import SetupReport
from sidelight.desk.suggest_records import SuggestReport

JSON_WORDS = (
    "What `--json` prints. Field names carry their units; names in `_utc` are instants such as "
    "`2027-03-06T21:15:04Z`; dates are those of a night's evening at the site; what does not exist is `null`. "
    "New fields may be added; none is renamed or removed without a word in the changelog."
)
FOLDER = Path(__file__).resolve().parents[1] / "docs" / "reference"
REPORTS: dict[str, type] = {
    "season": SeasonReport,
    "light": LightReport,
    "exposure": ExposureReport,
    "setup": SetupReport,
    "bench": BenchReport,
    "night": NightReport,
    "campaign": CampaignReport,
    "suggest": SuggestReport,
    "ledger add": AddReport,
    "ledger show": LedgerReport,
    "ledger list": FramesReport,
    "ledger exclude, restore, assign, reject, hours": ChangeReport,
    "check": FirstImageReport,
    "doctor": DoctorReport,
}
MADE = "<!-- Made by builders/build_reference.py; edit the code, not this page. -->"


def commands_page() -> str:
    """Return every command with its help as the terminal shows it."""
    parts = [MADE, "", "# Commands", ""]
    for words, command in _walk():
        name, shown_as = "sidelight " + " ".join(words), sidelight.context_settings
        context = click.Context(command, info_name=name, terminal_width=100, **shown_as)
        parts += [f"## sidelight {' '.join(words)}", "", "```", command.get_help(context).rstrip(), "```", ""]
    return "\n".join(parts)


def _walk() -> Iterator[tuple[list[str], click.Command]]:
    """Yield each command, and those inside a group."""
    for word in COMMANDS:
        command = LazyGroup().get_command(click.Context(sidelight), word)
        assert command is not None
        if isinstance(command, click.Group):
            for name, inner in command.commands.items():
                yield [word, name], inner
        else:
            yield [word], command


def json_page() -> str:
    """Return every field of each report, with the records inside it."""
    parts = [
        MADE,
        "",
        "# JSON",
        "",
        JSON_WORDS,
        "",
    ]
    for command, report in REPORTS.items():
        parts += [f"## {command}", ""]
        seen: list[type] = []
        _collect(report, seen)
        for one in seen:
            parts += _record(one, top=one is report)
    return "\n".join(parts)


def shown_fields(record: type) -> list[dataclasses.Field[typing.Any]]:
    """Return the fields of a record that JSON shows."""
    return [field for field in dataclasses.fields(record) if field.metadata.get("json", True)]


def _collect(record: type, seen: list[type]) -> None:
    """Append a record and those inside it, each once."""
    if record in seen:
        return
    seen.append(record)
    hints = typing.get_type_hints(record)
    for field in shown_fields(record):
        for inner in _records_in(hints[field.name]):
            _collect(inner, seen)


def _records_in(hint: object) -> Iterator[type]:
    """Yield the records that a type holds."""
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        yield hint
    for part in typing.get_args(hint):
        yield from _records_in(part)


def _record(record: type, *, top: bool) -> list[str]:
    """Return a record's table."""
    words = " ".join((record.__doc__ or "").split())
    head = [] if top else [f"### {record.__name__}", ""]
    hints = typing.get_type_hints(record)
    rows = [f"| `{field.name}` | {_type_words(hints[field.name])} |" for field in shown_fields(record)]
    return [*head, words, "", "| field | what it is |", "| --- | --- |", *rows, ""]


PLAIN = {"str": "text", "int": "whole number", "float": "number", "bool": "true or false", "NoneType": "null",
         "date": "date", "datetime": "instant", "ndarray": "list of numbers"}  # fmt: skip


def _type_words(hint: object) -> str:
    """Return a type in words."""
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        return " or ".join(_type_words(arg) for arg in args)
    if origin is typing.Literal:
        return " or ".join(f'"{arg}"' for arg in args)
    if origin is tuple:
        if len(args) == 2 and args[1] is Ellipsis:
            return f"list of {_type_words(args[0])}"
        return "[" + ", ".join(_type_words(arg) for arg in args) + "]"
    if origin is dict:
        return f"object of {_type_words(args[1])}"
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        return f"[{hint.__name__}](#{hint.__name__.lower()})"
    return PLAIN.get(getattr(hint, "__name__", ""), "list of numbers")


def pages() -> dict[str, str]:
    """Return every page by file name."""
    return {"commands.md": commands_page(), "json.md": json_page()}


def main() -> None:
    """Write the pages, or compare them."""
    wanted = {name: text.rstrip() + "\n" for name, text in pages().items()}
    if "--check" in sys.argv:
        old = [n for n, t in wanted.items() if not (FOLDER / n).exists() or (FOLDER / n).read_text("utf-8") != t]
        sys.exit(f"Out of date: {', '.join(old)}. Run python builders/build_reference.py." if old else 0)
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in wanted.items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
