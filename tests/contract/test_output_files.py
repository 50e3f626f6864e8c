"""What a command writes never lies over somebody's own file, and replaces what it wrote before."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from sidelight.cli.main import sidelight
from sidelight.cli.output import same_kind, write_file
from sidelight.ground.errors import BadInput, SidelightError

DATE = ("--date", "2027-03-06")
WRITERS = {
    "a card": ("bench", "--card"),
    "a night's card": ("night", "--card"),
    "hours": ("ledger", "show", "--csv"),
    "frames": ("ledger", "list", "--csv"),
    "a plan": ("campaign", "--quick", "--csv"),
    "a plan with units": ("campaign", "--quick", "--ecsv"),
    "a calendar": ("campaign", "--quick", "--calendar"),
}


def ask(words: tuple[str, ...], notebook: Path, place: Path) -> int:
    """Run a command that writes to a place; return its exit code."""
    *command_words, option = words
    group = command_words[:2] if command_words[0] == "ledger" else command_words[:1]
    rest = command_words[len(group) :]
    date = () if command_words[0] == "ledger" else DATE
    result = CliRunner().invoke(sidelight, [*group, str(notebook), *rest, *date, option, str(place)])
    refused = result.exception
    return refused.exit_code if isinstance(refused, SidelightError) else result.exit_code


@pytest.mark.parametrize("what", WRITERS)
def test_nothing_of_the_persons_is_overwritten(what: str, garden: Path, tmp_path: Path) -> None:
    """A file of the notebook and a page, a table and a calendar of one's own stay; one's own output is renewed."""
    own = {
        garden / "site.toml": (garden / "site.toml").read_text(encoding="utf-8"),
        tmp_path / "own.html": "<!doctype html>\n<html lang='en'><title>Mine</title></html>\n",
        tmp_path / "own.csv": "date,clear\n2026-01-01,yes\n",
        tmp_path / "own.ics": "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Mine//EN\r\nEND:VCALENDAR\r\n",
    }
    for path, text in own.items():
        path.write_text(text, encoding="utf-8", newline="")
        assert ask(WRITERS[what], garden, path) == 2
        assert path.read_bytes().decode() == text
    place = tmp_path / "new"
    assert ask(WRITERS[what], garden, place) == 0
    first = place.read_bytes()
    assert ask(WRITERS[what], garden, place) == 0
    assert place.read_bytes() == first


def test_kinds_are_told_apart() -> None:
    """A card is not a picture, a table is known by its head, and an empty file may be filled."""
    card = '<!doctype html>\n<html><head><meta name="generator" content="Sidelight"></head></html>'
    picture = '<svg viewBox="0 0 1 1" role="img" aria-labelledby="a b"></svg>'
    assert same_kind(card, card)
    assert not same_kind(picture, card)
    assert same_kind("a,b\n1,2\n", "a,b\n3,4\n")
    assert not same_kind("a,b,c\n1,2\n", "a,b\n3,4\n")
    assert not same_kind("# %ECSV 1.0\n# mine\na,b\n", "# %ECSV 1.0\n# ---\na,b\n")


def test_an_empty_file_is_filled(tmp_path: Path) -> None:
    """An empty file is free; one with a single line of text is not."""
    place = tmp_path / "empty"
    place.touch()
    write_file(place, "a,b\n1,2\n", say=False)
    assert place.read_text(encoding="utf-8") == "a,b\n1,2\n"
    place.write_text("my notes\n", encoding="utf-8")
    with pytest.raises(BadInput, match="left as it is"):
        write_file(place, "a,b\n1,2\n", say=False)
