"""docs/robustness.md tells what its builder knows: everything that is spoilt, every trouble, every version."""

import re
import runpy
from pathlib import Path

import pytest
from tests.spoilt.all import every_spoiling

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def told() -> str:
    """Return the page."""
    return (ROOT / "docs" / "robustness.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def builder() -> dict[str, object]:
    """Return what the builder defines."""
    return runpy.run_path(str(ROOT / "builders" / "build_robustness.py"))


def test_every_kind_of_thing_has_its_row(told: str) -> None:
    """The rows are those of the builder, in its order, with some cases each and none that ended otherwise."""
    rows = re.findall(r"^\| (.+?) \| (.+?) \| ([\d,]+) \| ([\d,]+) \| ([\d,]+) \| ([\d,]+) \| \d+ \|$", told, re.M)
    assert [row[:2] for row in rows] == [(one.what, one.how) for one in every_spoiling()]
    for what, _, *figures in rows:
        cases, used, refused, otherwise = (int(one.replace(",", "")) for one in figures)
        assert cases == used + refused, what
        assert cases >= 300, what
        assert otherwise == 0, what


def test_every_trouble_is_told(told: str, builder: dict[str, object]) -> None:
    """Each test of a machine in trouble has its line, word for word, and no line is without its test."""
    section = told.partition("## A machine in trouble")[2].partition("## Versions")[0]
    assert [line for line in section.split("\n") if line.startswith("- ")] == builder["troubles"]()  # type: ignore[operator]


def test_the_oldest_versions_are_those_of_the_project(told: str, builder: dict[str, object]) -> None:
    """The lower bounds of pyproject.toml stand in the table of versions."""
    for name, oldest in builder["oldest_versions"]().items():  # type: ignore[operator]
        assert f"| {name} | {oldest} | " in told
