"""Keeping set-ups by name: nothing gives way unasked."""

import datetime as dt
from pathlib import Path

import pytest

from sidelight.desk.keeping import TurnedPose, keep_turned
from sidelight.desk.kept import keep_setup
from sidelight.desk.open import open_notebook
from sidelight.desk.setup import SetupQuestion, SetupReport, setup_report
from sidelight.ground.errors import BadInput
from sidelight.notebook.read import Notebook

MARCH, TODAY = dt.date(2027, 3, 6), dt.date(2026, 11, 25)


@pytest.fixture
def book(garden: Path) -> Notebook:
    """Return a copy of the demo."""
    return open_notebook(garden)


@pytest.fixture(scope="module")
def all_five(demo_folder: Path) -> SetupReport:
    """Return the demo's best set-up."""
    return setup_report(open_notebook(demo_folder), SetupQuestion(MARCH))


@pytest.fixture(scope="module")
def one_only(demo_folder: Path) -> SetupReport:
    """Return the best set-up for one of the targets."""
    return setup_report(open_notebook(demo_folder), SetupQuestion(MARCH, only=("M 81",)))


def test_a_name_that_stands_for_another_set_up_is_refused(
    book: Notebook, all_five: SetupReport, one_only: SetupReport
) -> None:
    """Other angles or targets under the same name are refused, with what stands there, and nothing is written."""
    keep_setup(book, all_five, "Spring", TODAY)
    before = (book.folder / "setups.toml").read_bytes()
    with pytest.raises(BadInput) as refused:
        keep_setup(open_notebook(book.folder), one_only, "spring", TODAY)
    assert '"Spring" is kept already (57.2°, 5 targets, kept 2026-11-25). Give another name' in str(refused.value)
    assert (book.folder / "setups.toml").read_bytes() == before


def test_a_set_up_gives_way_when_the_person_says_so(
    book: Notebook, all_five: SetupReport, one_only: SetupReport
) -> None:
    """Replacing puts the new one in the old one's place."""
    keep_setup(book, all_five, "Spring", TODAY)
    keep_setup(open_notebook(book.folder), one_only, "Spring", TODAY, replacing=True)
    kept = open_notebook(book.folder).setups
    assert [one.targets for one in kept] == [("M 81",)]


def test_the_same_set_up_may_be_kept_again(book: Notebook, all_five: SetupReport) -> None:
    """The same angles for the same targets are no other set-up."""
    keep_setup(book, all_five, "Spring", TODAY)
    keep_setup(open_notebook(book.folder), all_five, "Spring", TODAY + dt.timedelta(days=1))
    assert [one.kept_on for one in open_notebook(book.folder).setups] == [TODAY + dt.timedelta(days=1)]


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 81])
def test_a_name_that_is_none_is_refused(book: Notebook, all_five: SetupReport, name: str) -> None:
    """An empty or an unprintable name is refused both ways of keeping."""
    with pytest.raises(BadInput, match="needs a name"):
        keep_setup(book, all_five, name, TODAY)
    with pytest.raises(BadInput, match="needs a name"):
        keep_turned(book, name, [TurnedPose("M 81", 148.9, 69.1, 57.0)], 0.0, TODAY)


def test_a_turned_set_up_gives_way_only_when_it_may(book: Notebook, all_five: SetupReport) -> None:
    """Angles turned by hand replace what stands under the name, unless they are told not to."""
    keep_setup(book, all_five, "Spring", TODAY)
    poses = [TurnedPose("M 81", 148.888, 69.065, 12.0)]
    with pytest.raises(BadInput, match="kept already"):
        keep_turned(open_notebook(book.folder), "Spring", poses, 0.0, TODAY, replacing=False)
    keep_turned(open_notebook(book.folder), "Spring", poses, 0.0, TODAY)
    assert [one.camera_angle_deg for one in open_notebook(book.folder).setups] == [12.0]
