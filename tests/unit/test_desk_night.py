"""What a night's plan says of the targets that it leaves out."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from sidelight.desk.night import WORTH_WORDS, NightReport, night_report
from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.notebook.read import Notebook

DATE = dt.date(2027, 3, 6)


@pytest.fixture(scope="module")
def book(demo_folder: Path) -> Notebook:
    """Return the demo's notebook."""
    return open_notebook(demo_folder)


def planned(book: Notebook) -> NightReport:
    """Return the demo's night."""
    return night_report(book, DATE, setup_report(book, SetupQuestion(DATE, 5)))


def waiting(report: NightReport) -> set[str]:
    """Return the targets that are up and not in the plan."""
    return {one.target for one in report.targets if one.windows} - {one.target for one in report.plan}


def test_targets_that_wait_are_named_once_with_how_their_hours_were_weighed(book: Notebook) -> None:
    """One sentence names every target that is up and waits, and says by what an hour was weighed."""
    report = planned(book)
    left_out = waiting(report)
    told = [note for note in report.notes if "worth more" in note]
    assert len(told) == 1
    assert all(key in told[0] for key in left_out)
    assert WORTH_WORDS["campaign"] in told[0]
    assert {one.worth_by for one in report.targets} == {"campaign"}


def test_without_room_for_a_campaign_hours_are_weighed_by_urgency(book: Notebook) -> None:
    """A campaign too large for one night's plan leaves hours missing over hours left, and the plan says so."""
    nights = replace(book.campaign.nights, planned_nights_count=1000)
    report = planned(replace(book, campaign=replace(book.campaign, nights=nights)))
    assert {one.worth_by for one in report.targets} == {"urgency"}
    told = [note for note in report.notes if "worth more" in note]
    assert len(told) == 1
    assert WORTH_WORDS["urgency"] in told[0]


def test_a_target_that_wants_nothing_is_not_said_to_wait(book: Notebook) -> None:
    """A target with all its hours is up, gains nothing, and is said to be so."""
    done = book.targets[0]
    targets = (replace(done, hours_wanted_h=0.0), *book.targets[1:])
    report = planned(replace(book, targets=targets))
    assert done.key in waiting(report)
    assert any(done.key in note and "gains nothing tonight" in note for note in report.notes)
