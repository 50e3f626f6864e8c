"""``sidelight stars``: deeper guide stars, fetched once and kept."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered, progress
from sidelight.cli.words import table

if TYPE_CHECKING:
    from sidelight.desk.stars import StarsReport


@click.group("stars")
def command() -> None:
    """Guide stars deeper than the shipped catalogue: what is known, fetch more, or take them from a file."""


@command.command("show")
@options.notebook
@answered()
def show(notebook: Path, answer: Answer) -> None:
    """Show how deep the stars round each target are known, beside what the guider reaches."""
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import stars_report

    answer.give(stars_report(open_notebook(notebook)), show_text)


def show_text(report: "StarsReport") -> str:
    """Return the report for a person at a terminal."""
    rows = [
        [
            one.target,
            f"{one.inner_deg:.2f}–{one.outer_deg:.2f}°",
            f"{one.depth_mag:.1f}",
            str(one.stars_in_reach_count),
        ]
        for one in report.fields
    ]
    shown = table(["target", "reach", "known to mag", "usable stars"], rows, right=(2, 3))
    return "\n".join([f"Stars: {report.catalogue}", shown, report.sentence])


@command.command("fetch")
@options.notebook
@click.option("--limit", "limit_mag", type=options.Between(1, 21, "magnitudes", "14"), metavar="MAG",
              help="Faintest star [what the guider reaches, and a margin].")  # fmt: skip
@click.option("--also", multiple=True, metavar="NAME", help="An object that is not on the list; may be repeated.")
@answered()
def fetch(notebook: Path, limit_mag: float | None, also: tuple[str, ...], answer: Answer) -> None:
    """Fetch deeper stars round every target from the service in stars.toml; needs the network, once.

    What is there is not asked again, and an interrupted fetch goes on where it stopped.
    """
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import fetch_deeper

    book = open_notebook(notebook)
    with progress(f"Stars from {book.stars.name}") as tell:
        report = fetch_deeper(book, limit_mag, lambda done: tell(done.done_fraction), also)
    said = (
        f"{report.stars} new stars to {report.limit_mag:.1f} mag from {report.service}, {report.questions} questions "
        f"asked, {report.already} fields were there already."
    )
    answer.give(report, lambda given: with_notes(said, given.notes))


@command.command("import")
@options.notebook
@click.argument("file", type=options.FILE_THERE)
@click.option("--name", metavar="TEXT", help="What to call the catalogue [the file's name].")
@click.option("--ra", metavar="COLUMN", help="Column of the right ascension [by UCD or usual names].")
@click.option("--dec", metavar="COLUMN", help="Column of the declination.")
@click.option("--mag", metavar="COLUMN", help="Column of the magnitude.")
@click.option("--complete-to", "complete_to_mag", type=options.Between(1, 25, "magnitudes", "14"), metavar="MAG",
              help="The table holds every star to this magnitude round every target.")  # fmt: skip
@answered()
def import_(
    notebook: Path,
    file: Path,
    name: str | None,
    ra: str | None,
    dec: str | None,
    mag: str | None,
    complete_to_mag: float | None,
    answer: Answer,
) -> None:
    """Take in stars from FILE: VOTable, FITS table, ECSV, CSV, or what an errand to another machine brought back."""
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import import_deeper, named_columns

    report = import_deeper(open_notebook(notebook), file, named_columns(ra, dec, mag), name, complete_to_mag)
    said = f"{report.stars} stars taken in from {file}."
    answer.give(report, lambda given: with_notes(said, given.notes))


def with_notes(said: str, notes: Sequence[str]) -> str:
    """Return a sentence with its notes, one a line."""
    return "\n".join([said, *[f"Note: {note}" for note in notes]])
