"""The tutorial: each command block is run, in order, and what is shown is what it prints."""

import re
from pathlib import Path

from tests.contract.test_reference_pages import builder

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")


def test_what_is_shown_is_what_is_printed() -> None:
    """The page equals what its builder writes now (python builders/build_tutorial.py writes it)."""
    assert builder("build_tutorial").page(TEXT) == TEXT


def test_every_block_is_run() -> None:
    """No block of the page shows a command without being run, and the season is followed to its ledger."""
    made = builder("build_tutorial")
    assert TEXT.count("\n$ sidelight ") == len(made.commands(TEXT))
    words = [command.split()[0] for command in made.commands(TEXT)]
    told = iter(words)
    assert all(word in told for word in ("demo", "season", "setup", "bench", "night", "check", "ledger")), words


def test_dates_are_given() -> None:
    """Each command whose answer depends on the day names it, so that the page does not age."""
    for command in builder("build_tutorial").commands(TEXT):
        if command.split()[0] in ("season", "light", "setup", "bench", "night", "exposure"):
            assert re.search(r"--date 2027-(03-06|04-10)\b", command)


def test_what_the_page_shows_is_there() -> None:
    """Every picture and page that the tutorial names exists."""
    linked = re.findall(r"\]\(([^)]+)\)", TEXT)
    assert len(linked) >= 5
    assert all((ROOT / "docs" / path).is_file() for path in linked)
