"""``sidelight stars``: deeper guide stars, fetched once and kept."""

from pathlib import Path

import click

from sidelight.cli.common import answer_json, json_option, notebook_argument, progress, table


@click.group("stars")
def command() -> None:
    """Guide stars deeper than the shipped catalogue: what is known, fetch more, or take them from a file."""


@command.command("show")
@notebook_argument
@json_option
def show(notebook: Path, as_json: bool) -> None:
    """Show how deep the stars round each target are known, beside what the guider reaches."""
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import stars_report

    report = stars_report(open_notebook(notebook))
    if as_json:
        answer_json(report)
        return
    rows = [
        [
            one.target,
            f"{one.inner_deg:.2f}–{one.outer_deg:.2f}°",
            f"{one.depth_mag:.1f}",
            str(one.stars_in_reach_count),
        ]
        for one in report.fields
    ]
    click.echo(f"Stars: {report.catalogue}")
    click.echo(table(["target", "reach", "known to mag", "usable stars"], rows, right=(2, 3)))
    click.echo(report.sentence)


@command.command("fetch")
@notebook_argument
@click.option("--limit", "limit_mag", type=click.FloatRange(1, 21), metavar="MAG",
              help="Faintest star [what the guider reaches, and a margin].")  # fmt: skip
@click.option("--also", multiple=True, metavar="NAME", help="An object that is not on the list; may be repeated.")
@json_option
def fetch(notebook: Path, limit_mag: float | None, also: tuple[str, ...], as_json: bool) -> None:
    """Fetch deeper stars round every target from the service in stars.toml; needs the network, once.

    What is there is not asked again, and an interrupted fetch goes on where it stopped.
    """
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import fetch_deeper

    book = open_notebook(notebook)
    with progress(f"Stars from {book.stars.name}") as tell:
        report = fetch_deeper(book, limit_mag, lambda done: tell(done.done_fraction), also)
    if as_json:
        answer_json(report)
        return
    click.echo(
        f"{report.stars} new stars to {report.limit_mag:.1f} mag from {report.service}, {report.questions} questions "
        f"asked, {report.already} fields were there already."
    )
    for note in report.notes:
        click.echo(f"Note: {note}")


@command.command("import")
@notebook_argument
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--name", metavar="TEXT", help="What to call the catalogue [the file's name].")
@click.option("--ra", metavar="COLUMN", help="Column of the right ascension [by UCD or usual names].")
@click.option("--dec", metavar="COLUMN", help="Column of the declination.")
@click.option("--mag", metavar="COLUMN", help="Column of the magnitude.")
@click.option("--complete-to", "complete_to_mag", type=click.FloatRange(1, 25), metavar="MAG",
              help="The table holds every star to this magnitude round every target.")  # fmt: skip
@json_option
def import_(
    notebook: Path,
    file: Path,
    name: str | None,
    ra: str | None,
    dec: str | None,
    mag: str | None,
    complete_to_mag: float | None,
    as_json: bool,
) -> None:
    """Take in stars from FILE: VOTable, FITS table, ECSV, CSV, or what an errand to another machine brought back."""
    from sidelight.desk.open import open_notebook
    from sidelight.desk.stars import import_deeper, named_columns

    report = import_deeper(open_notebook(notebook), file, named_columns(ra, dec, mag), name, complete_to_mag)
    if as_json:
        answer_json(report)
        return
    click.echo(f"{report.stars} stars taken in from {file}.")
    for note in report.notes:
        click.echo(f"Note: {note}")
