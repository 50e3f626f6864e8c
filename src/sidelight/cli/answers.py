"""How every command answers: text or JSON, and the pictures and pages that were asked for."""

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, fields
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click

from sidelight.cli import options
from sidelight.cli.output import write_file
from sidelight.ground.plain import to_plain
from sidelight.pictures.palette import Theme

Report = TypeVar("Report")


@dataclass(frozen=True)
class Answer:
    """How the answer is wanted: as JSON or text, with pictures and a page or without, in which colours."""

    as_json: bool
    look: Theme = "day"
    pictures: Path | None = None
    card: Path | None = None

    def give(
        self,
        report: Report,
        text: Callable[[Report], str],
        pictures: Callable[[Report, Theme], Mapping[str, str]] | None = None,
        card: Callable[[Report, Theme], str] | None = None,
    ) -> None:
        """Write the files that were asked for, then say the report; what is not asked for is not worked out."""
        if self.pictures and pictures:
            for name, svg in pictures(report, self.look).items():
                write_file(self.pictures / f"{name}.svg", svg)
        if self.card and card:
            write_file(self.card, card(report, self.look))
        if self.as_json:
            answer_json(report)
        else:
            click.echo(text(report))


ANSWERED = [field.name for field in fields(Answer)]
json_option = click.option("--json", "as_json", is_flag=True, help="Answer for programs, as JSON.")
pictures_option = click.option("--pictures", type=options.FOLDER, metavar="FOLDER", help="Draw pictures (SVG) there.")
look_option = click.option(
    "--look",
    type=click.Choice(["day", "night", "print"]),
    default="day",
    show_default=True,
    help="Colours of pictures and cards: screen, dark-adapted red, or paper.",
)
card_option = options.file("--card", meaning="Write the printable page there.")


def answered(*, drawn: bool = False, printed: bool = False) -> options.Decorator:
    """Add --json, with pictures --pictures and --look, with a page --card; the command takes them as `answer`."""
    ways: list[options.Decorator] = [
        json_option,
        *([pictures_option, look_option] if drawn else []),
        *([card_option] if printed else []),
    ]

    def add(command: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(command)
        def called(**given: Any) -> object:  # noqa: ANN401 - whatever the command takes
            how = {name: given.pop(name) for name in ANSWERED if name in given}
            return command(**given, answer=Answer(**how))

        wanted: Callable[..., Any] = called
        for way in reversed(ways):
            wanted = way(wanted)
        return wanted

    return add


def answer_json(report: object) -> None:
    """Print a report for programs; a stream that cannot hold every sign gets them as JSON's own escapes."""
    narrow = "utf" not in (getattr(sys.stdout, "encoding", None) or "utf-8").casefold()
    click.echo(json.dumps(to_plain(report), ensure_ascii=narrow, indent=1))


@contextmanager
def progress(label: str) -> Iterator[Callable[[float], None]]:
    """Show a progress bar on standard error; the function that is yielded takes how far the work is, 0 to 1."""
    steps = 1000
    with click.progressbar(length=steps, label=label, show_eta=False, file=sys.stderr) as bar:
        reached = 0

        def tell(done_fraction: float) -> None:
            nonlocal reached
            now = max(reached, min(steps, round(done_fraction * steps)))
            bar.update(now - reached)
            reached = now

        yield tell
