"""An empty list of targets: every question says so, and what to do next."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from sidelight.desk.bench import bench_report
from sidelight.desk.campaign import campaign_report
from sidelight.desk.chosen import NO_TARGETS
from sidelight.desk.hours import light_report
from sidelight.desk.kept import setup_in_use
from sidelight.desk.night import night_report
from sidelight.desk.open import open_notebook
from sidelight.desk.season import season_report
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.ground.errors import SkySaysNo
from sidelight.notebook.read import Notebook

DATE = dt.date(2027, 3, 6)


@pytest.fixture(scope="module")
def empty(demo_folder: Path) -> Notebook:
    """Return the demo's notebook without a target."""
    return replace(open_notebook(demo_folder), targets=())


def test_every_question_says_that_the_list_is_empty(empty: Notebook) -> None:
    """One sentence everywhere, once, and nothing else is made up."""
    setup = setup_in_use(empty, DATE)
    night = night_report(empty, DATE, setup)
    assert (setup.sentence, setup.notes) == (NO_TARGETS, ())
    assert (night.sentence, night.notes, night.plan) == (NO_TARGETS, (), ())
    assert season_report(empty, DATE, 3).notes == (NO_TARGETS,)
    assert light_report(empty, DATE, 3).sentence == NO_TARGETS
    assert campaign_report(empty, DATE, 5, 100).sentence == NO_TARGETS
    with pytest.raises(SkySaysNo, match="no target on the list yet: add one") as refused:
        bench_report(empty, setup)
    assert len(refused.value.problems) == 1


def test_a_list_whose_targets_are_all_left_out_is_not_called_empty(demo_folder: Path) -> None:
    """What is left out still stands on the list."""
    book = open_notebook(demo_folder)
    names = tuple(target.key for target in book.targets)
    assert "left out" in setup_report(book, SetupQuestion(DATE, 2, leave_out=names)).sentence
