"""Every model keeps to what it allows itself, and the accuracy page says what a run finds."""

from pathlib import Path

from tests.comparisons.all import every_comparison
from tests.contract.test_reference_pages import builder

PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy.md"


def test_no_model_is_further_off_than_it_allows_itself() -> None:
    """The largest difference from each outside reference stays within the allowed one; each has cases."""
    every = every_comparison()
    assert {one.room for one in every} == {"sky", "season", "light", "rig", "setup"}
    assert all(one.cases > 0 for one in every)
    over = [f"{one.model} against {one.reference}: {one.largest} {one.unit}" for one in every]
    assert not [words for words, one in zip(over, every, strict=True) if one.largest > one.allowed]


def test_the_page_is_of_these_comparisons() -> None:
    """The page has a row for each comparison with its reference, cases and allowed difference, and no other.

    The differences found may differ in their last figures from machine to machine, so that they are not compared.
    """
    rows = [line.split(" | ") for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")][2:]
    wanted = [line.split(" | ") for line in builder("build_accuracy").page().splitlines() if line.startswith("| ")][
        2:
    ]
    assert [(*cells[:3], cells[-1]) for cells in rows] == [(*cells[:3], cells[-1]) for cells in wanted]
