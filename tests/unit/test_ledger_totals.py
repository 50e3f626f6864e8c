"""Hours add up by target, filter and night, and what is missing follows."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.strategies.ledger import frame

from sidelight.ledger.changes import HandHours, add_hours
from sidelight.ledger.files import FoundFile
from sidelight.ledger.kept import Computed
from sidelight.ledger.match import TargetPlace
from sidelight.ledger.recording import record_frames
from sidelight.ledger.store import Ledger, open_ledger
from sidelight.ledger.totals import by_filter, by_night, by_target, missing, totals

TARGETS = [TargetPlace("M 31", 10.6847, 41.2687, 1.0), TargetPlace("M 42", 83.8221, -5.3911, 1.0)]
FIRST, SECOND = dt.date(2027, 10, 3), dt.date(2027, 10, 4)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    """Open a ledger with frames of an hour each and some hours by hand."""
    rows = [
        ("Ha", FIRST, "east", 0.5),
        ("HA", FIRST, "west", 0.75),
        ("Ha", SECOND, "west", 1.0),
        ("R", SECOND, "any", None),
    ]
    frames = [
        frame(identity=str(number), file=FoundFile(f"{number}.fits", 1, 1), exposure_s=3600.0, filter_name=row[0])
        for number, row in enumerate(rows)
    ]
    with open_ledger(tmp_path / "ledger.sqlite") as opened:
        record_frames(opened, frames, lambda *_: [Computed(*row[1:3], 45.0, row[3]) for row in rows], targets=TARGETS)
        add_hours(opened, HandHours("M 31", "ha", 2.0, FIRST, 0.5))
        add_hours(opened, HandHours("M 42", "", 3.0))
        yield opened


def test_by_target_filter_and_night(ledger: Ledger) -> None:
    """Frames and hours by hand add up where target, filter (capitals aside) and night agree."""
    rows = {(row.target_key, row.filter_name.casefold(), row.night): row for row in totals(ledger)}
    assert set(rows) == {("M 31", "ha", FIRST), ("M 31", "ha", SECOND), ("M 31", "r", SECOND), ("M 42", "", None)}
    first = rows["M 31", "ha", FIRST]
    assert (first.frames_count, first.hours_h, first.by_hand_h) == (2, 4.0, 2.0)
    assert first.effective_hours_h == pytest.approx(0.5 + 0.75 + 2 * 0.5)
    assert (first.east_h, first.west_h, first.unweighted_h) == (1.0, 1.0, 0.0)
    assert rows["M 31", "r", SECOND].unweighted_h == rows["M 31", "r", SECOND].effective_hours_h == 1.0


def test_sums_of_sums(ledger: Ledger) -> None:
    """By filter, by night and by target, the same hours add up."""
    every = totals(ledger)
    whole = sum(row.hours_h for row in every)
    for view in (by_filter, by_night, by_target):
        assert sum(row.hours_h for row in view(every)) == pytest.approx(whole)
    assert [(row.target_key, row.hours_h) for row in by_target(every)] == [("M 31", 6.0), ("M 42", 3.0)]


def test_filters_are_called_by_their_names(ledger: Ledger) -> None:
    """What headers call a filter is translated, and rows that then agree are one."""
    rows = by_filter(totals(ledger, {"ha": "red light", "R": "red light"}))
    assert [(row.filter_name, row.hours_h) for row in rows if row.target_key == "M 31"] == [("red light", 6.0)]


def test_what_is_missing(ledger: Ledger) -> None:
    """Wanted effective hours less those collected, by filter or in all, and never below nothing."""
    wanted = {("M 31", "Ha"): 10.0, ("M 31", "R"): 0.5, ("M 31", ""): 10.0, ("M 33", ""): 4.0}
    answer = {(row.target_key, row.filter_name): row.missing_h for row in missing(totals(ledger), wanted)}
    assert answer == pytest.approx({("M 31", "Ha"): 6.75, ("M 31", "R"): 0.0, ("M 31", ""): 5.75, ("M 33", ""): 4.0})
