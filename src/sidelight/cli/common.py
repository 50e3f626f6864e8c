"""What all commands share: their arguments, and the two ways to answer."""

import datetime as dt
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sidelight.ground.dates import EXAMPLE, FIRST_DATE, LAST_DATE, askable
from sidelight.ground.plain import to_plain

if TYPE_CHECKING:
    DateParam = click.ParamType[dt.date]
else:
    DateParam = click.ParamType  # older ones take no type in brackets


class DateType(DateParam):
    """A calendar date, the local date of a night's evening."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dt.date:  # noqa: ANN401
        """Read YYYY-MM-DD."""
        try:
            date = value if isinstance(value, dt.date) else dt.date.fromisoformat(value)
        except ValueError:
            self.fail(f'"{value}" is not a date. Write it as {EXAMPLE}.', param, ctx)
        if not askable(date):
            self.fail(f"{date} is out of reach: {FIRST_DATE} to {LAST_DATE} can be asked for.", param, ctx)
        return date


Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def notebook_argument(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the notebook's folder, here unless said."""
    path = click.Path(path_type=Path, file_okay=False)
    return click.argument("notebook", type=path, default=".")(function)


def date_option(meaning: str) -> Decorator:
    """Add --date, today in the site's zone unless said."""
    return click.option("--date", type=DateType(), metavar="YYYY-MM-DD", help=f"{meaning} [today at the site]")


json_option = click.option("--json", "as_json", is_flag=True, help="Answer for programs, as JSON.")
pictures_option = click.option(
    "--pictures",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="FOLDER",
    help="Draw pictures (SVG) there.",
)
look_option = click.option(
    "--look",
    type=click.Choice(["day", "night", "print"]),
    default="day",
    show_default=True,
    help="Colours of pictures and cards: screen, dark-adapted red, or paper.",
)
card_option = click.option(
    "--card", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Write the printable page there."
)


def answer_json(report: object) -> None:
    """Print a report for programs; a stream that cannot hold every sign gets them as JSON's own escapes."""
    narrow = "utf" not in (getattr(sys.stdout, "encoding", None) or "utf-8").casefold()
    click.echo(json.dumps(to_plain(report), ensure_ascii=narrow, indent=1))


def table(head: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Return an aligned text table; columns named in `right` are set flush right."""
    every = [list(head), *[list(row) for row in rows]]
    widths = [max(len(row[i]) for row in every) for i in range(len(head))]

    def line(row: Sequence[str]) -> str:
        cells = [cell.rjust(widths[i]) if i in right else cell.ljust(widths[i]) for i, cell in enumerate(row)]
        return "  ".join(cells).rstrip()

    return "\n".join([line(head), "  ".join("─" * width for width in widths), *map(line, rows)])


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
