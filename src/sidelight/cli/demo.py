"""``sidelight demo``: an example notebook, and the whole job done on it."""

import datetime as dt
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import click

from sidelight.cli.answers import progress
from sidelight.cli.output import write_file
from sidelight.ground.errors import BadInput
from sidelight.pictures.palette import Theme

LOOKS: tuple[tuple[Theme, str], ...] = (("day", ""), ("night", "-red"))


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default="sidelight-demo")
def command(folder: Path) -> None:
    """Make an example notebook in FOLDER [sidelight-demo], run the whole job on it, and say what to open.

    The garden and the telescope are invented, the sky is real: five galaxies, 1.6 m of focal length, a small guide
    sensor, and guide stars wanted on both sides of the meridian.
    """
    from sidelight.desk.demo import make_demo

    called = how_it_is_called()
    if (folder / "site.toml").exists():
        raise BadInput(
            f"{folder} is there already; nothing is overwritten. See it: {called} serve {folder}. "
            f"Another: {called} demo OTHER."
        )
    with progress("Demo") as tell:
        make_demo(folder)
        texts = _run_all(folder, tell)
    for text in texts:
        click.echo("")
        click.echo(text)
    click.echo("")
    click.echo("\n".join(_closing_words(folder, called)))


def _closing_words(folder: Path, called: str) -> list[str]:
    """Return what there is to see, as lines that can be typed as they stand."""
    from sidelight.desk.demo import DATE

    pages = ("bench-card.html", "night-card.html", "night-card-red.html", "pictures/dial.svg")
    return [
        f"The notebook is {folder}; every file in it is yours to edit. See all of it as a page in the browser:",
        f"  {called} serve {folder}",
        "Another night, or any date of yours:",
        f"  {called} night {folder} --date {DATE + dt.timedelta(days=5)}",
        "What a first image says (this one is made up):",
        f"  {called} check {folder} {folder / 'first-image.fits'}",
        "To print, or to open as they are:",
        *(f"  {folder / name}" for name in pages),
    ]


def how_it_is_called() -> str:
    """Return how a shell that stands here finds this program: by its name alone only where that is on the path."""
    beside = Path(sys.executable).parent / "sidelight"
    found = shutil.which("sidelight")
    if (found and Path(found).parent == beside.parent) or not shutil.which(beside):
        return "sidelight"
    here = Path.cwd()
    place = str(beside.relative_to(here) if beside.is_relative_to(here) else beside)
    return f'"{place}"' if " " in place else place


def _run_all(folder: Path, tell: Callable[[float], None]) -> list[str]:
    """Run the four questions, write their pictures and cards, and return their texts."""
    from sidelight.cards.bench import bench_card
    from sidelight.cards.drawings import bench_picture, night_picture, setup_pictures, year_pictures
    from sidelight.cards.night import night_card
    from sidelight.cli.bench import bench_text
    from sidelight.cli.night import night_text
    from sidelight.cli.season import season_text
    from sidelight.cli.setup import setup_text
    from sidelight.desk.bench import bench_report
    from sidelight.desk.demo import DATE
    from sidelight.desk.demo_image import first_image
    from sidelight.desk.kept import setup_in_use
    from sidelight.desk.night import night_report
    from sidelight.desk.open import open_notebook
    from sidelight.desk.season import season_report

    book = open_notebook(folder)
    season = season_report(book, DATE, drawings=True)
    tell(0.3)
    setup = setup_in_use(book, DATE)
    tell(0.5)
    bench = bench_report(book, setup)
    night = night_report(book, DATE, setup)
    tell(0.7)
    for look, suffix in LOOKS:
        drawn = {**year_pictures(season, look), **setup_pictures(setup, look), "bench": bench_picture(bench, look),
                 "night": night_picture(night, look)}  # fmt: skip
        for name, svg in drawn.items():
            write_file(folder / "pictures" / f"{name}{suffix}.svg", svg, say=False)
    write_file(folder / "bench-card.html", bench_card(bench, "print"), say=False)
    write_file(folder / "night-card.html", night_card(night, "print"), say=False)
    write_file(folder / "night-card-red.html", night_card(night, "night"), say=False)
    if setup.best and setup.best.camera_angle_deg is not None:
        image = first_image(book.rig, setup.best.camera_angle_deg)
        write_file(folder / "first-image.fits", image.decode("ascii"), say=False)
    tell(1.0)
    return [season_text(season), setup_text(setup), bench_text(bench), night_text(night)]
