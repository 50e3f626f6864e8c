"""Every model keeps to what it allows itself, and the accuracy page says what a run finds."""

import re
from pathlib import Path

import numpy as np
from tests.comparisons.all import every_comparison
from tests.comparisons.records import SUBJECTS, Cases, Comparison
from tests.contract.test_reference_pages import builder

PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy.md"
ROOMS = {"sky", "season", "light", "rig", "setup", "campaign"}
COUNT, TYPICAL, LARGEST = 3, 4, 5


def test_no_model_is_further_off_than_it_allows_itself() -> None:
    """The largest difference from each outside reference stays within the allowed one, which has a reason."""
    every = every_comparison()
    assert {one.room for one in every} == ROOMS
    assert {one.subject for one in every} == set(SUBJECTS)
    assert all(one.count > 0 and one.reason for one in every)
    over = [
        f"{one.model} against {one.reference}: {one.largest:g} {one.unit}, allowed {one.allowed:g}"
        for one in every
        if not one.largest <= one.allowed
    ]
    assert not over, "\n".join(over)


def test_the_cases_span_the_earth_and_the_years() -> None:
    """Sites from pole to pole and on either side of the equator; the years 2000 to 2044 and more."""
    for subject in ("night", "target"):
        held = [one for one in every_comparison() if one.subject == subject]
        latitudes = np.concatenate([one.cases.latitude_deg for one in held])
        assert (latitudes.min(), latitudes.max()) == (-90.0, 90.0)
        middle = latitudes[np.abs(latitudes) < 60.0]
        assert (middle < -30.0).sum() >= 3
        assert (middle > 30.0).sum() >= 3
        years = 2000.0 + (np.concatenate([one.cases.mjd for one in held]) - 51544.0) / 365.25
        assert years.min() < 2001.0
        assert years.max() > 2044.0
    for subject in ("bench", "light"):
        held = [one for one in every_comparison() if one.subject == subject]
        declinations = np.concatenate([one.cases.declination_deg for one in held])
        assert declinations.min() < -50.0
        assert declinations.max() > 45.0


def test_a_difference_that_is_too_large_is_told() -> None:
    """A value that is not a number, or one over the allowed, is not within; rounding is counted with its edge."""
    one = Comparison("sky", "night", "m", "r", "s", np.array([0.5, -30.0, 31.0]), 30.0, "why", rounding=30.0)
    assert (one.largest, one.typical, one.within_rounding, one.count) == (31.0, 30.0, 2, 3)
    assert not one.largest <= one.allowed
    lost = Comparison("sky", "night", "m", "r", "s", np.array([0.5, np.nan]), 30.0, "why")
    assert not lost.largest <= lost.allowed


def test_where_and_when_come_from_the_cases() -> None:
    """Spans of latitude, declination and years are those of the numbers; one value stands alone."""
    cases = Cases(np.array([-33.9, 52.1]), np.array([-5.4]), np.array([51544.5, 69807.0]))
    assert cases.words == "34° S to 52° N, declination −5°, 2000 to 2050"
    assert Cases(np.array([0.0])).words == "0° N"
    assert Cases().words == ""


def _cells(text: str) -> list[list[str]]:
    """Return the rows of all tables, what the run found masked, for its last figures differ between machines."""
    found = []
    for line in text.splitlines():
        if line.startswith("| "):
            cells = line.split(" | ")
            if len(cells) > LARGEST:
                cells[TYPICAL] = cells[LARGEST] = ""
            found.append(cells if len(cells) > LARGEST else [cells[0], cells[-1]])
    return found


def _words(text: str) -> list[str]:
    """Return the sentences with every figure masked."""
    prose = " ".join(line for line in text.splitlines() if line and not line.startswith("| "))
    return re.sub(r"(under )?[\d.,]*\d( × 10)?[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]*", "#", prose).split()


def test_the_page_is_of_these_comparisons() -> None:
    """The page has each comparison with its reference, places, years, cases and allowed difference, and no other."""
    written, now = PAGE.read_text(encoding="utf-8"), builder("build_accuracy").page()
    assert _cells(written) == _cells(now)
    assert _words(written) == _words(now)
