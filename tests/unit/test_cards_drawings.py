"""Reports as pictures: titles that fit, and nights named for what they are."""

import datetime as dt
from dataclasses import replace

from tests.strategies.picture_reading import parse, writings

from sidelight.cards.drawings import (
    bench_picture,
    dial_picture,
    night_picture,
    season_picture,
    sensor_picture,
    year_pictures,
)
from sidelight.desk.bench import bench_report
from sidelight.desk.demo import DATE
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.season import season_report
from sidelight.notebook.read import Notebook
from sidelight.rig.records import Mount


def test_titles_fit_a_phone(book: Notebook) -> None:
    """In the narrow width no title of the demo is cut."""
    setup = setup_in_use(book, DATE)
    night, season = night_report(book, DATE, setup), season_report(book, DATE)
    drawn = [
        dial_picture(setup, "day", "narrow"),
        bench_picture(bench_report(book, setup), "day", "narrow"),
        night_picture(night, "day", "narrow"),
        sensor_picture(night.targets[0], night, "day", "narrow") or "",
        *year_pictures(season, "day", "narrow").values(),
    ]
    titles = [writings(parse(svg))[0].content for svg in drawn]
    assert [title for title in titles if title.endswith("…")] == []


def test_only_tonight_is_called_tonight(book: Notebook) -> None:
    """The season's line says from which night it runs, and tonight only where the caller knows it to be tonight."""
    report = season_report(book, DATE)
    said = {one.content for one in writings(parse(season_picture(report, "day")))}
    assert "from 6 Mar" in said
    assert "Dark hours above your skyline, 5 targets" in said
    assert "tonight 6 Mar" in season_picture(report, "day", today=DATE)
    assert "tonight" not in season_picture(report, "day", today=DATE + dt.timedelta(days=1))


def test_a_fork_is_drawn_as_a_fork(book: Notebook) -> None:
    """The bench of a fork shows its drive base, that of a German mount the dovetail."""
    fork = replace(book, rig=replace(book.rig, mount=Mount("fork")))
    for notebook, foot in ((book, "dovetail"), (fork, "drive base")):
        svg = bench_picture(bench_report(notebook, setup_in_use(notebook, DATE)), "day")
        assert foot in {one.content for one in writings(parse(svg))}
