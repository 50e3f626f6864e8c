"""What a night's plan says of the targets that it leaves out."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from sidelight.desk.light import hour_weight, main_filter
from sidelight.desk.night import night_report
from sidelight.desk.night_records import NightReport
from sidelight.desk.night_words import WORTH_WORDS
from sidelight.desk.setup import SetupQuestion, setup_report
from sidelight.notebook.read import Notebook
from sidelight.sky.time import mjd_from_datetime

DATE = dt.date(2027, 3, 6)


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


def test_a_night_under_a_bright_moon_says_what_it_is_worth(book: Notebook) -> None:
    """The plan's effective hours are those of its stays, far below its clock hours, and the sentence tells both."""
    date = dt.date(2027, 3, 20)
    report = night_report(book, date, setup_report(book, SetupQuestion(date, 2)))
    assert report.effective_hours == pytest.approx(sum(one.effective_hours for one in report.plan))
    assert report.moon_takes_share > 0.5
    assert report.effective_hours < 0.5 * sum(one.hours for one in report.plan)
    assert f"worth {report.effective_hours:.1f} effective hours in L: a Moon 97 % lit takes" in report.sentence
    assert f"{100 * report.moon_takes_share:.0f} %" in report.sentence


def test_what_a_stay_is_worth_by_sampling_it(book: Notebook) -> None:
    """A stay's effective hours equal the mean weight of its minutes times its length."""
    date = dt.date(2027, 3, 20)
    for one in night_report(book, date, setup_report(book, SetupQuestion(date, 2))).plan:
        target = next(each for each in book.targets if each.key == one.target)
        times = np.linspace(mjd_from_datetime(one.start_utc), mjd_from_datetime(one.end_utc), 2001)
        weights = hour_weight(book, target, main_filter(book, target), times)
        assert one.effective_hours == pytest.approx(float(weights.mean()) * one.hours, rel=2e-3)


def test_a_moonless_night_speaks_of_no_moon(book: Notebook) -> None:
    """Where the Moon takes nothing, its worth is told without it."""
    sentence = planned(book).sentence
    assert "effective hours in L. Something is usable" in sentence
    assert "Moon" not in sentence
