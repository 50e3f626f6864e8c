"""The arguments and options that several commands take, each worded once."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sidelight.cli.completion import complete_setup, complete_target
from sidelight.ground.dates import EXAMPLE, FIRST_DATE, LAST_DATE, askable

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, file_okay=False)
FILE_THERE = click.Path(path_type=Path, dir_okay=False, exists=True)
if TYPE_CHECKING:
    DateParam = click.ParamType[dt.date]
    NumberParam = click.ParamType[float | int]
else:
    DateParam = NumberParam = click.ParamType  # older ones take no type in brackets


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


class Between(NumberParam):
    """A number between two bounds, refused in words that say what is wanted."""

    name = "number"

    def __init__(self, least: float, most: float, what: str, example: str, *, whole: bool = False) -> None:
        self.least, self.most, self.what, self.example, self.whole = least, most, what, example, whole

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float | int:  # noqa: ANN401
        """Read a number."""
        try:
            number = int(value) if self.whole else float(value)
        except (TypeError, ValueError):
            kind = "a whole number" if self.whole else "a number"
            self.fail(f'"{value}" is not {kind} of {self.what}, such as {self.example}.', param, ctx)
        if not self.least <= number <= self.most:
            self.fail(
                f"{value} is out of reach: {self.least:,} to {self.most:,} {self.what} can be asked for.", param, ctx
            )
        return number


notebook = click.argument("notebook", type=FOLDER, default=".")
"""The notebook's folder, here unless said."""
setup = click.option("--setup", "kept", shell_complete=complete_setup, metavar="NAME",
                     help="A set-up kept by name [the one in use, else the best found].")  # fmt: skip


def standing_in(notebook: Path, last: object) -> bool:
    """Tell whether the notebook's folder was left out by somebody who stands in it and named a target only.

    last : the last thing that may follow, None when it was not given.
    """
    return last is None and not notebook.exists() and Path("site.toml").is_file()


def day(name: str, meaning: str) -> Decorator:
    """Add an option that takes a calendar date."""
    return click.option(name, type=DateType(), metavar="YYYY-MM-DD", help=meaning)


def date(meaning: str) -> Decorator:
    """Add --date, today in the site's zone unless said."""
    return day("--date", f"{meaning} [today at the site]")


def nights(most: int, meaning: str, usual: int | None = None) -> Decorator:
    """Add --nights, up to so many."""
    shown = usual is not None
    return click.option(
        "--nights",
        type=Between(1, most, "nights", "30", whole=True),
        metavar="N",
        default=usual,
        show_default=shown,
        help=meaning,
    )


def target(**how: Any) -> Decorator:  # noqa: ANN401 - click's own settings
    """Add an argument that names a target of the notebook."""
    return click.argument("target", shell_complete=complete_target, **how)


def targets(*names: str, meaning: str = "Only this target; may be repeated.") -> Decorator:
    """Add an option that names targets of the notebook."""
    return click.option(*names, multiple=True, shell_complete=complete_target, metavar="TARGET", help=meaning)


def filters(usual: str) -> Decorator:
    """Add --filter, which may be repeated."""
    meaning = f"Only this filter; may be repeated [{usual}]."
    return click.option("--filter", "filters", multiple=True, metavar="NAME", help=meaning)


def file(*names: str, meaning: str) -> Decorator:
    """Add an option that names a file to write."""
    return click.option(*names, type=FILE, metavar="FILE", help=meaning)
