"""A target too large for the frame: said once, and without a frame slack that nothing limits."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.notebook.read import Notebook
from sidelight.targets.names import target_from_name

DATE = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def book(demo_folder: Path) -> Notebook:
    """Return the demo with the Andromeda galaxy, far larger than its frame, as the only target."""
    return replace(open_notebook(demo_folder), targets=(target_from_name("M 31"),))


def test_what_does_not_fit_is_no_slack_without_limit(book: Notebook) -> None:
    """Where nothing is framed there is no frame slack; a framed target beside it has its own."""
    assert setup_report(book, SetupQuestion(DATE, 3)).frame_slack_deg is None
    with_small = replace(book, targets=(*book.targets, target_from_name("NGC 2903")))
    assert setup_report(with_small, SetupQuestion(DATE, 60)).frame_slack_deg is not None


def test_what_does_not_fit_is_said_once(book: Notebook) -> None:
    """It stands in the way, and is not repeated among the notes."""
    report = setup_report(book, SetupQuestion(DATE, 3))
    assert [one.kind for one in report.blocked] == ["never_framed"]
    assert not [note for note in report.notes if "does not fit" in note]


def test_without_a_guider_nothing_is_said_to_fit_that_does_not(book: Notebook) -> None:
    """The outcome's sentence does not praise a frame that holds nothing."""
    bare = replace(book, rig=replace(book.rig, guider=None))
    assert "No target fits the frame" in setup_report(bare, SetupQuestion(DATE, 3)).sentence
    with_small = replace(bare, targets=(*bare.targets, target_from_name("NGC 2903")))
    assert "1 of 2 targets fits the frame" in setup_report(with_small, SetupQuestion(DATE, 60)).sentence
